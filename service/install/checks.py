"""What is measured while the kit goes on, with the values that pass and that do not.

Between the two the reading is taken again and the builder is asked. Checks of room (valve to
piston, coils, hood) are on every sheet: no figure of the catalogue takes their place.
"""

from dataclasses import dataclass
from enum import StrEnum

from service.fitup.clearances import (
    COIL_BIND_MARGIN_MM,
    INSTALLED_HEIGHT_TOLERANCE_MM,
    PRELOAD_WINDOW_MM,
    RADIAL_MM,
    RETAINER_TO_SEAL_MM,
)
from service.fitup.gaskets import FACE_GOOD_MM, FACE_REJECT_MM, PORT_MATCH_MM
from service.fitup.lengths import MM_PER_INCH
from service.fitup.rail_seal import THIN_GAP_MM, WIDE_GAP_MM
from service.fitup.valvetrain import PISTON_TO_VALVE_EXHAUST_MM, PISTON_TO_VALVE_INTAKE_MM
from service.fitup.vee import OffsetLadder
from service.install.joints import JointSheet
from service.quantities import EDGE_CONFIG, Name, Text
from service.units import lbft_to_nm, lbin_to_nm

TORQUE_WITHIN = 0.05
"""Of a torque, to either side, that a wrench in good order keeps (common practice) [-]."""
HOOD_ROOM_MM = 25.0
HOOD_REJECT_MM = 12.0
"""Between the highest point and the hood; the engine rocks (common practice, no source) [mm]."""


class CheckUnit(StrEnum):
    """In what a reading is written down."""

    MM = "mm"
    INCH = "in"
    NM = "N·m"
    LBFT = "lbf·ft"
    LBIN = "lbf·in"


class Judgement(StrEnum):
    """What is said of a reading."""

    ACCEPTED = "accepted"
    LOOK_AGAIN = "look_again"
    OUT_OF_RANGE = "out_of_range"


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One reading to be written down; limits in mm or in N·m."""

    __pydantic_config__ = EDGE_CONFIG

    key: Name
    """By which a reading is entered."""
    title: Text
    how: Text
    unit: CheckUnit
    """`mm` or `N·m`: a reading may be entered in inches, lbf·ft and lbf·in too."""
    accept_from: float | None
    accept_to: float | None
    reject_below: float | None
    reject_above: float | None
    source: Text


def judged(check: Check, value: float) -> Judgement:
    """Return what is said of a reading in the check's own unit."""
    if (check.reject_below is not None and value < check.reject_below) or (
        check.reject_above is not None and value > check.reject_above
    ):
        return Judgement.OUT_OF_RANGE
    if (check.accept_from is not None and value < check.accept_from) or (
        check.accept_to is not None and value > check.accept_to
    ):
        return Judgement.LOOK_AGAIN
    return Judgement.ACCEPTED


def in_units_of(check: Check, value: float, unit: CheckUnit) -> float | None:
    """Return a reading in the check's own unit; None: the unit measures something else."""
    if check.unit is CheckUnit.MM:
        return {CheckUnit.MM: value, CheckUnit.INCH: value * MM_PER_INCH}.get(unit)
    return {
        CheckUnit.NM: value,
        CheckUnit.LBFT: lbft_to_nm(value),
        CheckUnit.LBIN: lbin_to_nm(value),
    }.get(unit)


def _at_least(
    key: str, title: str, how: str, *, accept: float, reject: float, source: str
) -> Check:
    return Check(
        key=key,
        title=title,
        how=how,
        unit=CheckUnit.MM,
        accept_from=accept,
        accept_to=None,
        reject_below=reject,
        reject_above=None,
        source=source,
    )


def _at_most(key: str, title: str, how: str, *, accept: float, reject: float, source: str) -> Check:
    return Check(
        key=key,
        title=title,
        how=how,
        unit=CheckUnit.MM,
        accept_from=None,
        accept_to=accept,
        reject_below=None,
        reject_above=reject,
        source=source,
    )


