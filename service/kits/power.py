"""What a kit makes: curve, peaks, band, and where the air stops."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator

from service.catalog.specs import CalibrationSpec
from service.engine.corrections import correction_factor, vapour_pressure
from service.engine.curve import PointRunner, PowerCurve, power_curve
from service.engine.flow import choked_flow_per_sound_speed, gas_density, sound_speed
from service.engine.geometry import circle_area, mean_piston_speed, swept_volume
from service.engine.inputs import FloatArray
from service.engine.model import Ambient, EngineSpec
from service.engine.plant import CYCLE_DEGREES, FIRING_CENTRE, effective_valve_area, series_area
from service.engine.power import mean_effective_pressure
from service.engine.uncertainty import MODEL_ERROR, MODEL_ERROR_SOURCE, UNCERTAINTIES
from service.engine.valves import inlet_mach_index, mean_inlet_flow_coefficient
from service.errors import RuleBroken
from service.fitup.compression import disc_volume_cm3
from service.kits.figures import Band, Basis, CurvePoint, Peak, Peaks
from service.kits.full_load import FullLoad, widened
from service.kits.kit import Kit
from service.kits.translation import ambient, engine_spec
from service.units import (
    celsius_to_kelvin,
    nm_to_lbft,
    rad_per_s_to_rpm,
    rpm_to_rad_per_s,
    w_to_hp,
)

RATING = "net, at the flywheel, engine-driven auxiliaries at work, alternator not charging"
BOUNDS = (
    "about 95 % for this kit on its own: stated input uncertainties and the error of the model, "
    "uncalibrated; the difference between two kits is known better than that"
)
ASSUMPTIONS = (
    *(f"{each.name}: one standard deviation {each.size} ({each.source})" for each in UNCERTAINTIES),
    f"model: one standard deviation {MODEL_ERROR:.0%} of torque ({MODEL_ERROR_SOURCE})",
)
CURVE_POINTS = 12
SLOWEST_RPM = 1500.0
FINE_STEP_RPM = 10.0
"""Peaks and band edges are read off the joined curve at this step. [rev/min]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerAnswer:
    """Everything that the simulation says of one kit."""

    curve: tuple[CurvePoint, ...]
    peaks: Peaks
    band: Band
    basis: Basis
    spec: EngineSpec
    ambient: Ambient
    peak_power_rad_per_s: float


class DidNotConverge(RuleBroken):
    """The simulation of a kit came apart at some speed: not even a poor number is there."""

    def __init__(self, speed_rpm: float) -> None:
        super().__init__(
            f"The simulation did not converge at {speed_rpm:.0f} rev/min: its gas dynamics came "
            "apart, so there is no curve. Look at the sizes of the parts in this kit."
        )


def power_answer(kit: Kit, *, run: PointRunner) -> PowerAnswer:
    """Simulate a kit and read its curve."""
    spec, air, curve = simulated_curve(kit, curve_speeds(kit), run=run)
    return answer_of(kit, spec, air, _simulated(curve))


def simulated_curve(
    kit: Kit, angular_speeds: FloatArray, *, run: PointRunner
) -> tuple[EngineSpec, Ambient, PowerCurve]:
    """Simulate a kit at some speeds in its weather, or say at which speed it fell apart."""
    spec, air = engine_spec(kit), ambient(kit.request.weather)
    curve = power_curve(spec, air, angular_speeds, run=run)
    lost = np.flatnonzero(~np.isfinite(curve.torque))
    if lost.size:
        raise DidNotConverge(float(rad_per_s_to_rpm(angular_speeds[lost[0]])))
    return spec, air, curve


def curve_speeds(kit: Kit) -> FloatArray:
    """Return the speeds of a curve, in rad/s."""
    return np.asarray(rpm_to_rad_per_s(curve_speeds_rpm(kit.rev_limit_rpm)))


def curve_speeds_rpm(rev_limit_rpm: float) -> FloatArray:
    """Return the speeds of a curve that ends at a rev limit, in rev/min."""
    return np.linspace(SLOWEST_RPM, rev_limit_rpm, CURVE_POINTS)


