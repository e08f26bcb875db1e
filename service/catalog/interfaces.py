"""How parts meet: one side provides an interface, the other needs it.

Matching them is the work of `fitup`; the catalogue only records them.
"""

from dataclasses import dataclass
from enum import StrEnum

from service.quantities import EDGE_CONFIG, Flag, LengthMm, Name


class InterfaceKind(StrEnum):
    """What kind of joint it is."""

    HEAD_DECK = "head_deck"
    CAM_BEARING = "cam_bearing"
    INTAKE_FLANGE = "intake_flange"
    INTAKE_PORT = "intake_port"
    EXHAUST_FLANGE = "exhaust_flange"
    EXHAUST_PORT = "exhaust_port"
    COLLECTOR = "collector"
    THROTTLE_FLANGE = "throttle_flange"
    THROTTLE_DRIVE = "throttle_drive"
    AIR_DUCT = "air_duct"
    INJECTOR_SEAT = "injector_seat"
    INJECTOR_CONNECTOR = "injector_connector"
    FUEL_RAIL = "fuel_rail"
    EGR_PORT = "egr_port"
    VACUUM_PORT = "vacuum_port"
    SENSOR_BUNG = "sensor_bung"
    CONTROLLER = "controller"


@dataclass(frozen=True, slots=True, kw_only=True)
class Interface:
    """One joint, as one side sees it."""

    __pydantic_config__ = EDGE_CONFIG

    kind: InterfaceKind
    code: Name
    """Pattern, shape or connector by the shop's own name; both sides must say the same."""
    width_mm: LengthMm | None = None
    """Bore of a round opening, width of another. [mm]"""
    height_mm: LengthMm | None = None
    """Height of an opening that is not round. [mm]"""
    optional: Flag = False
    """A need that may stay open: reported, and no obstacle."""
