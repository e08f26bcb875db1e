"""The shop's rules, which are data, and the built-in ones about the kit as a whole.

A rule returns findings and never raises: that parts do not go together is an answer.
"""

from collections.abc import Iterable

from service.catalog.devices import Device
from service.catalog.interfaces import InterfaceKind
from service.catalog.parts import Part, PartStatus
from service.catalog.rules import RuleKind, RuleQuantity, RuleSeverity, Selector, ShopRule
from service.catalog.slots import KIT_SLOTS, Slot
from service.catalog.specs import (
    CalibrationSpec,
    CamshaftSpec,
    CylinderHeadsSpec,
    ExhaustConstruction,
    ExhaustManifoldSpec,
    ThrottleBodySpec,
    ThrottleDrive,
)
from service.fitup.findings import COMMON_PRACTICE, Finding, Reading
from service.fitup.spans import Span
from service.fitup.subject import FitSubject
from service.fitup.valvetrain import seat_overlap_deg, valve_lift_mm

QUANTITY_UNITS = {
    RuleQuantity.VALVE_LIFT_MM: "mm",
    RuleQuantity.COMPRESSION_RATIO: "-",
    RuleQuantity.REV_LIMIT_RPM: "rev/min",
    RuleQuantity.THROTTLE_BORE_MM: "mm",
    RuleQuantity.SEAT_DURATION_DEG: "deg",
    RuleQuantity.OVERLAP_DEG: "deg",
    RuleQuantity.PRIMARY_BORE_MM: "mm",
}
QUANTITY_SLOTS = {
    RuleQuantity.VALVE_LIFT_MM: (Slot.CAMSHAFT, Slot.CYLINDER_HEADS),
    RuleQuantity.COMPRESSION_RATIO: (Slot.CYLINDER_HEADS,),
    RuleQuantity.REV_LIMIT_RPM: (Slot.CALIBRATION,),
    RuleQuantity.THROTTLE_BORE_MM: (Slot.THROTTLE_BODY,),
    RuleQuantity.SEAT_DURATION_DEG: (Slot.CAMSHAFT,),
    RuleQuantity.OVERLAP_DEG: (Slot.CAMSHAFT,),
    RuleQuantity.PRIMARY_BORE_MM: (Slot.EXHAUST_MANIFOLD,),
}
"""Which slots a quantity is taken from."""
CATALYSTS = frozenset({Device.OC, Device.TWC, Device.WU_TWC})


def shop_rule_findings(subject: FitSubject, rules: Iterable[ShopRule]) -> tuple[Finding, ...]:
    """Return what the shop's own rules say of this kit."""
    return tuple(
        finding
        for rule in rules
        if not rule.families or subject.family.key in rule.families
        for finding in _rule_findings(subject, rule)
    )


def _rule_findings(subject: FitSubject, rule: ShopRule) -> tuple[Finding, ...]:
    speaking = _selected(subject, rule.when)
    if not speaking:
        return ()
    match rule.kind:
        case RuleKind.NEEDS:
            others = _others(subject, rule, speaking)
            return () if others else (_shop_finding(rule, speaking),)
        case RuleKind.EXCLUDES:
            others = _others(subject, rule, speaking)
            return (_shop_finding(rule, speaking + others),) if others else ()
        case RuleKind.LIMITS:
            return _limit_findings(subject, rule, speaking)


def _selected(subject: FitSubject, selector: Selector) -> tuple[Part, ...]:
    if selector.skus:
        return tuple(part for part in subject.parts.values() if part.sku in selector.skus)
    return tuple(part for part in subject.parts.values() if part.slot is selector.slot)


def _others(subject: FitSubject, rule: ShopRule, speaking: tuple[Part, ...]) -> tuple[Part, ...]:
    selected = _selected(subject, rule.other) if rule.other else ()
    return tuple(part for part in selected if part not in speaking)


def _limit_findings(
    subject: FitSubject, rule: ShopRule, speaking: tuple[Part, ...]
) -> tuple[Finding, ...]:
    if rule.quantity is None:
        return ()
    value = quantity(subject, rule.quantity)
    if value is None:
        return (_unchecked(rule, speaking),)
    unit = QUANTITY_UNITS[rule.quantity]
    broken = [
        (worst, limit)
        for worst, limit, within in (
            (value.low, rule.at_least, rule.at_least is None or value.low >= rule.at_least),
            (value.high, rule.at_most, rule.at_most is None or value.high <= rule.at_most),
        )
        if limit is not None and not within
    ]
    return tuple(
        _shop_finding(
            rule,
            speaking,
            measured=Reading(value=round(worst, 3), unit=unit),
            limit=Reading(value=limit, unit=unit),
        )
        for worst, limit in broken
    )


def quantity(subject: FitSubject, wanted: RuleQuantity) -> Span | None:
    """Return the values that a quantity which rules limit may have; None: a part is missing."""
    if wanted is RuleQuantity.COMPRESSION_RATIO:
        return subject.compression
    value = _part_quantity(subject, wanted)
    return None if value is None else Span.exactly(value)


def _part_quantity(subject: FitSubject, wanted: RuleQuantity) -> float | None:
    match wanted:
        case RuleQuantity.REV_LIMIT_RPM:
            calibration = subject.spec(CalibrationSpec)
            return calibration.rev_limit_rpm if calibration else subject.rev_limit_rpm
        case RuleQuantity.THROTTLE_BORE_MM:
            throttle = subject.spec(ThrottleBodySpec)
            return throttle.bore_mm if throttle else None
        case RuleQuantity.PRIMARY_BORE_MM:
            manifold = subject.spec(ExhaustManifoldSpec)
            return manifold.primary_bore_mm if manifold else None
        case _:
            return _camshaft_quantity(subject, wanted)


