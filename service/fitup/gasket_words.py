"""Which gasket goes into a joint, in words: why this one, and why not the others."""

from service.catalog.parts import Part
from service.catalog.supplies import GasketsSpec, GasketStyle
from service.fitup.bolted import OpenedJoint
from service.fitup.gaskets import TRAVEL_SHARE, GasketRefusal
from service.fitup.lengths import both, both_temperatures

_REFUSED = {
    GasketRefusal.LUGS_WITHOUT_RECESS: "its lugs stand on heads that have no recess for them",
    GasketRefusal.LUGS_ON_MACHINED_FACE: "its lugs no longer find their recess on a machined face",
    GasketRefusal.RECESS_NOT_KNOWN: "it is not known whether the heads have a recess for its lugs",
    GasketRefusal.FACES_NOT_FLAT: "the faces are, or may be, further out of flat than it takes up",
    GasketRefusal.PORTS_OFF: "ports and holes are, or may be, further off than it takes up",
    GasketRefusal.FUEL: "it is not made for the fuel",
    GasketRefusal.SQUEEZE: "its bead is, or may be, squeezed by less than a tenth or by more than "
    "three tenths of its section",
    GasketRefusal.OTHER_THICKNESS: "compressed it is not as thick as the head gasket that was told "
    "of, or that the engine had, and that ratio and fit were reckoned with",
    GasketRefusal.BORE_TOO_SMALL: "its openings are, or may be, narrower than the cylinders",
    GasketRefusal.TEMPERATURE: "the joint gets hotter than it bears",
}
_STYLES = {
    GasketStyle.CARRIER_WITH_LUGS: "a carrier whose lugs find their recess",
    GasketStyle.CARRIER: "a carrier without lugs, which asks for no recess",
    GasketStyle.SHEET: "compressible sheet",
    GasketStyle.BEAD: "a bead in a groove",
}


def refused_in_words(joint: OpenedJoint) -> str:
    """Return each gasket that was refused with its reasons."""
    return "; ".join(
        f"{part.sku}: {', '.join(_REFUSED[each] for each in reasons)}"
        for part, reasons, _ in joint.refused
    )


def gasket_in_words(joint: OpenedJoint) -> str:
    """Return the gasket to take and why, or that none will do."""
    refused = f" Refused: {refused_in_words(joint)}." if joint.refused else ""
    if not joint.gaskets:
        return f"None on offer will do.{refused}" if joint.refused else "None is on offer."
    first = joint.gaskets[0]
    others = ", ".join(part.sku for part in joint.gaskets[1:])
    also = f" {others} would do as well." if others else ""
    return f"{first.sku}, {first.title}: {_why(first, joint)}.{also}{refused}"


def _why(part: Part, joint: OpenedJoint) -> str:
    spec, meets = part.spec, joint.meets
    assert isinstance(spec, GasketsSpec)  # noqa: S101 - Only gaskets are chosen for a joint.
    flat = both(TRAVEL_SHARE * (spec.free_mm - spec.compressed_mm))
    reasons = [
        _STYLES[spec.style],
        f"it takes up faces {flat} out of flat{_where(meets.out_of_flat_mm.high)}",
    ]
    if meets.offset_mm.greatest_size > 0.0:
        reasons.append(
            f"its holes take up {both(spec.slotted_mm)}, where ports and holes are up to "
            f"{both(meets.offset_mm.greatest_size)} off"
        )
    if meets.temperature_c > 0.0:
        reasons.append(
            f"it bears {both_temperatures(spec.hottest_c)}, where the joint comes to "
            f"{both_temperatures(meets.temperature_c)}"
        )
    reasons.append(f"it is made for {meets.fuel}")
    return "; ".join(reasons)


def _where(out_of_flat_mm: float) -> str:
    return f", where they are up to {both(out_of_flat_mm)}" if out_of_flat_mm else ""
