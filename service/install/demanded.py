"""Which readings a sheet demands, with the values that pass and that do not.

Checks of room (valve to piston, coils, hood) are on every sheet: no figure of the catalogue takes
their place.
"""

from collections.abc import Iterable
from functools import partial

from service.catalog.families import EngineFamily
from service.catalog.slots import Slot
from service.fitup.clearances import (
    ALUMINIUM_ROD_EXTRA_MM,
    COIL_BIND_MARGIN_MM,
    INSTALLED_HEIGHT_TOLERANCE_MM,
    LIFTER_TURNS,
    PRELOAD_WINDOW_MM,
    RADIAL_MM,
    RETAINER_TO_SEAL_MM,
    adjuster_travel_mm,
)
from service.fitup.gaskets import (
    FACE_GOOD_MM,
    FACE_REJECT_MM,
    HEAD_DECK_OVERALL_MM,
    HEAD_DECK_PER_152_MM,
    PORT_MATCH_MM,
)
from service.fitup.lengths import both
from service.fitup.machining import ladder_of
from service.fitup.rail_seal import THIN_GAP_MM, WIDE_GAP_MM
from service.fitup.spans import Span
from service.fitup.valvetrain import (
    PISTON_TO_VALVE_EXHAUST_MM,
    PISTON_TO_VALVE_INTAKE_MM,
)
from service.fitup.vee import OffsetLadder
from service.install.checks import Check, CheckUnit
from service.install.joints import JointSheet
from service.install.work import INTAKE

TORQUE_WITHIN = 0.05
"""Of a torque, to either side, that a wrench in good order keeps (common practice) [-]."""
HOOD_ROOM_MM = 25.0
HOOD_REJECT_MM = 12.0
"""Between the highest point and the hood; the engine rocks (common practice, no source) [mm]."""
FLOOR_MM = 1.27
"""Of room between coils, and from retainer to seal (common practice, .050 in) [mm]."""
_AT_LEAST = partial(Check, unit=CheckUnit.MM, accept_to=None, reject_above=None)
_AT_MOST = partial(Check, unit=CheckUnit.MM, accept_from=None, reject_below=None)
_BANKS = ("right", "left")
_CORNERS = ("front right", "front left", "rear right", "rear left")


def demanded_checks(
    family: EngineFamily,
    changed: frozenset[Slot],
    joints: Iterable[JointSheet],
    *,
    rails: bool,
) -> tuple[Check, ...]:
    """Return the readings of a sheet in the order in which they are taken."""
    cylinders = tuple(f"cylinder {number}" for number in range(1, family.cylinders + 1))
    banks = _BANKS if family.bank_angle_deg > 0.0 else ()
    return (
        *((_deck(banks),) if Slot.CYLINDER_HEADS in changed else ()),
        *(_intake(cylinders, banks, ladder_of(family)) if INTAKE & changed else ()),
        *((RAIL_CHECK,) if rails else ()),
        *_room(cylinders),
        *_springs(cylinders),
        HOOD_CHECK,
        _lifters(cylinders),
        *map(torque_check, joints),
    )


def _deck(banks: tuple[str, ...]) -> Check:
    return _AT_MOST(
        key="face.deck",
        title="Lower face of each head, out of flat over its whole length",
        how="Straight edge and feeler, along, across and corner to corner; within any "
        f"{both(152.0)} no more than {both(HEAD_DECK_PER_152_MM)}.",
        accept_to=HEAD_DECK_OVERALL_MM,
        reject_above=HEAD_DECK_OVERALL_MM,
        source=f"Service pages; another prints {both(0.152)} overall: the lower counts.",
        places=banks,
    )


def _intake(
    cylinders: tuple[str, ...], banks: tuple[str, ...], ladder: OffsetLadder
) -> tuple[Check, ...]:
    flat = both(Span(0.10, 0.30))
    return (
        _AT_MOST(
            key="face.heads",
            title="Intake face of each head, out of flat",
            how="Straight edge and feeler, along and corner to corner; write the worst of each "
            "face.",
            accept_to=FACE_GOOD_MM,
            reject_above=FACE_REJECT_MM,
            source=f"Service pages, {flat}; the lower limits.",
            places=banks,
        ),
        _AT_MOST(
            key="face.manifold",
            title="Faces of the manifold, out of flat",
            how="The same.",
            accept_to=FACE_GOOD_MM,
            reject_above=FACE_REJECT_MM,
            source="The same.",
            places=banks,
        ),
        _AT_MOST(
            key="fit.port_offset",
            title="Ports of head and manifold, off each other along the face",
            how="Dry fit with the gaskets that will be used; scribe and measure every port.",
            accept_to=min(PORT_MATCH_MM, ladder.dry_fit_mm),
            reject_above=ladder.dry_fit_mm,
            source=f"Trade article {both(0.381)}; the shop's ladder, "
            f"{both(ladder.dry_fit_mm)}: common practice unless it was changed.",
            places=cylinders,
        ),
    )


