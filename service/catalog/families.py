"""An engine family: what was built, in which years, with which parts."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated

from annotated_types import Ge, Gt, Le, MinLen

from service.catalog.appearance import FactoryTrait
from service.catalog.devices import DeviceFitting
from service.catalog.interfaces import Interface
from service.catalog.layouts import BoltLayout, CastingGeneration, PortOffsets
from service.catalog.parts import Part
from service.catalog.slots import Fuel, Slot, UseClass
from service.errors import Conflict, NotFound
from service.quantities import (
    EDGE_CONFIG,
    STRICT,
    CompressionRatio,
    Key,
    LengthMm,
    Name,
    SpeedRpm,
    Text,
    Year,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FactoryClearance:
    """What stood between piston and head when the engine was new, beside the head's chamber."""

    __pydantic_config__ = EDGE_CONFIG

    head_gasket_mm: Annotated[float, STRICT, Gt(0), Le(5)]
    """Compressed. [mm]"""
    head_gasket_bore_mm: LengthMm
    deck_clearance_mm: Annotated[float, STRICT, Ge(-3), Le(10)]
    """From the deck down to the piston; negative when it stands proud. [mm]"""
    piston_cm3: Annotated[float, STRICT, Ge(-200), Le(200)]
    """Of the dish; a dome is negative. [cm³]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineFamily:
    """One line of engines that share a block."""

    __pydantic_config__ = EDGE_CONFIG

    key: Key
    """Short name in addresses, such as `quay-7-6`."""
    title: Name
    fuel: Fuel
    cylinders: Annotated[int, STRICT, Ge(1), Le(16)]
    bank_angle_deg: Annotated[float, STRICT, Ge(0), Le(180)]
    """Between the banks; 0 for an inline engine. [deg]"""
    bore_mm: LengthMm
    stroke_mm: LengthMm
    rod_length_mm: LengthMm
    """Between centres. [mm]"""
    compression_ratio: CompressionRatio
    clearance: FactoryClearance | None = None
    """What makes that ratio; null: not recorded, and cuts and gaskets are worked out as ranges."""
    bolt_layouts: tuple[BoltLayout, ...] = ()
    """How its joints are bolted, a line for each pattern of a joint."""
    port_offsets: PortOffsets = field(default_factory=PortOffsets)
    """What the shop lets pass at the intake of this family."""
    castings: tuple[CastingGeneration, ...] = ()
    """Generations of its heads' castings."""
    intake_valves_per_cylinder: Annotated[int, STRICT, Ge(1), Le(3)]
    exhaust_valves_per_cylinder: Annotated[int, STRICT, Ge(1), Le(3)]
    intake_face_angle_deg: Annotated[float, STRICT, Ge(-45), Le(60)]
    """Of the head's intake face from the perpendicular to the deck. [deg]"""
    deck_height_mm: LengthMm
    """Crank axis to deck. [mm]"""
    rev_limit_rpm: SpeedRpm
    """What the bottom end is good for. [rev/min]"""
    first_model_year: Year
    last_model_year: Year
    use_classes: Annotated[tuple[UseClass, ...], MinLen(1)]
    required_slots: Annotated[tuple[Slot, ...], MinLen(1)]
    stock_parts: dict[Slot, Name]
    """SKU of the factory part of every slot."""
    provides: tuple[Interface, ...] = ()
    """What the block and the vehicle's own systems offer to parts."""
    needs: tuple[Interface, ...] = ()
    """What the block and the vehicle's own systems want to be connected to."""
    factory_exterior: tuple[FactoryTrait, ...] = ()
    """What the outside looked like when new, trait by trait; not named: not described."""
    devices_fitted: tuple[DeviceFitting, ...] = ()
    exterior_description: Text = ""
    """How the engine looks as the factory left it."""


class FamilyNotFound(NotFound):
    """No family has this key."""

    def __init__(self, key: str) -> None:
        super().__init__(f"No engine family has the key {key!r}.")


class FamilyKeyTaken(Conflict):
    """Another family already has this key."""

    def __init__(self, key: str) -> None:
        super().__init__(f"An engine family with the key {key!r} is in the catalogue already.")


def changed_slots(family: EngineFamily, parts: Mapping[Slot, Part]) -> tuple[Slot, ...]:
    """Return the slots that hold another part than the factory's."""
    return tuple(slot for slot in parts if family.stock_parts.get(slot) != parts[slot].sku)
