"""Camshaft against heads, bottom end and use."""

from math import inf

from service.catalog.rules import RuleSeverity
from service.catalog.slots import Slot, UseClass
from service.catalog.specs import CalibrationSpec, CamshaftSpec, CylinderHeadsSpec, LobeSpec
from service.fitup.findings import COMMON_PRACTICE, Finding, Reading
from service.fitup.subject import FitSubject

PISTON_TO_VALVE_INTAKE_MM = 2.032
"""Least clearance at the intake valve, .080 in (trade press; common practice) [mm]."""
PISTON_TO_VALVE_EXHAUST_MM = 2.54
"""Least clearance at the exhaust valve, .100 in (the same; older practice asks it of both) [mm]."""
PISTON_SPEED_NOTES_M_PER_S = 20.0
"""Mean piston speed past which cast pistons and plain rods are worked hard (common
practice, no source; 8 to 15 m/s are usual at rated speed: J. B. Heywood, *Internal
Combustion Engine Fundamentals*, McGraw-Hill 1988, section 2.2, from memory). [m/s]"""
PISTON_SPEED_WARNS_M_PER_S = 25.0
"""Mean piston speed of racing engines (common practice, no source) [m/s]."""
MARINE_OVERLAP_WARNS_DEG = 50.0
"""Overlap at the seats past which a wet exhaust may draw water back at idle (common
practice, no source). [crank deg]"""


def valve_lift_mm(lobe: LobeSpec, rocker_ratio: float) -> float:
    """Return the lift at the valve, lash taken off [mm]."""
    return lobe.lobe_lift_mm * rocker_ratio - lobe.lash_mm


def seat_overlap_deg(camshaft: CamshaftSpec) -> float:
    """Return the crank angle for which both valves are off their seats [crank deg].

    Half the sum of the seat durations less twice the lobe separation: the geometry of two
    symmetric lobes. Negative: one closes before the other opens.
    """
    durations = camshaft.intake.seat_duration_deg + camshaft.exhaust.seat_duration_deg
    return durations / 2.0 - 2.0 * camshaft.lobe_separation_deg


def mean_piston_speed_m_per_s(stroke_mm: float, speed_rpm: float) -> float:
    """Return the mean piston speed: two strokes a turn [m/s]."""
    return 2.0 * stroke_mm / 1000.0 * speed_rpm / 60.0


def valve_lift_stays_within_the_heads_limit(subject: FitSubject) -> tuple[Finding, ...]:
    """Compare the greater lift with what springs, guides and retainers allow."""
    camshaft, heads = subject.spec(CamshaftSpec), subject.spec(CylinderHeadsSpec)
    if camshaft is None or heads is None:
        return ()
    lift = max(
        valve_lift_mm(lobe, heads.rocker_ratio) for lobe in (camshaft.intake, camshaft.exhaust)
    )
    if lift <= heads.max_valve_lift_mm:
        return ()
    return (
        Finding(
            code="valvetrain.valve_lift",
            severity=RuleSeverity.BLOCKS,
            parts=subject.skus(Slot.CAMSHAFT, Slot.CYLINDER_HEADS),
            measured=Reading(value=round(lift, 3), unit="mm"),
            limit=Reading(value=heads.max_valve_lift_mm, unit="mm"),
            reason=f"The camshaft lifts a valve {lift:.2f} mm; the springs, guides and retainers "
            f"of the heads allow {heads.max_valve_lift_mm:.2f} mm.",
            remedy="Take a camshaft of less lift, or heads whose springs allow this one.",
            source="Lift recorded for the heads in the catalogue.",
        ),
    )


