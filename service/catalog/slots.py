"""The places of an airflow kit."""

from enum import StrEnum


class Slot(StrEnum):
    """Where on the engine a part goes."""

    AIR_INLET = "air_inlet"
    THROTTLE_BODY = "throttle_body"
    INTAKE_MANIFOLD = "intake_manifold"
    CYLINDER_HEADS = "cylinder_heads"
    CAMSHAFT = "camshaft"
    EXHAUST_MANIFOLD = "exhaust_manifold"
    EXHAUST_SYSTEM = "exhaust_system"
    INJECTORS = "injectors"
    CALIBRATION = "calibration"


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