def answer_of(kit: Kit, spec: EngineSpec, air: Ambient, load: FullLoad) -> PowerAnswer:
    """Read the curve of a kit: corrected points, peaks, band."""
    load = widened(load, kit.compression_range)
    basis = basis_of(kit, bounds=load.bounds, assumptions=load.assumptions)
    reading = _Reading.of(load, basis.correction_factor, _air_per_filling(spec, air))
    peaks = _peaks(reading, spec, air)
    return PowerAnswer(
        curve=_points(load, basis.correction_factor, spec),
        peaks=peaks,
        band=_band(reading, kit, spec, air),
        basis=basis,
        spec=spec,
        ambient=air,
        peak_power_rad_per_s=rpm_to_rad_per_s(peaks.power.speed_rpm),
    )


@dataclass(frozen=True, slots=True)
class _Reading:
    """The curve joined by a monotone cubic and read at a fine step."""

    rpm: FloatArray
    torque: FloatArray
    power: FloatArray
    error: FloatArray
    air_flow: Callable[[FloatArray], FloatArray]

    @classmethod
    def of(cls, load: FullLoad, correction: float, air_per_filling: float) -> "_Reading":
        coarse = rad_per_s_to_rpm(load.angular_speed)
        rpm = np.arange(coarse[0], coarse[-1] + FINE_STEP_RPM / 2.0, FINE_STEP_RPM)
        rpm = np.minimum(rpm, coarse[-1])
        torque = PchipInterpolator(coarse, load.torque)(rpm) * correction
        flow = load.volumetric_efficiency * air_per_filling * load.angular_speed
        return cls(
            rpm=rpm,
            torque=torque,
            power=torque * rpm_to_rad_per_s(rpm),
            error=np.interp(rpm, coarse, load.relative_error),
            air_flow=PchipInterpolator(coarse, flow),
        )

    def peak(self, values: FloatArray) -> Peak:
        at = int(np.argmax(values))
        power = float(self.power[at])
        return Peak(
            speed_rpm=float(self.rpm[at]),
            torque_nm=float(self.torque[at]),
            torque_lbft=float(nm_to_lbft(self.torque[at])),
            power_kw=power / 1e3,
            power_low_kw=power * (1.0 - float(self.error[at])) / 1e3,
            power_high_kw=power * (1.0 + float(self.error[at])) / 1e3,
            power_hp=w_to_hp(power),
        )


def _simulated(curve: PowerCurve) -> FullLoad:
    cycles = [point.cycle for point in curve.points]
    return FullLoad(
        angular_speed=curve.angular_speed,
        torque=curve.torque,
        relative_error=curve.relative_error,
        volumetric_efficiency=np.array([cycle.volumetric_efficiency for cycle in cycles]),
        residual_fraction=tuple(cycle.residual_fraction for cycle in cycles),
        converged=tuple(cycle.converged for cycle in cycles),
        cycles=tuple(cycle.cycles for cycle in cycles),
        bounds=BOUNDS,
        assumptions=ASSUMPTIONS,
    )


def _air_per_filling(spec: EngineSpec, air: Ambient) -> float:
    """Return the air that one cylinder's swept volume holds at ambient density, in kg."""
    density = float(gas_density(air.dry_pressure, air.temperature))
    return density * float(swept_volume(spec.bore, spec.stroke))


def _points(load: FullLoad, correction: float, spec: EngineSpec) -> tuple[CurvePoint, ...]:
    displacement = float(swept_volume(spec.bore, spec.stroke)) * spec.cylinders
    points = []
    for at, speed in enumerate(load.angular_speed):
        torque, error = float(load.torque[at]) * correction, float(load.relative_error[at])
        power = torque * float(speed)
        points.append(
            CurvePoint(
                speed_rpm=float(rad_per_s_to_rpm(speed)),
                torque_nm=torque,
                torque_low_nm=torque * (1.0 - error),
                torque_high_nm=torque * (1.0 + error),
                torque_lbft=nm_to_lbft(torque),
                power_kw=power / 1e3,
                power_low_kw=power * (1.0 - error) / 1e3,
                power_high_kw=power * (1.0 + error) / 1e3,
                power_hp=w_to_hp(power),
                volumetric_efficiency=float(load.volumetric_efficiency[at]),
                brake_mean_effective_pressure_kpa=float(
                    mean_effective_pressure(torque, displacement)
                )
                / 1e3,
                residual_fraction=load.residual_fraction[at],
                converged=load.converged[at],
                cycles=load.cycles[at],
            )
        )
    return tuple(points)


