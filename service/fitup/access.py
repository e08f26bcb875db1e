"""Whether a bolt's head, its washer and the socket that turns it find room at a boss.

A bolt may stand off the middle of its hole by half of the hole's play, to any side, so that
the room has to be wider than the head by the whole of it.
"""

from dataclasses import dataclass
from enum import StrEnum

CLEARANCE_HOLE_MM = {
    6.0: 6.6,
    8.0: 9.0,
    10.0: 11.0,
    12.0: 13.5,
    6.35: 7.14,
    7.9375: 8.73,
    9.525: 10.32,
}
"""Holes in a flange by thread diameter: ISO 273, medium (M12 from memory); inch sizes ASME
B18.2.8, normal (from memory) [mm]."""
WASHER_MM = {6.0: 12.0, 8.0: 16.0, 10.0: 20.0, 12.0: 24.0, 6.35: 15.9, 7.9375: 17.5, 9.525: 20.6}
"""Across a plain washer, by thread diameter: ISO 7089; inch sizes SAE; both from memory [mm]."""


class AccessFault(StrEnum):
    """What finds no room."""

    HEAD_FOULS = "head_fouls"
    WASHER_FOULS = "washer_fouls"
    SOCKET_FOULS = "socket_fouls"


@dataclass(frozen=True, slots=True, kw_only=True)
class Access:
    """What finds no room at a joint, and whether everything was recorded to tell."""

    faults: tuple[AccessFault, ...]
    known: bool


def bolt_access(
    diameter_mm: float,
    *,
    hole_mm: float,
    head_mm: float | None,
    socket_mm: float | None,
    has_washer: bool,
    head_room_mm: float | None,
    socket_room_mm: float | None,
) -> Access:
    """Return what finds no room; what is not recorded is no fault and has to be looked at."""
    washer_mm = WASHER_MM.get(round(diameter_mm, 4)) if has_washer else 0.0
    pairs = (
        (AccessFault.HEAD_FOULS, head_mm, head_room_mm),
        (AccessFault.WASHER_FOULS, washer_mm, head_room_mm),
        (AccessFault.SOCKET_FOULS, socket_mm, socket_room_mm),
    )
    return Access(
        faults=tuple(
            fault
            for fault, size, room in pairs
            if size and room is not None and size + hole_mm - diameter_mm > room
        ),
        known=None not in {size for _, *sizes in pairs for size in sizes},
    )
