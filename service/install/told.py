"""What a builder tells of one bolted joint; null is not known, and nothing is made up for it."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from annotated_types import Ge, Gt, Le, MaxLen

from service.catalog.slots import Slot
from service.catalog.supplies import PropertyClass, ThreadName
from service.fitup.stated_torques import PrintedTorque
from service.fitup.torque import FrictionState
from service.quantities import EDGE_CONFIG, STRICT, Name


class TappedInto(StrEnum):
    """What the holes are tapped into."""

    ALUMINIUM_319 = "319-F aluminium"
    ALUMINIUM_356 = "356-T6 aluminium"
    IRON_G2500 = "grey iron G2500"
    IRON_G3000 = "grey iron G3000"


DepthMm = Annotated[float, STRICT, Gt(0), Le(200)]
PlaceMm = Annotated[float, STRICT, Ge(-2000), Le(2000)]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltAt:
    """Where one bolt stands, seen from above."""

    __pydantic_config__ = EDGE_CONFIG

    along_mm: PlaceMm
    """Along the crank, from any point, growing toward the rear. [mm]"""
    across_mm: PlaceMm
    """Across it; the right bank is positive. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class TappedHole:
    """The shallowest hole of the joint, as measured."""

    __pydantic_config__ = EDGE_CONFIG

    full_thread_mm: DepthMm
    """Depth to which the thread is complete. [mm]"""
    drilled_mm: DepthMm
    """Depth to which the drill's full width went. [mm]"""
    countersink_mm: Annotated[float, STRICT, Ge(0), Le(20)] = 0.0
    damaged_pitches: Annotated[float, STRICT, Ge(0), Le(20)] = 0.0
    """Turns at the mouth that no longer hold."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltedJoint:
    """One joint; what is null is not known, and nothing is made up for it."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Slot
    """The part that is bolted on."""
    pattern: Name | None = None
    """Flange by the shop's own name, where the part has several; null: the part's only one."""
    thread: ThreadName
    grade: PropertyClass
    """Strength of the bolts, as marked on their heads."""
    tapped_into: TappedInto
    friction: FrictionState
    """Of thread and head when the wrench turns."""
    bolt_length_mm: DepthMm | None = None
    grip_mm: DepthMm | None = None
    """Flange, compressed gasket and washer together. [mm]"""
    tolerance_mm: Annotated[float, STRICT, Ge(0), Le(5)] = 0.5
    """Of length and grip, to either side. [mm]"""
    hole: TappedHole | None = None
    places: Annotated[tuple[BoltAt, ...], MaxLen(60)] = ()
    """Empty: the layout is not known."""
    stated_torque: PrintedTorque | None = None
    """What the maker of the part prints."""