def _peaks(reading: _Reading, spec: EngineSpec, air: Ambient) -> Peaks:
    power = reading.peak(reading.power)
    speed = float(mean_piston_speed(spec.stroke, rpm_to_rad_per_s(power.speed_rpm)))
    valve_area = spec.intake.valve_count * float(circle_area(spec.intake.valve_diameter))
    index = inlet_mach_index(
        circle_area(spec.bore),
        valve_area,
        speed,
        _mean_flow_coefficient(spec, valve_area),
        sound_speed(air.temperature),
    )
    return Peaks(
        torque=reading.peak(reading.torque),
        power=power,
        mean_piston_speed_m_per_s=speed,
        inlet_mach_index=float(index),
    )


def _mean_flow_coefficient(spec: EngineSpec, valve_area: float) -> float:
    """Return the mean over the time that the intake valve is open."""
    angle = np.arange(FIRING_CENTRE, FIRING_CENTRE + CYCLE_DEGREES)
    area = effective_valve_area(angle, spec.intake, flow_multiplier=1.0)
    is_open = area > 0.0
    return mean_inlet_flow_coefficient(np.flatnonzero(is_open), area[is_open], valve_area)


def _band(reading: _Reading, kit: Kit, spec: EngineSpec, air: Ambient) -> Band:
    request = kit.request
    inside = reading.torque >= request.band_share * reading.torque.max()
    peak = int(np.argmax(reading.torque))
    below, above = np.flatnonzero(~inside[:peak]), np.flatnonzero(~inside[peak:])
    first = int(below[-1]) + 1 if below.size else 0
    last = peak + int(above[0]) - 1 if above.size else reading.rpm.size - 1
    demand = reading.air_flow(reading.rpm) * spec.cylinders / (4.0 * np.pi)
    choked = _choked_path_flow(spec, air)
    late = np.flatnonzero(demand[peak:] > request.capacity_share * choked)
    return Band(
        share_of_peak_torque=request.band_share,
        low_rpm=float(reading.rpm[first]),
        high_rpm=float(reading.rpm[last]),
        reaches_lowest_speed=not below.size,
        reaches_rev_limit=not above.size,
        air_runs_out_rpm=float(reading.rpm[peak + late[0]]) if late.size else None,
        share_of_capacity=request.capacity_share,
    )


def _choked_path_flow(spec: EngineSpec, air: Ambient) -> float:
    """Most that the path could pass from here into a vacuum, in kg/s."""
    density = gas_density(air.dry_pressure, air.temperature)
    flux = density * sound_speed(air.temperature) * choked_flow_per_sound_speed()
    return float(flux) * series_area(spec.above_plenum + spec.below_plenum)


def basis_of(kit: Kit, *, bounds: str, assumptions: tuple[str, ...]) -> Basis:
    """Return what the power figures of a kit mean, and the factor that corrects them."""
    weather, calibration = kit.request.weather, kit.spec(CalibrationSpec)
    temperature = celsius_to_kelvin(weather.temperature_c)
    factor = correction_factor(
        kit.request.correction_standard,
        pressure=weather.pressure_kpa * 1e3,
        temperature=temperature,
        vapour_pressure=vapour_pressure(temperature, weather.relative_humidity),
    )
    valid = factor.within_validity
    swept = disc_volume_cm3(kit.bore_mm, kit.stroke_mm) * kit.family.cylinders
    return Basis(
        standard=kit.request.correction_standard,
        rating=RATING,
        correction_factor=float(factor.value),
        correction_within_validity=None if valid is None else bool(valid),
        fuel=calibration.fuel.value,
        air_fuel_ratio=calibration.air_fuel_ratio,
        weather=weather,
        compression_ratio=kit.compression_ratio,
        displacement_l=swept / 1e3,
        bounds=bounds,
        assumptions=assumptions,
    )
