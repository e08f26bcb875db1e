"""Injectors against expected power; fuel and octane against compression and calibration."""

from math import sqrt

from service.catalog.rules import RuleSeverity
from service.catalog.slots import Fuel, Slot
from service.catalog.specs import CalibrationSpec, CylinderHeadsSpec, HeadMaterial, InjectorsSpec
from service.fitup.findings import COMMON_PRACTICE, Finding, Reading
from service.fitup.subject import FitSubject
from service.units import w_to_hp

DUTY_NOTES = 0.80
"""Share of the time open up to which an injector is chosen (common practice) [-]."""
DUTY_WARNS = 0.85
"""Share past which it has no time left to close (common practice) [-]."""
FUEL_USE_LB_PER_HP_H = {Fuel.GASOLINE: 0.50, Fuel.ETHANOL_85: 0.70}
"""Brake specific consumption at full load without boost: gasoline common practice (trade
press, May 1984); ethanol blend common practice, no source. Gases are not metered so."""

PUMP_OCTANE_LIMITS = (
    (93.0, {HeadMaterial.IRON: 10.0, HeadMaterial.ALUMINIUM: 11.0}),
    (91.0, {HeadMaterial.IRON: 9.5, HeadMaterial.ALUMINIUM: 10.5}),
    (87.0, {HeadMaterial.IRON: 9.0, HeadMaterial.ALUMINIUM: 9.5}),
)
"""(R+M)/2 and the compression ratio it carries, by head material (common practice, no
source). Fleet averages show the ratio rising at a constant octane (US DOE, fact no. 940,
29 Aug 2016), so that the ratio alone never rejects a kit."""

_LIQUIDS = frozenset({Fuel.GASOLINE, Fuel.ETHANOL_85})


def flow_at_pressure(flow: float, rated_pressure: float, pressure: float) -> float:
    """Return an injector's flow at another pressure across it: the orifice law [as flow]."""
    return flow * sqrt(pressure / rated_pressure)


def injector_flow_lb_per_h(
    power_hp: float, *, fuel_use_lb_per_hp_h: float, count: int, duty: float
) -> float:
    """Return the flow that each of `count` injectors needs at this duty [lb/h]."""
    return power_hp * fuel_use_lb_per_hp_h / (count * duty)


def power_at_full_duty_hp(subject: FitSubject) -> float | None:
    """Return the power at which the injectors would never close; None: they do not limit it."""
    injectors, calibration = subject.spec(InjectorsSpec), subject.spec(CalibrationSpec)
    fuel = calibration.fuel if calibration else subject.family.fuel
    if injectors is None or fuel not in FUEL_USE_LB_PER_HP_H:
        return None
    pressure = calibration.rail_pressure_kpa if calibration else injectors.rated_pressure_kpa
    flow = flow_at_pressure(injectors.static_flow_lb_per_h, injectors.rated_pressure_kpa, pressure)
    return flow * injectors.count / FUEL_USE_LB_PER_HP_H[fuel]


def injectors_carry_the_power(
    subject: FitSubject, expected_power_w: float | None
) -> tuple[Finding, ...]:
    """Compare the share of time that the injectors are open with what they can bear."""
    most_hp = power_at_full_duty_hp(subject)
    injectors, calibration = subject.spec(InjectorsSpec), subject.spec(CalibrationSpec)
    if most_hp is None or injectors is None or expected_power_w is None:
        return ()
    power_hp = w_to_hp(expected_power_w)
    fuel = calibration.fuel if calibration else subject.family.fuel
    wanted = injector_flow_lb_per_h(
        power_hp,
        fuel_use_lb_per_hp_h=FUEL_USE_LB_PER_HP_H[fuel],
        count=injectors.count,
        duty=DUTY_NOTES,
    )
    return _duty_finding(subject, power_hp / most_hp, wanted, power_hp)


def _duty_finding(
    subject: FitSubject, duty: float, wanted_lb_per_h: float, power_hp: float
) -> tuple[Finding, ...]:
    steps = (
        (1.0, RuleSeverity.BLOCKS),
        (DUTY_WARNS, RuleSeverity.WARNS),
        (DUTY_NOTES, RuleSeverity.NOTES),
    )
    passed = [step for step in steps if duty > step[0]]
    if not passed:
        return ()
    limit, severity = passed[0]
    return (
        Finding(
            code="injectors.duty",
            severity=severity,
            parts=subject.skus(Slot.INJECTORS),
            measured=Reading(value=round(100.0 * duty, 1), unit="%"),
            limit=Reading(value=100.0 * limit, unit="%"),
            reason=f"At {power_hp:.0f} hp the injectors stand open {100.0 * duty:.0f} % of the "
            "time at this rail pressure.",
            remedy=f"Fit injectors of at least {wanted_lb_per_h:.1f} lb/h at this rail pressure.",
            source=f"Orifice law; duty and consumption: {COMMON_PRACTICE}.",
        ),
    )


