"""Why a kit is not first, and what it takes to get from one to where the limits are kept."""

from collections.abc import Sequence

import numpy as np

from service.catalog.rules import RuleSeverity
from service.catalog.slots import Slot
from service.engine.inputs import FloatArray
from service.fitup.check import fit_findings
from service.kits.figures import told
from service.kits.kit import Kit
from service.kits.ladder import restriction_ladder
from service.kits.money import PriceBlock, price_block
from service.kits.surface_power import surface_answer, surface_reading
from service.kits.views import fit_subject
from service.searches.answer import Rise, WhyNot
from service.searches.field import Field, kit_with
from service.searches.limits import Bits, Limit
from service.searches.ranking import Hand, Rows, hand_of, row_of
from service.searches.relaxing import Step, steps
from service.searches.task import Task, mean_torques, skus_of


def _in_hand(task: Task) -> dict[Slot, str]:
    stock = {slot: part.sku for slot, part in task.field.kit.parts.items()}
    return {**stock, **task.asked.question.parts}


def rises_of(task: Task, values: FloatArray, bits: Bits) -> tuple[Rise, ...]:
    """Return the ladder from the kit in hand to one that keeps every limit."""
    field = task.field
    hand = hand_of(field, _in_hand(task))
    base = row_of(field, hand)
    return tuple(_rise(task, step, hand, base) for step in steps(field, hand, values, bits == 0))


def _rise(task: Task, step: Step, hand: Hand, base: int | None) -> Rise:
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
    )


def _cost(kit: Kit, changed: dict[Slot, str]) -> PriceBlock:
    bought = tuple(slot for slot in kit.chosen if slot in changed)
    return price_block(kit.parts, bought)


def why_not(task: Task, limits: Sequence[Limit], bits: Bits, values: FloatArray) -> WhyNot:
    """Return what keeps the kit that the caller named from the first place."""
    field, around = task.field, task.around
    named = {s: part.sku for s, part in field.kit.parts.items()} | (task.asked.compared or {})
    by_sku = {part.sku: part for parts in field.offer.members.values() for part in parts}
    kit = kit_with(field.kit, {slot: by_sku[sku] for slot, sku in named.items()})
    row = row_of(field, hand_of(field, named))
    use, answer = surface_reading(kit, task.fitted)
    power = None if answer is None else answer.peaks.power.power_kw * 1e3
    findings = fit_findings(
        fit_subject(kit), around.rules, around.alternatives, power, around.supplies
    )
    blocking = [each for each in findings if each.severity is RuleSeverity.BLOCKS]
    own = 0 if row is None else int(bits[row])
    position = None
    if row is not None and own == 0:
        position = 1 + _better(field, values, np.flatnonzero(bits == 0), row)
    return WhyNot(
        parts=skus_of(kit.parts),
        goes_together=not blocking,
        fit=tuple(blocking),
        outside_fitted_range=not use.used,
        broken_limits=tuple(limit.name for number, limit in enumerate(limits) if own >> number & 1),
        position=position,
    )


def _better(field: Field, values: FloatArray, among: Rows, row: int) -> int:
    """Return how many rank above a row: by value, price, then SKUs."""
    value, cents = values[among], field.cents[among]
    cents = np.where(cents < 0, np.iinfo(np.int64).max, cents)
    own = np.iinfo(np.int64).max if field.cents[row] < 0 else field.cents[row]
    tied = value == values[row]
    ahead = (value > values[row]) | (tied & (cents < own)) | (tied & (cents == own) & (among < row))
    return int(ahead.sum())
