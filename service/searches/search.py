"""One search over a field: ranking, front, what was removed, and what would have to give."""

from collections.abc import Sequence
from dataclasses import replace
from time import perf_counter

import numpy as np

from service.catalog.families import changed_slots
from service.compliance.devices import DeviceState
from service.compliance.report import ComplianceReport, compliance_report
from service.engine.inputs import FloatArray
from service.fitup.check import fit_findings
from service.kits.assessment import CAUTIONS, Score
from service.kits.figures import told
from service.kits.kit import AssessmentRequest, Kit, Tier
from service.kits.money import lead_time, price_block
from service.kits.parts_list import adapters_listed, machining_work
from service.kits.views import application_of, fit_subject
from service.searches.answer import (
    Opening,
    Proof,
    RankedKit,
    SearchResult,
    TradedKit,
)
from service.searches.field import Removal
from service.searches.limits import Bits, broken, limits_of, removals
from service.searches.measured import Limit
from service.searches.obstacles import obstacles_of
from service.searches.ranking import (
    Rows,
    front,
    ranked,
    values_of,
)
from service.searches.reasons import in_hand_misses, rises_of, why_not
from service.searches.relaxing import minimal_masks, relaxations
from service.searches.task import Task, mean_torques, short, skus_of
from service.units import rpm_to_rad_per_s, w_to_hp


class _Clock:
    """Says where the time went."""

    def __init__(self) -> None:
        self.milliseconds: dict[str, float] = {}
        self._last = perf_counter()

    def lap(self, name: str) -> None:
        now = perf_counter()
        self.milliseconds[name] = round((now - self._last) * 1e3, 1)
        self._last = now


def search(task: Task) -> SearchResult:
    """Answer one search."""
    clock, field, asked = _Clock(), task.field, task.asked
    obstacles = obstacles_of(task)
    limits = limits_of(asked, task.papers)
    bits = broken(field, limits)
    clock.lap("limits")
    values = values_of(field, asked)
    among = np.flatnonzero(bits == 0)
    first = ranked(field, values, among, asked.count, asked.most_alike)
    clock.lap("ranking")
    traded = front(field, asked, among)
    clock.lap("front")
    masks = [] if among.size else minimal_masks(np.unique(bits))
    openings = _openings(task, limits, bits, values, masks[: asked.relaxations])
    clock.lap("openings")
    rises = rises_of(task, limits, values, bits) if asked.what_it_takes else ()
    misses = in_hand_misses(task, limits) if asked.what_it_takes else None
    compared = why_not(task, limits, bits, values) if asked.compared is not None else None
    clock.lap("ladder")
    ranking = tuple(ranked_kit(task, values, int(row), n + 1) for n, row in enumerate(first))
    front_kits = _front_kits(task, traded)
    clock.lap("blocks")
    return SearchResult(
        proof=_proof(task, limits, bits, int(among.size)),
        ranking=ranking,
        front=front_kits,
        openings=openings,
        openings_count=len(masks),
        what_it_takes=rises,
        compared=compared,
        cautions=CAUTIONS,
        milliseconds=clock.milliseconds,
        in_hand_misses=misses,
        obstacles=obstacles,
    )


def _openings(
    task: Task,
    limits: Sequence[Limit],
    bits: Bits,
    values: FloatArray,
    masks: Sequence[np.uint64],
) -> tuple[Opening, ...]:
    return tuple(
        Opening(
            limits=tuple(limits[number].name for number in one.limits),
            kits=one.kits,
            best=ranked_kit(task, values, one.row, 1),
        )
        for one in relaxations(task.field, bits, values, masks)
    )


def _front_kits(task: Task, rows: Rows) -> tuple[TradedKit, ...]:
    torques = mean_torques(task.field, task.asked, rows)
    return tuple(
        _traded(task, int(row), float(torque)) for row, torque in zip(rows, torques, strict=True)
    )


def more_of_ranking(task: Task, start: int, count: int) -> tuple[RankedKit, ...]:
    """Return the kits of the ranking after the first `start`."""
    bits = broken(task.field, limits_of(task.asked, task.papers))
    values, among = values_of(task.field, task.asked), np.flatnonzero(bits == 0)
    rows = ranked(task.field, values, among, start + count, task.asked.most_alike)[start:]
    return tuple(
        ranked_kit(task, values, int(row), start + place + 1) for place, row in enumerate(rows)
    )


