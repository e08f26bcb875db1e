"""What a kit is bolted on with: specs of gaskets, fasteners and the like, and of work on parts."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Literal

from annotated_types import Ge, Gt, Le, MinLen

from service.catalog.interfaces import InterfaceKind
from service.catalog.slots import Fuel, Slot
from service.quantities import EDGE_CONFIG, STRICT, Flag, LengthMm, Name, PositiveCount

TemperatureC = Annotated[float, STRICT, Gt(0), Le(1500)]
"""What something bears for good. [degrees C]"""
SmallMm = Annotated[float, STRICT, Ge(0), Le(20)]
"""A thickness or an offset. [mm]"""
VolumeMl = Annotated[float, STRICT, Gt(0), Le(10_000)]


class JointPlace(StrEnum):
    """Which two parts are bolted together."""

    INTAKE_MANIFOLD = "intake_manifold"
    THROTTLE_BODY = "throttle_body"
    EXHAUST_MANIFOLD = "exhaust_manifold"
    CYLINDER_HEADS = "cylinder_heads"


class GasketStyle(StrEnum):
    """How an intake gasket is made."""

    CARRIER_WITH_LUGS = "carrier_with_lugs"
    CARRIER = "carrier"
    SHEET = "sheet"
    BEAD = "bead"
    """In a groove: `free_mm` is its section, `compressed_mm` the groove's depth; faces meet."""


class ThreadName(StrEnum):
    """Threads that the fit check knows the limits of; more may be added."""

    M6 = "M6 x 1"
    M8 = "M8 x 1.25"
    M10 = "M10 x 1.5"
    M12 = "M12 x 1.75"
    UNC_1_4 = "1/4-20"
    UNC_5_16 = "5/16-18"
    UNC_3_8 = "3/8-16"


class PropertyClass(StrEnum):
    """How strong a bolt is: ISO 898-1, SAE J429."""

    CLASS_8_8 = "8.8"
    CLASS_10_9 = "10.9"
    GRADE_2 = "grade 2"
    GRADE_5 = "grade 5"
    GRADE_8 = "grade 8"


class Locating(StrEnum):
    """What finds the place of a manifold on the heads before it is bolted."""

    SPIGOT = "spigot"
    DOWEL = "dowel"
    BOLTS = "bolts"


class Sealing(StrEnum):
    """What a sealant is."""

    SILICONE = "silicone"
    ANAEROBIC = "anaerobic"


class Lubrication(StrEnum):
    """What a lubricant leaves on a thread."""

    OIL = "oil"
    ANTI_SEIZE = "anti_seize"


@dataclass(frozen=True, slots=True, kw_only=True)
class GasketsSpec:
    """The gaskets of one joint, as a set for one engine."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.GASKETS] = Slot.GASKETS
    place: JointPlace
    pattern: Name
    """Flange that it is cut for, by the shop's own name."""
    style: GasketStyle
    free_mm: SmallMm
    compressed_mm: SmallMm
    slotted_mm: SmallMm = 0.0
    """Offset that its holes and beads take up, to either side. [mm]"""
    hottest_c: TemperatureC
    fuels: Annotated[tuple[Fuel, ...], MinLen(1)]
    bore_mm: LengthMm | None = None
    """Of the openings for cylinders; of head gaskets alone. [mm]"""
    lugs_may_go: Flag = False
    """Whether its maker allows the locating lugs to be cut off."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FastenersSpec:
    """One bolt."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.FASTENERS] = Slot.FASTENERS
    thread: ThreadName
    property_class: PropertyClass
    length_mm: LengthMm
    """Under the head. [mm]"""
    threaded_mm: LengthMm | None = None
    """Length of its thread; null: to the head. [mm]"""
    head_mm: LengthMm | None = None
    """Across what bears: its flange, or the head where it has none. [mm]"""
    socket_mm: LengthMm | None = None
    """Outside of the socket that turns it. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class WashersSpec:
    """One plain washer."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.WASHERS] = Slot.WASHERS
    thread: ThreadName
    """Of the bolt that goes through it."""
    thickness_mm: SmallMm
    outside_mm: LengthMm


@dataclass(frozen=True, slots=True, kw_only=True)
class SealantsSpec:
    """One cartridge."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.SEALANTS] = Slot.SEALANTS
    sealing: Sealing
    volume_ml: VolumeMl
    hottest_c: TemperatureC


@dataclass(frozen=True, slots=True, kw_only=True)
class LubricantsSpec:
    """One tin, enough for a kit."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.LUBRICANTS] = Slot.LUBRICANTS
    leaves: Lubrication


@dataclass(frozen=True, slots=True, kw_only=True)
class ORingsSpec:
    """Rings for one seat."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.O_RINGS] = Slot.O_RINGS
    seat: Name
    """Injector seat that they are for, by the shop's own name."""
    rings_for_each: PositiveCount
    """In the pack, for one injector."""
    fuels: Annotated[tuple[Fuel, ...], MinLen(1)]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlugsSpec:
    """A plug for a port that the engine does not use."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.PLUGS] = Slot.PLUGS
    kind: InterfaceKind
    code: Name


@dataclass(frozen=True, slots=True, kw_only=True)
class TappedHoles:
    """The holes of a layout, alike [mm]."""

    __pydantic_config__ = EDGE_CONFIG

    thread: ThreadName
    full_thread_mm: LengthMm
    """Depth to which the thread is complete. [mm]"""
    drilled_mm: LengthMm
    """Depth to which the drill's full width went. [mm]"""
    countersink_mm: SmallMm = 0.0
    depth_tolerance_mm: SmallMm = 0.5
    """Of both depths, to either side. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class AdaptersSpec:
    """A plate or piece between two joints: it needs the one and provides the other."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.ADAPTERS] = Slot.ADAPTERS
    thickness_mm: LengthMm
    holes: TappedHoles | None = None
    """That it offers to the part on it; null: not recorded, and no bolt is chosen for them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MachiningSpec:
    """Work of the shop on parts, at its price."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.MACHINING] = Slot.MACHINING
    finding: Name
    """Code of the fit finding that asks for it."""


SupplySpec = (
    GasketsSpec
    | FastenersSpec
    | WashersSpec
    | SealantsSpec
    | LubricantsSpec
    | ORingsSpec
    | PlugsSpec
    | AdaptersSpec
    | MachiningSpec
)
