"""Compression ratio from the volumes that a rule, a burette and a caliper give.

The clearance volume is chamber + gasket + deck + dish (a dome counts negative) + the
crevice around the top land. Volumes are in cubic centimetres because burettes are.
"""

from dataclasses import dataclass
from math import pi

from service.errors import RuleBroken

_MM3_PER_CM3 = 1000.0

CHAMBER_CUT_MM_PER_CM3 = (0.13, 0.18)
"""Cut that takes one cubic centimetre from a wedge chamber: an open one, a closed one
(common practice, no source: .005 to .007 in). [mm/cm³]"""


class NoClearanceVolume(RuleBroken):
    """The dome fills the chamber: nothing is left to compress into."""

    def __init__(self, clearance_cm3: float) -> None:
        super().__init__(
            f"The clearance volume is {clearance_cm3:.3f} cm³; it must be greater than 0."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearanceStack:
    """What stands between piston and head at top dead centre."""

    chamber_cm3: float
    """Of the head, with valves and plug [cm³]."""
    gasket_bore_mm: float
    gasket_thickness_mm: float
    """Compressed [mm]."""
    deck_clearance_mm: float
    """From the deck down to the piston; negative when it stands proud [mm]."""
    dish_cm3: float = 0.0
    """Of the piston; a dome is negative [cm³]."""
    crevice_cm3: float = 0.0
    """Around the top land, above the first ring [cm³]."""

    def volume_cm3(self, bore_mm: float) -> float:
        """Return the clearance volume in a cylinder of this bore [cm³].

        Raises
        ------
        NoClearanceVolume
            If the dome leaves nothing.
        """
        volume = (
            self.chamber_cm3
            + disc_volume_cm3(self.gasket_bore_mm, self.gasket_thickness_mm)
            + disc_volume_cm3(bore_mm, self.deck_clearance_mm)
            + self.dish_cm3
            + self.crevice_cm3
        )
        return _some_clearance(volume)


def disc_volume_cm3(diameter_mm: float, height_mm: float) -> float:
    """Return the volume of a disc: a gasket, a deck, a swept cylinder [cm³]."""
    return pi / 4.0 * diameter_mm**2 * height_mm / _MM3_PER_CM3


def crevice_volume_cm3(bore_mm: float, piston_mm: float, top_land_mm: float) -> float:
    """Return the volume of the ring between bore and piston above the first ring [cm³]."""
    return disc_volume_cm3(bore_mm, top_land_mm) - disc_volume_cm3(piston_mm, top_land_mm)


def compression_ratio(swept_cm3: float, clearance_cm3: float) -> float:
    """Return (swept + clearance) / clearance [-].

    Raises
    ------
    NoClearanceVolume
        If the clearance volume is not greater than 0.
    """
    return swept_cm3 / _some_clearance(clearance_cm3) + 1.0


def clearance_for_ratio_cm3(swept_cm3: float, ratio: float) -> float:
    """Return the clearance volume that gives this compression ratio [cm³]."""
    return swept_cm3 / (ratio - 1.0)


def ratio_after_chamber_change(ratio: float, swept_cm3: float, change_cm3: float) -> float:
    """Return the ratio when the clearance volume grows by `change_cm3` [-].

    For another head on the same block: the change is the new chamber less the old one.
    """
    return compression_ratio(swept_cm3, clearance_for_ratio_cm3(swept_cm3, ratio) + change_cm3)


def cut_for_chamber_mm_per_cm3(outline_mm: float) -> float:
    """Return the cut of the head's face that takes 1 cm³ from a chamber [mm/cm³].

    `outline_mm` is the length of the chamber's edge in the face. A circle of that length
    stands for the chamber; it has more area than any other outline of the same length, so
    that the true cut is deeper, never shallower.
    """
    return 1.0 / disc_volume_cm3(outline_mm / pi, 1.0)


def _some_clearance(clearance_cm3: float) -> float:
    if clearance_cm3 <= 0.0:
        raise NoClearanceVolume(clearance_cm3)
    return clearance_cm3