def ranked_kit(task: Task, values: FloatArray, row: int, position: int) -> RankedKit:
    """Return one kit with its blocks in short."""
    field, around = task.field, task.around
    kit = field.kit_at(row)
    curve = int(field.curve_of[row])
    power = float(field.curves.peak_power[curve])
    report = compliance_report(
        kit.parts.values(),
        kit.family,
        around.documents,
        application_of(kit.request),
        around.profiles,
        around.today,
    )
    findings = fit_findings(
        fit_subject(kit), around.rules, around.alternatives, power, around.supplies
    )
    return RankedKit(
        position=position,
        value=told(float(values[row])),
        score=_score(task, curve, report),
        mean_torque_nm=told(float(mean_torques(field, task.asked, np.array([row]))[0])),
        peak_torque_nm=told(float(field.curves.peak_torque[curve])),
        parts=skus_of(kit.parts),
        fit=short(findings),
        differing_traits=sum(len(part.differences) for part in report.appearance.parts),
        devices_not_kept=tuple(
            line.device.value for line in report.devices.rows if line.state is not DeviceState.KEPT
        ),
        paperwork=report.paperwork.outcome,
        combination_documented=report.paperwork.combination.value,
        jurisdiction_outcome=report.jurisdiction_note.outcome,
        price=price_block(kit.parts, kit.chosen),
        lead_time=lead_time(kit),
        machining=machining_work(around.supplies, findings, priced=True),
        adapters=adapters_listed(kit, around.supplies),
        assessment=question_of(kit),
    )


def question_of(kit: Kit) -> AssessmentRequest:
    """Return the question whose answer is this kit's assessment by simulation."""
    chosen = {slot: kit.parts[slot].sku for slot in kit.chosen}
    return replace(kit.request, parts=chosen, tier=Tier.SIMULATION)


def _score(task: Task, curve: int, report: ComplianceReport) -> Score:
    curves = task.field.curves
    power, rpm = float(curves.peak_power[curve]), float(curves.peak_power_rpm[curve])
    speed = np.array([float(rpm_to_rad_per_s(rpm))])
    error = float(task.fitted.relative_error(speed)[0])
    return Score(
        peak_power_kw=told(power / 1e3),
        peak_power_low_kw=told(power * (1.0 - error) / 1e3),
        peak_power_high_kw=told(power * (1.0 + error) / 1e3),
        peak_power_hp=told(w_to_hp(power)),
        peak_power_rpm=rpm,
        band_low_rpm=float(curves.band_low_rpm[curve]),
        band_high_rpm=float(curves.band_high_rpm[curve]),
        keeps_stock_exterior=report.appearance.keeps_stock_exterior,
        street_legal_flag=report.street_use.street_legal_flag,
        street_use_sentence=report.street_use.sentence,
        street_use_decided_by=report.street_use.decided_by,
    )


def _traded(task: Task, row: int, mean_torque: float) -> TradedKit:
    field = task.field
    parts, curve = field.parts_at(row), int(field.curve_of[row])
    return TradedKit(
        price=price_block(parts, changed_slots(field.kit.family, parts)),
        peak_power_kw=told(float(field.curves.peak_power[curve]) / 1e3),
        peak_power_rpm=float(field.curves.peak_power_rpm[curve]),
        mean_torque_nm=told(float(mean_torque)),
        parts=skus_of(parts),
    )


def _proof(task: Task, limits: Sequence[Limit], bits: Bits, fitting: int) -> Proof:
    field = task.field
    return Proof(
        complete=field.complete,
        looked_at=field.proven,
        combinations=field.combinations,
        rules=field.removals,
        limits=tuple(
            Removal(name=name, in_order=in_order, alone=alone)
            for name, (in_order, alone) in removals(bits, limits).items()
        ),
        fitting=fitting,
        surface_peak_power_error_p95=task.fitted.kit_errors.peak_power_p95,
    )
