"""A kit's curve read off the surface of its family, or the reasons why it cannot be.

A surface is asked inside the range that it was fitted over and nowhere else. What lies
outside is named with its limits, and such a kit is simulated.
"""

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from service.catalog.families import EngineFamily
from service.engine.design import outside
from service.engine.model import Ambient, EngineSpec
from service.engine.parameters import INDEX, PARAMETERS, fixed_differences, parameters_of
from service.engine.surface import surface_curves
from service.errors import RuleBroken
from service.kits.fitted import FittedSurface
from service.kits.full_load import FullLoad
from service.kits.kit import Kit
from service.kits.power import (
    ASSUMPTIONS,
    BOUNDS,
    CURVE_POINTS,
    PowerAnswer,
    answer_of,
    curve_speeds,
)
from service.kits.translation import ambient, engine_spec
from service.quantities import EDGE_CONFIG
from service.units import rad_per_s_to_rpm

SURFACE_BOUNDS = f"{BOUNDS}; widened by the error of the surface that the curve was read off"
INSIDE = "The kit lies inside the range that the surface was fitted over."
OUTSIDE = (
    "The kit lies outside the range that the surface was fitted over, so it was simulated; "
    "the list says in what."
)
ANOTHER_VERSION = (
    "The surface was fitted to an earlier model than this service works with, so the kit was "
    "simulated; a refit brings it up to date."
)


class NoSurface(RuleBroken):
    """A surface was asked for where none is fitted."""

    def __init__(self, family: EngineFamily) -> None:
        super().__init__(
            f"No surface is fitted for the engine family {family.key!r}: order one with "
            f"POST /v1/surfaces/{family.key}/refits, or leave `tier` out and the kit is simulated."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class OutsideRange:
    """One figure of a kit that lies outside the range of a surface."""

    __pydantic_config__ = EDGE_CONFIG

    name: str
    unit: str
    """Of the International System, written without superscripts; `-` where there is none."""
    value: float | str
    low: float | str
    """Equal to `high` where the surface knows one value only."""
    high: float | str


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceUse:
    """Whether a curve was read off a surface, and what is known of that surface."""

    __pydantic_config__ = EDGE_CONFIG

    used: bool
    reason: str
    outside_fitted_range: tuple[OutsideRange, ...]
    model_version: str
    """Of the simulation that the surface was fitted to."""
    fitted_at: datetime
    torque_error_median: float
    """On kits that the surface was not fitted to, as a share of simulated torque. [-]"""
    torque_error_p95: float
    peak_power_error_p95: float


def surface_reading(kit: Kit, fitted: FittedSurface) -> tuple[SurfaceUse, PowerAnswer | None]:
    """Return whether this kit can be read off this surface, and what is read where it can."""
    spec, air = engine_spec(kit), ambient(kit.request.weather)
    use = _use(kit, fitted, spec, air)
    return use, _read(kit, fitted, spec, air) if use.used else None


def surface_answer(kit: Kit, fitted: FittedSurface) -> PowerAnswer:
    """Read a kit that lies inside the range off a surface."""
    return _read(kit, fitted, engine_spec(kit), ambient(kit.request.weather))


def _use(kit: Kit, fitted: FittedSurface, spec: EngineSpec, air: Ambient) -> SurfaceUse:
    missed = _missed(kit, fitted, spec, air)
    reason = OUTSIDE if missed else INSIDE
    if not fitted.is_of_this_version:
        reason = ANOTHER_VERSION
    return SurfaceUse(
        used=fitted.is_of_this_version and not missed,
        reason=reason,
        outside_fitted_range=missed,
        model_version=fitted.model_version,
        fitted_at=fitted.fitted_at,
        torque_error_median=fitted.kit_errors.torque_median,
        torque_error_p95=fitted.kit_errors.torque_p95,
        peak_power_error_p95=fitted.kit_errors.peak_power_p95,
    )


def _read(kit: Kit, fitted: FittedSurface, spec: EngineSpec, air: Ambient) -> PowerAnswer:
    speeds = curve_speeds(kit)
    curves = surface_curves(fitted.surface, parameters_of(spec, air)[None, :], speeds)
    unknown = (None,) * CURVE_POINTS
    load = FullLoad(
        angular_speed=speeds,
        torque=curves.torque[0],
        relative_error=fitted.relative_error(speeds),
        volumetric_efficiency=curves.volumetric_efficiency[0],
        residual_fraction=unknown,
        converged=unknown,
        cycles=unknown,
        bounds=SURFACE_BOUNDS,
        assumptions=(*ASSUMPTIONS, _own_error(fitted)),
    )
    return answer_of(kit, spec, air, load)


def _own_error(fitted: FittedSurface) -> str:
    low, middle, high = fitted.own_error
    return (
        f"surface: one standard deviation {low:.1%} at low, {middle:.1%} at middle and {high:.1%} "
        f"at high speed (on {fitted.errors.engines} simulated engines, each by a fit that had "
        "not seen it)"
    )


def _missed(
    kit: Kit, fitted: FittedSurface, spec: EngineSpec, air: Ambient
) -> tuple[OutsideRange, ...]:
    box = fitted.surface.box
    missed = [
        OutsideRange(
            name=each.name,
            unit=PARAMETERS[INDEX[each.name]].unit,
            value=each.value,
            low=each.low,
            high=each.high,
        )
        for each in outside(box, parameters_of(spec, air))
    ]
    missed += [
        OutsideRange(name=name, unit="-", value=_told(ours), low=_told(base), high=_told(base))
        for name, (ours, base) in fixed_differences(spec, fitted.surface.base).items()
    ]
    speeds = curve_speeds(kit)
    if not np.all((speeds >= 0.999999 * box.slowest) & (speeds <= 1.000001 * box.fastest)):
        missed.append(
            OutsideRange(
                name="rev_limit_rpm",
                unit="rev/min",
                value=kit.rev_limit_rpm,
                low=float(rad_per_s_to_rpm(box.slowest)),
                high=float(rad_per_s_to_rpm(box.fastest)),
            )
        )
    return tuple(missed)


def _told(value: object) -> float | str:
    return float(value) if isinstance(value, int | float) else str(value)
