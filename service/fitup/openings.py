"""Steps between openings that meet: how much area a ledge takes, and what it costs.

Where the downstream opening is the larger one, the flow leaves an edge and expands; that
mismatch is tolerated. Where it is smaller, a ledge stands in the flow.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi, sqrt

from service.catalog.interfaces import Interface, InterfaceKind
from service.catalog.parts import Part
from service.catalog.rules import RuleSeverity
from service.catalog.slots import Slot
from service.catalog.specs import (
    ExhaustManifoldSpec,
    ExhaustSystemSpec,
    IntakeManifoldSpec,
    ThrottleBodySpec,
)
from service.fitup.findings import COMMON_PRACTICE, Finding, Reading

# Ladder for a ledge that faces the flow, as a share of the upstream area. Common practice,
# no source: half a millimetre all round on a 90 mm bore (2.2 %) is dressed with a file;
# past a fifth the two parts were not meant for each other.
LEDGE_NOTES = 0.01
LEDGE_WARNS = 0.05
LEDGE_BLOCKS = 0.20
# Ladder for a step that opens, as growth of area. Common practice, no source.
EXPANSION_NOTES = 0.10
EXPANSION_WARNS = 0.60

DRESS_THE_LEDGE = "Match the smaller opening to the larger before the parts go on."
LEAVE_THE_EXPANSION = "None needed; a part of nearer size keeps the speed of the flow."


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A hole in a flange: round when it has no height of its own."""

    width_mm: float
    height_mm: float | None = None

    @property
    def area_mm2(self) -> float:
        """Flow area; the corners of a port that is not round count as square [mm²]."""
        if self.height_mm is None:
            return pi / 4.0 * self.width_mm**2
        return self.width_mm * self.height_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """Two openings that face each other, named in the direction of flow."""

    code: str
    upstream_slot: Slot
    upstream: Opening
    downstream_slot: Slot
    downstream: Opening


def common_area_mm2(first: Opening, second: Opening) -> float:
    """Return the area that stays open when two openings are centred on each other [mm²]."""
    if first.height_mm is None and second.height_mm is None:
        return min(first.area_mm2, second.area_mm2)
    first_height = first.height_mm or first.width_mm
    second_height = second.height_mm or second.width_mm
    box = min(first.width_mm, second.width_mm) * min(first_height, second_height)
    return min(box, first.area_mm2, second.area_mm2)


def ledge_share(upstream: Opening, downstream: Opening) -> float:
    """Return the share of the upstream area that a ledge covers [-]."""
    return 1.0 - common_area_mm2(upstream, downstream) / upstream.area_mm2


def sudden_expansion_loss(area_ratio: float) -> float:
    """Return the loss coefficient of a sudden expansion, on the upstream speed [-].

    `area_ratio` is the smaller area over the larger. Borda and Carnot: (1 - A1/A2)²; in
    every textbook of fluid mechanics.
    """
    return (1.0 - area_ratio) ** 2


def sudden_contraction_loss(area_ratio: float) -> float:
    """Return the loss coefficient of a sharp-edged contraction, on the downstream speed [-].

    `area_ratio` is the smaller area over the larger. D. Rennels and H. Hudson, *Pipe Flow*,
    Wiley 2012, chapter 10 (from memory, checked against the library `fluids`).
    """
    beta = sqrt(area_ratio)
    jet_contraction = 1.0 + 0.622 * (1.0 - 0.215 * beta**2 - 0.785 * beta**5)
    return 0.0696 * (1.0 - beta**5) * jet_contraction**2 + (jet_contraction - 1.0) ** 2


def joints(parts: Mapping[Slot, Part]) -> tuple[Joint, ...]:
    """Return the joints whose two openings are known, in the direction of flow."""
    found = (
        _throttle_joint(parts),
        _port_joint(
            "intake_port.step",
            InterfaceKind.INTAKE_PORT,
            parts,
            Slot.INTAKE_MANIFOLD,
            Slot.CYLINDER_HEADS,
        ),
        _port_joint(
            "exhaust_port.step",
            InterfaceKind.EXHAUST_PORT,
            parts,
            Slot.CYLINDER_HEADS,
            Slot.EXHAUST_MANIFOLD,
        ),
        _collector_joint(parts),
    )
    return tuple(joint for joint in found if joint is not None)


def step_severity(joint: Joint) -> RuleSeverity | None:
    """Return how bad the step is; None: too small to speak of."""
    rung = _rung(joint)
    return rung.severity if rung else None


