"""The places of an airflow kit."""

from enum import StrEnum


class Slot(StrEnum):
    """Where on the engine a part goes, or what it is bolted on with."""

    AIR_INLET = "air_inlet"
    THROTTLE_BODY = "throttle_body"
    INTAKE_MANIFOLD = "intake_manifold"
    CYLINDER_HEADS = "cylinder_heads"
    CAMSHAFT = "camshaft"
    EXHAUST_MANIFOLD = "exhaust_manifold"
    EXHAUST_SYSTEM = "exhaust_system"
    INJECTORS = "injectors"
    CALIBRATION = "calibration"
    GASKETS = "gaskets"
    FASTENERS = "fasteners"
    WASHERS = "washers"
    SEALANTS = "sealants"
    LUBRICANTS = "lubricants"
    O_RINGS = "o_rings"
    PLUGS = "plugs"
    ADAPTERS = "adapters"
    MACHINING = "machining"


SUPPLY_SLOTS = (
    Slot.GASKETS,
    Slot.FASTENERS,
    Slot.WASHERS,
    Slot.SEALANTS,
    Slot.LUBRICANTS,
    Slot.O_RINGS,
    Slot.PLUGS,
    Slot.ADAPTERS,
    Slot.MACHINING,
)
"""What a kit is bolted on with: any number of each, chosen by the service for the kit."""
KIT_SLOTS = tuple(slot for slot in Slot if slot not in SUPPLY_SLOTS)
"""The places of a kit: one part in each."""


class Fuel(StrEnum):
    """What the engine burns."""

    GASOLINE = "gasoline"
    ETHANOL_85 = "ethanol_85"
    PROPANE = "propane"
    METHANE = "methane"


class UseClass(StrEnum):
    """What the vehicle or vessel is for; the law asks this first."""

    ROAD = "road"
    MARINE = "marine"
    NONROAD = "nonroad"
    COMPETITION = "competition"