_CLAY = "Clay on the piston or checking springs and a dial, turning by hand through two turns."
ROOM_CHECKS = (
    _at_least(
        "room.intake_valve",
        "Piston to intake valve",
        f"{_CLAY} With aluminium rods 0.76 mm (0.030 in) more.",
        accept=PISTON_TO_VALVE_EXHAUST_MM,
        reject=PISTON_TO_VALVE_INTAKE_MM,
        source="Trade press .080 in; older practice .100 in.",
    ),
    _at_least(
        "room.exhaust_valve",
        "Piston to exhaust valve",
        f"{_CLAY} With aluminium rods 0.76 mm (0.030 in) more.",
        accept=PISTON_TO_VALVE_EXHAUST_MM,
        reject=PISTON_TO_VALVE_EXHAUST_MM,
        source="Trade press .100 in.",
    ),
    _at_least(
        "room.valve_edge",
        "Edge of each valve to its pocket",
        "The same clay, cut through at the edge of the print.",
        accept=RADIAL_MM,
        reject=RADIAL_MM,
        source="Trade press .050 in.",
    ),
    _at_least(
        "room.coils",
        "Valve spring, left to coil bind at full lift",
        "Installed height less lift less solid height, on the spring tester or by feeler.",
        accept=COIL_BIND_MARGIN_MM,
        reject=1.27,
        source="Common practice, .050 to .060 in.",
    ),
    _at_least(
        "room.retainer",
        "Retainer to stem seal at full lift",
        "With a light spring, pressed down by the lift.",
        accept=RETAINER_TO_SEAL_MM,
        reject=1.27,
        source="Common practice, .050 to .060 in.",
    ),
    _at_most(
        "room.installed_height",
        "Spring installed height, off its figure (either way)",
        "Height gauge, every spring; write the worst.",
        accept=INSTALLED_HEIGHT_TOLERANCE_MM,
        reject=INSTALLED_HEIGHT_TOLERANCE_MM,
        source="Trade article on springs, .020 in.",
    ),
    _at_least(
        "room.hood",
        "Highest point to hood, cover or deck above",
        "Clay or putty on the highest points, close, open, measure; throttle linkage through its "
        "whole travel.",
        accept=HOOD_ROOM_MM,
        reject=HOOD_REJECT_MM,
        source="Common practice, no source.",
    ),
)
"""On every sheet, whatever is changed."""

LIFTER_CHECK = Check(
    key="room.lifter_preload",
    title="Hydraulic lifter preload",
    how="From zero lash to where the rocker is set, lifter on the base circle. Solid lifters: lash "
    "by the cam card instead.",
    unit=CheckUnit.MM,
    accept_from=PRELOAD_WINDOW_MM[0],
    accept_to=PRELOAD_WINDOW_MM[1],
    reject_below=PRELOAD_WINDOW_MM[0],
    reject_above=PRELOAD_WINDOW_MM[1],
    source="Trade press, June 2011: .020 to .060 in.",
)

_LADDER = OffsetLadder()
FACE_CHECKS = (
    _at_most(
        "face.heads",
        "Intake face of each head, out of flat",
        "Straight edge and feeler, along and corner to corner; write the worst.",
        accept=FACE_GOOD_MM,
        reject=FACE_REJECT_MM,
        source="Service pages, 0.10 to 0.30 mm; the lower limits.",
    ),
    _at_most(
        "face.manifold",
        "Faces of the manifold, out of flat",
        "The same.",
        accept=FACE_GOOD_MM,
        reject=FACE_REJECT_MM,
        source="The same.",
    ),
)
PORT_CHECK = _at_most(
    "fit.port_offset",
    "Ports of head and manifold, off each other along the face",
    "Dry fit with the gaskets that will be used; scribe and measure, every port; write the worst.",
    accept=PORT_MATCH_MM,
    reject=_LADDER.dry_fit_mm,
    source="Trade article .015 in; common practice .020 in.",
)
RAIL_CHECK = Check(
    key="fit.end_rail_gap",
    title="Gap at both end rails, four places",
    how="Feeler or clay on the dry fit, manifold held down by two bolts finger-tight.",
    unit=CheckUnit.MM,
    accept_from=THIN_GAP_MM,
    accept_to=WIDE_GAP_MM / 2.0,
    reject_below=0.01,
    reject_above=WIDE_GAP_MM,
    source="Common practice; labels speak of beads up to 1/4 in, twice the gap.",
)


def torque_check(joint: JointSheet) -> Check:
    """Return the check of the last torque of a joint; without a torque nothing is judged."""
    full = None if joint.torque is None else joint.torque.torque_nm
    low = None if full is None else full * (1.0 - TORQUE_WITHIN)
    high = None if full is None else full * (1.0 + TORQUE_WITHIN)
    return Check(
        key=f"torque.{joint.key}",
        title=f"Last torque of the {joint.name}",
        how="Read off the wrench when no bolt turned any more.",
        unit=CheckUnit.NM,
        accept_from=low,
        accept_to=high,
        reject_below=low,
        reject_above=high,
        source="5 % to either side: common practice, no source.",
    )