def step_finding(joint: Joint, parts: Mapping[Slot, Part], change: str | None) -> Finding | None:
    """Return what is to be said of one joint; `change` names the swap that would end it."""
    rung = _rung(joint)
    if rung is None:
        return None
    return Finding(
        code=joint.code,
        severity=rung.severity,
        parts=tuple(sorted((parts[joint.upstream_slot].sku, parts[joint.downstream_slot].sku))),
        measured=Reading(value=round(100.0 * rung.share, 2), unit="%"),
        limit=Reading(value=100.0 * rung.limit, unit="%"),
        reason=_ledge_words(joint) if rung.is_ledge else _expansion_words(joint),
        remedy=change or (DRESS_THE_LEDGE if rung.is_ledge else LEAVE_THE_EXPANSION),
        source=f"Limit: {COMMON_PRACTICE}. Loss: Borda and Carnot; Rennels and Hudson 2012.",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rung:
    """The step of the ladder that a joint stands on."""

    is_ledge: bool
    share: float
    limit: float
    severity: RuleSeverity


def _rung(joint: Joint) -> _Rung | None:
    """Return the worst rung passed; a ledge comes before an expansion of the same rank."""
    ledge = ledge_share(joint.upstream, joint.downstream)
    growth = joint.downstream.area_mm2 / joint.upstream.area_mm2 - 1.0
    ladder = (
        (True, ledge, LEDGE_BLOCKS, RuleSeverity.BLOCKS),
        (True, ledge, LEDGE_WARNS, RuleSeverity.WARNS),
        (False, growth, EXPANSION_WARNS, RuleSeverity.WARNS),
        (True, ledge, LEDGE_NOTES, RuleSeverity.NOTES),
        (False, growth, EXPANSION_NOTES, RuleSeverity.NOTES),
    )
    for is_ledge, share, limit, severity in ladder:
        if share > limit:
            return _Rung(is_ledge=is_ledge, share=share, limit=limit, severity=severity)
    return None


def _ledge_words(joint: Joint) -> str:
    ledge = ledge_share(joint.upstream, joint.downstream)
    loss = sudden_contraction_loss(1.0 - ledge)
    return (
        f"The opening of the {_words(joint.downstream_slot)} leaves a ledge that covers "
        f"{100.0 * ledge:.1f} % of the {_words(joint.upstream_slot)}'s opening and faces the "
        f"flow; as a sharp contraction it costs {loss:.3f} of the velocity head behind it."
    )


def _expansion_words(joint: Joint) -> str:
    ratio = joint.upstream.area_mm2 / joint.downstream.area_mm2
    return (
        f"The opening of the {_words(joint.downstream_slot)} is {100.0 * (1.0 / ratio - 1.0):.1f} "
        f"% larger than that of the {_words(joint.upstream_slot)}. A step that opens downstream "
        f"is the tolerated one; it costs {sudden_expansion_loss(ratio):.3f} of the velocity head "
        "before it."
    )


def _words(slot: Slot) -> str:
    return slot.value.replace("_", " ")


def _throttle_joint(parts: Mapping[Slot, Part]) -> Joint | None:
    throttle, manifold = parts.get(Slot.THROTTLE_BODY), parts.get(Slot.INTAKE_MANIFOLD)
    if throttle is None or manifold is None:
        return None
    match throttle.spec, manifold.spec:
        case ThrottleBodySpec() as above, IntakeManifoldSpec() as below:
            return Joint(
                code="throttle.bore_step",
                upstream_slot=Slot.THROTTLE_BODY,
                upstream=Opening(width_mm=above.bore_mm),
                downstream_slot=Slot.INTAKE_MANIFOLD,
                downstream=Opening(width_mm=below.throttle_bore_mm),
            )
    return None


def _collector_joint(parts: Mapping[Slot, Part]) -> Joint | None:
    manifold, system = parts.get(Slot.EXHAUST_MANIFOLD), parts.get(Slot.EXHAUST_SYSTEM)
    if manifold is None or system is None:
        return None
    match manifold.spec, system.spec:
        case ExhaustManifoldSpec() as above, ExhaustSystemSpec() as below:
            return Joint(
                code="collector.step",
                upstream_slot=Slot.EXHAUST_MANIFOLD,
                upstream=Opening(width_mm=above.collector_bore_mm),
                downstream_slot=Slot.EXHAUST_SYSTEM,
                downstream=Opening(width_mm=below.inlet_bore_mm),
            )
    return None


def _port_joint(
    code: str,
    kind: InterfaceKind,
    parts: Mapping[Slot, Part],
    upstream_slot: Slot,
    downstream_slot: Slot,
) -> Joint | None:
    upstream = _port_opening(parts.get(upstream_slot), kind)
    downstream = _port_opening(parts.get(downstream_slot), kind)
    if upstream is None or downstream is None:
        return None
    return Joint(
        code=code,
        upstream_slot=upstream_slot,
        upstream=upstream,
        downstream_slot=downstream_slot,
        downstream=downstream,
    )


def _port_opening(part: Part | None, kind: InterfaceKind) -> Opening | None:
    if part is None:
        return None
    sized = [
        Opening(width_mm=interface.width_mm, height_mm=interface.height_mm)
        for interface in _interfaces(part)
        if interface.kind is kind and interface.width_mm is not None
    ]
    if sized:
        return min(sized, key=lambda opening: opening.area_mm2)
    if kind is InterfaceKind.EXHAUST_PORT and isinstance(part.spec, ExhaustManifoldSpec):
        return Opening(width_mm=part.spec.primary_bore_mm)
    return None


def _interfaces(part: Part) -> tuple[Interface, ...]:
    return part.provides + part.needs