RAIL_CHECK = Check(
    key="fit.end_rail_gap",
    title="Gap at both end rails",
    how="Feeler or clay on the dry fit, manifold held down by two bolts finger-tight.",
    unit=CheckUnit.MM,
    accept_from=THIN_GAP_MM,
    accept_to=WIDE_GAP_MM / 2.0,
    reject_below=0.01,
    reject_above=WIDE_GAP_MM,
    source=f"Common practice; labels speak of beads up to {both(6.35)}, twice the gap.",
    places=_CORNERS,
)
HOOD_CHECK = _AT_LEAST(
    key="room.hood",
    title="Highest point to hood, cover or deck above",
    how="Clay or putty on the highest points, close, open, measure; throttle linkage through its "
    "whole travel.",
    accept_from=HOOD_ROOM_MM,
    reject_below=HOOD_REJECT_MM,
    source="Common practice, no source.",
)


def _room(cylinders: tuple[str, ...]) -> tuple[Check, ...]:
    clay = "Clay on the piston or checking springs and a dial, turning by hand through two turns."
    rods = f"With aluminium rods {both(ALUMINIUM_ROD_EXTRA_MM)} more."
    return (
        _AT_LEAST(
            key="room.intake_valve",
            title="Piston to intake valve",
            how=f"{clay} {rods}",
            accept_from=PISTON_TO_VALVE_EXHAUST_MM,
            reject_below=PISTON_TO_VALVE_INTAKE_MM,
            source=f"Trade press {both(2.032)}; older practice {both(2.54)}.",
            places=cylinders,
        ),
        _AT_LEAST(
            key="room.exhaust_valve",
            title="Piston to exhaust valve",
            how=f"{clay} {rods}",
            accept_from=PISTON_TO_VALVE_EXHAUST_MM,
            reject_below=PISTON_TO_VALVE_EXHAUST_MM,
            source=f"Trade press {both(2.54)}.",
            places=cylinders,
        ),
        _AT_LEAST(
            key="room.valve_edge",
            title="Edge of each valve to its pocket",
            how="The same clay, cut through at the edge of the print; write the less of both "
            "valves.",
            accept_from=RADIAL_MM,
            reject_below=RADIAL_MM,
            source=f"Trade press {both(1.27)}.",
            places=cylinders,
        ),
    )


def _springs(cylinders: tuple[str, ...]) -> tuple[Check, ...]:
    practice = f"Common practice, {both(Span(1.27, 1.524))}."
    return (
        _AT_LEAST(
            key="room.coils",
            title="Valve spring, left to coil bind at full lift",
            how="Installed height less lift less solid height, on the spring tester or by feeler; "
            "write the least of each cylinder.",
            accept_from=COIL_BIND_MARGIN_MM,
            reject_below=FLOOR_MM,
            source=practice,
            places=cylinders,
        ),
        _AT_LEAST(
            key="room.retainer",
            title="Retainer to stem seal at full lift",
            how="With a light spring, pressed down by the lift; write the least of each cylinder.",
            accept_from=RETAINER_TO_SEAL_MM,
            reject_below=FLOOR_MM,
            source=practice,
            places=cylinders,
        ),
        _AT_MOST(
            key="room.installed_height",
            title="Spring installed height, off its figure (either way)",
            how="Height gauge, every spring; write the worst of each cylinder.",
            accept_to=INSTALLED_HEIGHT_TOLERANCE_MM,
            reject_above=INSTALLED_HEIGHT_TOLERANCE_MM,
            source=f"Trade article on springs, {both(0.508)}.",
            places=cylinders,
        ),
    )


def _lifters(cylinders: tuple[str, ...]) -> Check:
    return Check(
        key="room.lifter_preload",
        title="Hydraulic lifter preload",
        how="From zero lash to where the rocker is set, lifter on the base circle. Where rockers "
        f"adjust: {LIFTER_TURNS[0]:g} to {LIFTER_TURNS[1]:g} turn past it; a turn of a 3/8-24 nut "
        f"on a rocker of 1.5 is {both(adjuster_travel_mm(25.4 / 24.0, 1.5))}. Solid lifters: lash "
        "by the cam card instead.",
        unit=CheckUnit.MM,
        accept_from=PRELOAD_WINDOW_MM[0],
        accept_to=PRELOAD_WINDOW_MM[1],
        reject_below=PRELOAD_WINDOW_MM[0],
        reject_above=PRELOAD_WINDOW_MM[1],
        source=f"Trade press, June 2011: {both(Span(0.508, 1.524))}.",
        places=tuple(f"{one} {valve}" for one in cylinders for valve in ("intake", "exhaust")),
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
        places=tuple(
            f"{f'piece {piece} ' if joint.pieces > 1 else ''}bolt {number}"
            for piece in range(1, joint.pieces + 1)
            for number in range(1, len(joint.places) + 1)
        ),
    )