def every_cylinder_has_an_injector(subject: FitSubject) -> tuple[Finding, ...]:
    """Compare the set with the number of cylinders."""
    injectors = subject.spec(InjectorsSpec)
    cylinders = subject.family.cylinders
    if injectors is None or injectors.count == cylinders:
        return ()
    return (
        Finding(
            code="injectors.count",
            severity=RuleSeverity.WARNS,
            parts=subject.skus(Slot.INJECTORS),
            measured=Reading(value=float(injectors.count), unit="-"),
            limit=Reading(value=float(cylinders), unit="-"),
            reason=f"The set has {injectors.count} injectors; the engine has {cylinders} "
            "cylinders.",
            remedy="Order a set of the right number, or see that one injector feeds several "
            "cylinders on purpose.",
            source="Count recorded in the catalogue.",
        ),
    )


def fuel_is_the_calibrations_own(subject: FitSubject) -> tuple[Finding, ...]:
    """Compare the fuel that the controller is told of with the family's."""
    calibration = subject.spec(CalibrationSpec)
    if calibration is None or calibration.fuel is subject.family.fuel:
        return ()
    pumpable = {calibration.fuel, subject.family.fuel} <= _LIQUIDS
    return (
        Finding(
            code="calibration.fuel",
            severity=RuleSeverity.WARNS if pumpable else RuleSeverity.BLOCKS,
            parts=subject.skus(Slot.CALIBRATION),
            reason=f"The calibration is for {calibration.fuel.value}; the engine was built for "
            f"{subject.family.fuel.value}.",
            remedy="Take the calibration for the fuel in the tank, or convert the fuel system to "
            "the calibration's fuel throughout.",
            source="Fuels recorded in the catalogue.",
        ),
    )


def octane_suits_the_calibration(subject: FitSubject) -> tuple[Finding, ...]:
    """Compare the fuel's octane with what the ignition timing asks for."""
    calibration = subject.spec(CalibrationSpec)
    if calibration is None or subject.octane_aki is None:
        return ()
    if subject.octane_aki >= calibration.octane_aki_min:
        return ()
    return (
        Finding(
            code="calibration.octane",
            severity=RuleSeverity.WARNS,
            parts=subject.skus(Slot.CALIBRATION),
            measured=Reading(value=subject.octane_aki, unit="AKI"),
            limit=Reading(value=calibration.octane_aki_min, unit="AKI"),
            reason=f"The calibration's timing asks for {calibration.octane_aki_min:.0f} AKI; the "
            f"fuel has {subject.octane_aki:.0f}.",
            remedy="Buy fuel of the octane asked for, or take a calibration with less advance.",
            source="Octane recorded for the calibration; AKI is half of RON plus MON.",
        ),
    )


def octane_suits_the_compression(subject: FitSubject) -> tuple[Finding, ...]:
    """Compare the compression ratio with what pump fuel carries; warns, never blocks."""
    heads = subject.spec(CylinderHeadsSpec)
    if heads is None or subject.family.fuel is not Fuel.GASOLINE:
        return ()
    lowest = PUMP_OCTANE_LIMITS[-1]
    octane = lowest[0] if subject.octane_aki is None else subject.octane_aki
    aki, carried = next((row for row in PUMP_OCTANE_LIMITS if octane >= row[0]), lowest)
    limit = carried[heads.material]
    highest = subject.compression.high
    if highest <= limit:
        return ()
    known = subject.octane_aki is not None
    return (
        Finding(
            code="fuel.octane",
            severity=RuleSeverity.WARNS if known else RuleSeverity.NOTES,
            parts=subject.skus(Slot.CYLINDER_HEADS),
            measured=Reading(value=round(highest, 2), unit="-"),
            limit=Reading(value=limit, unit="-"),
            reason=f"A ratio of {highest:.1f} is past the {limit:.1f} that "
            f"{aki:.0f} AKI carries with heads of {heads.material.value} in common practice"
            f"{'' if known else '; which fuel will be bought is not known'}.",
            remedy="Buy fuel of more octane, watch for knock while the timing is set, or keep "
            "more clearance volume.",
            source=f"{COMMON_PRACTICE}; never a reason to reject: US DOE fact no. 940 (2016).",
        ),
    )
