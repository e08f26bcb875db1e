"""How figures are written on a work sheet: torques in three units, the rest in those asked for."""

from enum import StrEnum

from service.fitup.lengths import MM_PER_INCH
from service.install.passes import ThreeTorques
from service.units import n_to_lbf

BLANK = "________"
ML_PER_FLUID_OUNCE = 29.5735295625
"""Of the United States: 231/128 cubic inches, exact by agreement."""


class Units(StrEnum):
    """In which lengths are written; torques stand in all three units either way."""

    US = "us"
    SI = "si"


def torque_text(torque: ThreeTorques | None) -> str:
    """Return a torque in its three units, or blanks for it."""
    if torque is None:
        return "____ N·m (____ lbf·ft, ____ lbf·in)"
    return (
        f"{torque.torque_nm:.1f} N·m ({torque.torque_lbft:.1f} lbf·ft, "
        f"{torque.torque_lbin:.0f} lbf·in)"
    )


def length_text(value_mm: float, units: Units) -> str:
    """Return a length."""
    if units is Units.SI:
        return f"{value_mm:.2f} mm"
    return f"{value_mm / MM_PER_INCH:.3f} in"


def span_text(low_mm: float, high_mm: float, units: Units) -> str:
    """Return a length that lies between two."""
    low, high = length_text(low_mm, units), length_text(high_mm, units)
    return low if low == high else f"{low} to {high}"


def force_text(newton: float | None, units: Units) -> str:
    """Return a force."""
    value = newton or 0.0
    return f"{value / 1e3:.1f} kN" if units is Units.SI else f"{n_to_lbf(value):,.0f} lbf"


def volume_text(volume_ml: float, units: Units) -> str:
    """Return an amount of sealant."""
    if units is Units.SI:
        return f"{volume_ml:.0f} mL"
    return f"{volume_ml / ML_PER_FLUID_OUNCE:.1f} fl oz"
