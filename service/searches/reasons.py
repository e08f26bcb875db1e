"""Why a kit is not first, and what it takes to get from one to where the limits are kept."""

from collections.abc import Mapping, Sequence

import numpy as np

from service.catalog.rules import RuleSeverity
from service.catalog.slots import Slot
from service.engine.inputs import FloatArray
from service.fitup.check import fit_findings
from service.fitup.findings import Finding
from service.kits.figures import told
from service.kits.kit import Kit
from service.kits.ladder import restriction_ladder
from service.kits.money import PriceBlock, price_block
from service.kits.surface_power import surface_answer, surface_reading
from service.kits.views import fit_subject
from service.searches.field import Field, kit_with
from service.searches.limits import Bits, limits_of
from service.searches.measured import Limit, shortfalls
from service.searches.missed import missed, only_kit, only_row
from service.searches.ranking import Hand, Rows, hand_of, row_of
from service.searches.relaxing import Step, steps
from service.searches.task import Task, mean_torques, skus_of
from service.searches.why import MissedLimit, Rise, WhyNot


def _in_hand(task: Task) -> dict[Slot, str]:
    stock = {slot: part.sku for slot, part in task.field.kit.parts.items()}
    return {**stock, **task.asked.question.parts}


def rises_of(
    task: Task, limits: tuple[Limit, ...], values: FloatArray, bits: Bits
) -> tuple[Rise, ...]:
    """Return the ladder from the kit in hand to one that keeps every limit."""
    field = task.field
    hand = hand_of(field, _in_hand(task))
    base = row_of(field, hand)
    ladder = steps(field, hand, values, bits == 0, shortfalls(field, limits))
    return tuple(_rise(task, step, hand, base, limits) for step in ladder)


def in_hand_misses(task: Task, limits: Sequence[Limit]) -> tuple[MissedLimit, ...] | None:
    """Return what the kit in hand misses; None: it does not go together."""
    row = row_of(task.field, hand_of(task.field, _in_hand(task)))
    return None if row is None else missed(only_row(task.field, row), limits)


def _rise(task: Task, step: Step, hand: Hand, base: int | None, limits: Sequence[Limit]) -> Rise:
    field = task.field
    kit = field.kit_at(step.row)
    changed = {
        slot: kit.parts[slot].sku
        for place, slot in enumerate(field.offer.slots)
        if field.rows[step.row][place] != hand[place]
    }
    rows = np.array([step.row, step.row if base is None else base])
    torque = mean_torques(field, task.asked, rows)
    power = field.curves.peak_power[field.curve_of[rows]] / 1e3
    ladder = restriction_ladder(kit, surface_answer(kit, task.fitted), run=task.run)
    return Rise(
        changes=changed,
        reaches_limits=step.reaches,
        cost=_cost(kit, changed),
        peak_power_kw=told(power[0]),
        power_gain_kw=None if base is None else told(power[0] - power[1]),
        mean_torque_gain_nm=None if base is None else told(torque[0] - torque[1]),
        largest_loss=max(
            (*ladder.intake, *ladder.exhaust), key=lambda rung: rung.pressure_loss_kpa
        ),
        missed=() if step.reaches else missed(only_row(field, step.row), limits),
    )


def _cost(kit: Kit, changed: dict[Slot, str]) -> PriceBlock:
    bought = tuple(slot for slot in kit.chosen if slot in changed)
    return price_block(kit.parts, bought)


def why_not(task: Task, limits: Sequence[Limit], bits: Bits, values: FloatArray) -> WhyNot:
    """Return what keeps the kit that the caller named from the first place."""
    field = task.field
    named = {s: part.sku for s, part in field.kit.parts.items()} | (task.asked.compared or {})
    hand = hand_of(field, named)
    kit, row = _kit_of(field, hand), row_of(field, hand)
    use, answer = surface_reading(kit, task.fitted)
    blocking = blocking_findings(task, kit)
    one = only_kit(field, kit, hand, answer) if row is None else only_row(field, row)
    misses = missed(one, limits)
    position = None
    if row is not None and not misses:
        position = 1 + _better(field, values, np.flatnonzero(bits == 0), row)
    return WhyNot(
        parts=skus_of(kit.parts),
        goes_together=not blocking,
        fit=blocking,
        outside_fitted_range=not use.used,
        broken_limits=tuple(dict.fromkeys(each.limit for each in misses)),
        position=position,
        missed=misses,
    )


def why_gone(task: Task, skus: Mapping[Slot, str]) -> tuple[str, ...]:
    """Return what keeps a kit from the ranking that was in it; nothing where a part is gone."""
    field = task.field
    hand = hand_of(field, skus)
    if (hand < 0).any():
        return ()
    row = row_of(field, hand)
    if row is not None:
        misses = missed(only_row(field, row), limits_of(task.asked, task.papers))
        return tuple(f"It no longer keeps {each.limit}: {each.reason}" for each in misses)
    found = blocking_findings(task, _kit_of(field, hand))
    apart = tuple(f"It no longer goes together ({each.code}): {each.reason}" for each in found)
    return apart or ("Its curve can no longer be read off the surface.",)


def blocking_findings(task: Task, kit: Kit) -> tuple[Finding, ...]:
    """Return what keeps a kit apart, its injectors held against the power of the surface."""
    around = task.around
    _, answer = surface_reading(kit, task.fitted)
    power = None if answer is None else answer.peaks.power.power_kw * 1e3
    found = fit_findings(
        fit_subject(kit), around.rules, around.alternatives, power, around.supplies
    )
    return tuple(each for each in found if each.severity is RuleSeverity.BLOCKS)


def _kit_of(field: Field, hand: Hand) -> Kit:
    return kit_with(field.kit, field.offer.parts_of([int(member) for member in hand]))


def _better(field: Field, values: FloatArray, among: Rows, row: int) -> int:
    """Return how many rank above a row: by value, price, then SKUs."""
    value, cents = values[among], field.cents[among]
    cents = np.where(cents < 0, np.iinfo(np.int64).max, cents)
    own = np.iinfo(np.int64).max if field.cents[row] < 0 else field.cents[row]
    tied = value == values[row]
    ahead = (value > values[row]) | (tied & (cents < own)) | (tied & (cents == own) & (among < row))
    return int(ahead.sum())