def _camshaft_quantity(subject: FitSubject, wanted: RuleQuantity) -> float | None:
    camshaft, heads = subject.spec(CamshaftSpec), subject.spec(CylinderHeadsSpec)
    if camshaft is None:
        return None
    lobes = (camshaft.intake, camshaft.exhaust)
    if wanted is RuleQuantity.OVERLAP_DEG:
        return seat_overlap_deg(camshaft)
    if wanted is RuleQuantity.SEAT_DURATION_DEG:
        return max(lobe.seat_duration_deg for lobe in lobes)
    if heads is None:
        return None
    return max(valve_lift_mm(lobe, heads.rocker_ratio) for lobe in lobes)


def _shop_finding(
    rule: ShopRule,
    parts: tuple[Part, ...],
    *,
    measured: Reading | None = None,
    limit: Reading | None = None,
) -> Finding:
    return Finding(
        code=f"shop_rule.{rule.key}",
        severity=rule.severity,
        parts=_skus(parts),
        measured=measured,
        limit=limit,
        reason=rule.reason or "A rule of the shop is broken.",
        remedy=rule.remedy or "Ask the shop.",
        source=f"Shop rule {rule.key}.",
    )


def _unchecked(rule: ShopRule, parts: tuple[Part, ...]) -> Finding:
    return Finding(
        code=f"shop_rule.{rule.key}",
        severity=RuleSeverity.NOTES,
        parts=_skus(parts),
        reason=f"{rule.quantity} is not known for this kit, so that the rule was not checked.",
        remedy="Fill the slots that the quantity is taken from.",
        source=f"Shop rule {rule.key}.",
    )


def _skus(parts: Iterable[Part]) -> tuple[str, ...]:
    return tuple(sorted({part.sku for part in parts}))


def every_required_slot_is_filled(subject: FitSubject) -> tuple[Finding, ...]:
    """Name each slot that the family needs and the kit leaves empty."""
    return tuple(
        Finding(
            code=f"kit.empty_{slot.value}",
            severity=RuleSeverity.BLOCKS,
            parts=(),
            reason=f"The engine needs a part in the slot {slot.value}; the kit has none.",
            remedy=f"Add the factory part {subject.family.stock_parts[slot]}."
            if slot in subject.family.stock_parts
            else "Choose a part for it.",
            source="Slots required by the family in the catalogue.",
        )
        for slot in KIT_SLOTS
        if slot in subject.family.required_slots and slot not in subject.parts
    )


def every_part_is_listed_for_the_family(subject: FitSubject) -> tuple[Finding, ...]:
    """Name each part that the catalogue does not list for this engine."""
    return tuple(
        Finding(
            code="kit.other_family",
            severity=RuleSeverity.BLOCKS,
            parts=(part.sku,),
            reason=f"{part.sku} is listed for {', '.join(sorted(part.families))}, not for "
            f"{subject.family.key}.",
            remedy="Choose a part listed for this engine.",
            source="Families recorded for the part in the catalogue.",
        )
        for part in subject.parts.values()
        if subject.family.key not in part.families
    )


def every_part_is_current(subject: FitSubject) -> tuple[Finding, ...]:
    """Name each part that the shop no longer offers."""
    return tuple(
        Finding(
            code=f"kit.{part.status.value}",
            severity=RuleSeverity.WARNS,
            parts=(part.sku,),
            reason=f"{part.sku} is {part.status.value}.",
            remedy=f"Take {part.superseded_by}."
            if part.superseded_by
            else "Choose a current part.",
            source="Status recorded for the part in the catalogue.",
        )
        for part in subject.parts.values()
        if part.status is not PartStatus.CURRENT
    )


def throttle_drive_is_stated(subject: FitSubject) -> tuple[Finding, ...]:
    """Ask who turns the blade, where a changed throttle body does not say it."""
    throttle = subject.spec(ThrottleBodySpec)
    changed = subject.changed(Slot.THROTTLE_BODY)
    if throttle is None or not changed:
        return ()
    needs = subject.parts[Slot.THROTTLE_BODY].needs
    if any(need.kind is InterfaceKind.THROTTLE_DRIVE for need in needs):
        return ()
    by_motor = throttle.drive is ThrottleDrive.ELECTRONIC
    return (
        Finding(
            code="throttle.drive",
            severity=RuleSeverity.WARNS,
            parts=changed,
            reason=f"The blade is turned by {'a motor' if by_motor else 'a cable'}; the catalogue "
            "does not say what the throttle body has to be connected to for that.",
            remedy="See that pedal and controller drive a motor of this kind."
            if by_motor
            else "See that the cable and its bracket reach the lever.",
            source=COMMON_PRACTICE,
        ),
    )


def catalyst_keeps_its_place(subject: FitSubject) -> tuple[Finding, ...]:
    """Speak of a changed exhaust manifold before a catalytic converter."""
    changed = subject.changed(Slot.EXHAUST_MANIFOLD)
    manifold = subject.spec(ExhaustManifoldSpec)
    fitted = any(
        fitting.device in CATALYSTS and fitting.was_fitted(subject.model_year, subject.use)
        for fitting in subject.family.devices_fitted
    )
    if not (changed and manifold and fitted):
        return ()
    tubes = manifold.construction is ExhaustConstruction.TUBULAR
    return (
        Finding(
            code="exhaust.catalyst_moved",
            severity=RuleSeverity.WARNS if tubes else RuleSeverity.NOTES,
            parts=changed,
            reason="Another exhaust manifold may move the catalytic converter or let the gas "
            "cool before it.",
            remedy="Measure where the converter and its sensors come to sit against the factory's "
            "place, and read the device block of this answer.",
            source=COMMON_PRACTICE,
        ),
    )
