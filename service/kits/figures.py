"""The figures of power in an answer, with their units and their basis."""

from dataclasses import dataclass

from service.engine.corrections import CorrectionStandard
from service.kits.kit import Weather
from service.quantities import EDGE_CONFIG

SIGNIFICANT_DIGITS = 6
"""Of every number in an answer: beyond what any model knows, within what a float keeps."""


def told(value: float) -> float:
    """Return a figure in the digits that are told of it."""
    return float(f"{value:.{SIGNIFICANT_DIGITS}g}")


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """One speed of the full-load curve, corrected to the standard named in the basis."""

    __pydantic_config__ = EDGE_CONFIG

    speed_rpm: float
    torque_nm: float
    torque_low_nm: float
    torque_high_nm: float
    torque_lbft: float
    power_kw: float
    power_low_kw: float
    power_high_kw: float
    power_hp: float
    volumetric_efficiency: float
    """Air drawn over what the swept volume holds at ambient density. [-]"""
    brake_mean_effective_pressure_kpa: float
    residual_fraction: float | None
    """Burned share of the trapped charge; null: read off a surface. [-]"""
    converged: bool | None
    """Whether the simulation repeated itself; a point that did not says so; null: read off a
    surface."""
    cycles: int | None = None
    """Simulated until it did, or until it was given up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Peak:
    """The highest point of a curve."""

    __pydantic_config__ = EDGE_CONFIG

    speed_rpm: float
    torque_nm: float
    torque_lbft: float
    power_kw: float
    power_low_kw: float
    power_high_kw: float
    power_hp: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Peaks:
    """Where torque and power are highest."""

    __pydantic_config__ = EDGE_CONFIG

    torque: Peak
    power: Peak
    mean_piston_speed_m_per_s: float
    """At peak power. [m/s]"""
    inlet_mach_index: float
    """Taylor's index at peak power; filling falls off past about 0.5 to 0.6. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Speeds between which torque stays above a share of its peak."""

    __pydantic_config__ = EDGE_CONFIG

    share_of_peak_torque: float
    low_rpm: float
    high_rpm: float
    reaches_lowest_speed: bool
    """The band may go on below the slowest speed simulated."""
    reaches_rev_limit: bool
    air_runs_out_rpm: float | None
    """First speed past peak torque at which the intake path's demand passes the stated
    share of its choked flow; null: not within the rev limit."""
    share_of_capacity: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """What every power figure of this answer means."""

    __pydantic_config__ = EDGE_CONFIG

    standard: CorrectionStandard
    rating: str
    """Net or gross, and where it is taken."""
    correction_factor: float
    correction_within_validity: bool | None
    """Whether the standard stands behind a factor of this size; null: it states no limit."""
    fuel: str
    air_fuel_ratio: float
    weather: Weather
    compression_ratio: float
    displacement_l: float
    bounds: str
    """What the low and high figures enclose."""
    assumptions: tuple[str, ...]