def overlap_suits_the_use(subject: FitSubject) -> tuple[Finding, ...]:
    """Speak of water that a wet exhaust may draw back past a long overlap."""
    camshaft = subject.spec(CamshaftSpec)
    changed = subject.changed(Slot.CAMSHAFT)
    if camshaft is None or subject.use is not UseClass.MARINE:
        return ()
    overlap = seat_overlap_deg(camshaft)
    long = overlap > MARINE_OVERLAP_WARNS_DEG
    if not (long or changed):
        return ()
    return (
        Finding(
            code="valvetrain.water_reversion",
            severity=RuleSeverity.WARNS if long else RuleSeverity.NOTES,
            parts=subject.skus(Slot.CAMSHAFT),
            measured=Reading(value=round(overlap, 1), unit="deg"),
            limit=Reading(value=MARINE_OVERLAP_WARNS_DEG, unit="deg"),
            reason=f"Both valves are off their seats for {overlap:.0f} degrees of crank angle. At "
            "idle, exhaust pulses may draw cooling water back up a wet exhaust.",
            remedy="Keep a dry riser of enough height before the water joins, and look for water "
            "at the exhaust valves after the first idle.",
            source=COMMON_PRACTICE,
        ),
    )


def speed_stays_within_the_bottom_end(subject: FitSubject) -> tuple[Finding, ...]:
    """Compare the highest speed in use with the family's limit."""
    calibration = subject.spec(CalibrationSpec)
    cut = calibration.rev_limit_rpm if calibration else 0.0
    highest = max(cut, subject.rev_limit_rpm)
    limit = subject.family.rev_limit_rpm
    if highest <= limit:
        return ()
    by_calibration = cut > limit
    who = "The calibration lets the engine" if by_calibration else "The engine is to"
    return (
        Finding(
            code="bottom_end.rev_limit",
            severity=RuleSeverity.BLOCKS,
            parts=subject.skus(Slot.CALIBRATION) if by_calibration else (),
            measured=Reading(value=highest, unit="rev/min"),
            limit=Reading(value=limit, unit="rev/min"),
            reason=f"{who} turn {highest:.0f} rev/min; its bottom end is good for "
            f"{limit:.0f} rev/min.",
            remedy=f"Set the limit to {limit:.0f} rev/min, or build a bottom end for the speed.",
            source="Limit recorded for the family in the catalogue.",
        ),
    )


def piston_speed_is_usual(subject: FitSubject) -> tuple[Finding, ...]:
    """Speak of a mean piston speed that asks for better pistons and rods."""
    speed = mean_piston_speed_m_per_s(subject.stroke_mm, subject.rev_limit_rpm)
    steps = (
        (PISTON_SPEED_WARNS_M_PER_S, RuleSeverity.WARNS),
        (PISTON_SPEED_NOTES_M_PER_S, RuleSeverity.NOTES),
        (-inf, None),
    )
    limit, severity = next(step for step in steps if speed > step[0])
    if severity is None:
        return ()
    return (
        Finding(
            code="bottom_end.piston_speed",
            severity=severity,
            parts=(),
            measured=Reading(value=round(speed, 2), unit="m/s"),
            limit=Reading(value=limit, unit="m/s"),
            reason=f"At {subject.rev_limit_rpm:.0f} rev/min the pistons average {speed:.1f} m/s.",
            remedy="Lower the limit, or see that pistons, rods and bolts are made for it.",
            source=COMMON_PRACTICE,
        ),
    )


def piston_clears_valves(subject: FitSubject) -> tuple[Finding, ...]:
    """Ask for a physical check after any change of camshaft or heads."""
    changed = subject.changed(Slot.CAMSHAFT, Slot.CYLINDER_HEADS)
    if not changed:
        return ()
    return (
        Finding(
            code="valvetrain.piston_to_valve",
            severity=RuleSeverity.WARNS,
            parts=changed,
            limit=Reading(value=PISTON_TO_VALVE_INTAKE_MM, unit="mm"),
            reason="Camshaft or heads are changed; no catalogue figure shows that the pistons "
            "clear the valves.",
            remedy="Check it on the engine, with clay or checking springs, before it first turns: "
            f"at least {PISTON_TO_VALVE_INTAKE_MM:.2f} mm at the intake and "
            f"{PISTON_TO_VALVE_EXHAUST_MM:.2f} mm at the exhaust valve.",
            source="Trade press; common practice.",
        ),
    )
