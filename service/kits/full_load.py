"""A curve at full load before it is corrected, and what widens its bounds."""

from dataclasses import dataclass, replace

from service.engine.inputs import FloatArray
from service.engine.otto import otto_efficiency
from service.fitup.spans import Span


@dataclass(frozen=True, slots=True, kw_only=True)
class FullLoad:
    """A curve at full load, wherever it comes from; arrays share their shape (n,)."""

    angular_speed: FloatArray
    torque: FloatArray
    relative_error: FloatArray
    """Half width of the bounds as a share of torque."""
    volumetric_efficiency: FloatArray
    residual_fraction: tuple[float | None, ...]
    converged: tuple[bool | None, ...]
    cycles: tuple[int | None, ...]
    bounds: str
    """What the bounds enclose."""
    assumptions: tuple[str, ...]


def widened(load: FullLoad, ratios: Span) -> FullLoad:
    """Return the curve with bounds that allow for a compression ratio known as a range.

    By the air-standard cycle: what the range does to efficiency, added to the half width.
    """
    if ratios.width == 0.0:
        return load
    low, middle, high = (
        float(otto_efficiency(ratio)) for ratio in (ratios.low, ratios.middle, ratios.high)
    )
    words = (
        f"compression: worked out at {ratios.middle:.2f}; {ratios.low:.2f} to {ratios.high:.2f} "
        "may be, and the bounds are wider by what that does to the air-standard efficiency"
    )
    return replace(
        load,
        relative_error=load.relative_error + max(high - middle, middle - low) / middle,
        assumptions=(*load.assumptions, words),
    )
