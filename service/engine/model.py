"""What the physics is asked: one engine as numbers, SI throughout.

`EngineSpec` knows nothing of parts or catalogues; `kits` makes one from a kit. Ducts
stand in the spec with their length and areas although the filling-and-emptying tier
only uses their volume and surface: the wave-action tier solves along them.
"""

import math
from dataclasses import dataclass, field

from service.engine.cams import LobeShape


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowElement:
    """One restriction that all the air (or all the exhaust) passes.

    Attributes
    ----------
    name : str
        What a builder would call it.
    effective_area : float
        Discharge coefficient times geometric area. [m²]
    """

    name: str
    effective_area: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ValveTrain:
    """One kind of valve of a cylinder: how far it opens when, and what it then passes.

    Attributes
    ----------
    lifts : tuple of float
        Valve lifts of the flow bench, rising. [m]
    effective_areas : tuple of float
        Effective area of the port with its valve at those lifts, all valves of this
        kind of one cylinder together. [m²]
    lobe : LobeShape
        Tappet lift against crank angle.
    rocker_ratio : float
        Valve lift over tappet lift. [-]
    lash : float
        Clearance at the valve. [m]
    centreline : float
        Crank angle of the nose after gas-exchange top dead centre; negative before
        it, as for exhaust. [deg]
    valve_diameter : float
        Head diameter of one valve. [m]
    valve_count : int
        Valves of this kind in one cylinder.
    """

    lifts: tuple[float, ...]
    effective_areas: tuple[float, ...]
    lobe: LobeShape
    rocker_ratio: float
    lash: float
    centreline: float
    valve_diameter: float
    valve_count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Duct:
    """A pipe between the cylinder and a shared volume, port included.

    Attributes
    ----------
    length : float
        From the shared volume to the valve. [m]
    area_at_valve : float
        Cross-section at the valve's end. [m²]
    area_at_far_end : float
        Cross-section at the plenum's or collector's end. [m²]
    far_end_effective_area : float
        Effective area of that end as a restriction. [m²]
    wall_temperature : float
        Of the inner wall. [K]
    """

    length: float
    area_at_valve: float
    area_at_far_end: float
    far_end_effective_area: float
    wall_temperature: float

    @property
    def mean_diameter(self) -> float:
        """Of a round duct of the mean area, in m."""
        return math.sqrt(2.0 * (self.area_at_valve + self.area_at_far_end) / math.pi)

    @property
    def volume(self) -> float:
        """Of a duct that tapers evenly, in m³."""
        between = math.sqrt(self.area_at_valve * self.area_at_far_end)
        return self.length / 3.0 * (self.area_at_valve + self.area_at_far_end + between)


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumptions:
    """What no catalogue states and the model has to take from somewhere.

    Attributes
    ----------
    burn_duration : float
        Crank angle from 10 to 90 % burned. Middle of the usual 20-40 degrees (Heywood,
        *Internal Combustion Engine Fundamentals*, 1988, section 9.3; from memory). [deg]
    combustion_efficiency : float
        Share of the charge that burns: the rest hides in crevices and at walls. Middle of
        the 95-98 % of mixtures with air enough; what a rich one cannot burn for want of air,
        its equilibrium accounts for (Heywood, section 3.5.4; from memory). [-]
    cylinder_wall_temperature : float
        One mean for head, piston and liner (Heywood, chapter 12; from memory). [K]
    runner_wall_temperature : float
        Documented assumption: between coolant and ambient air. [K]
    primary_wall_temperature : float
        Documented assumption for a hot manifold at full load. [K]
    heat_transfer_multiplier : float
        On Woschni's coefficient; 1 is the correlation as published. [-]
    friction_multiplier : float
        On the friction correlation; 1 is the correlation as published. [-]
    flow_multiplier : float
        On the effective areas of both valves; 1 is the bench as read. [-]
    """

    burn_duration: float = 28.0
    combustion_efficiency: float = 0.965
    cylinder_wall_temperature: float = 450.0
    runner_wall_temperature: float = 340.0
    primary_wall_temperature: float = 750.0
    heat_transfer_multiplier: float = 1.0
    friction_multiplier: float = 1.0
    flow_multiplier: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineSpec:
    """One engine with everything it breathes through.

    Attributes
    ----------
    cylinders : int
        Evenly spaced in firing.
    bore, stroke, rod_length : float
        Of the crank train. [m]
    compression_ratio : float
        Geometric. [-]
    intake, exhaust : ValveTrain
        Of one cylinder.
    above_plenum, below_plenum : tuple of FlowElement
        Restrictions between the atmosphere and the plenum, and between the plenum and
        the runner mouths, in the order the air meets them.
    plenum_volume, gallery_volume : float
        Above and below the restrictions under the plenum; the gallery counts only
        where `below_plenum` is not empty. [m³]
    runner, primary : Duct
        Of one cylinder, port included.
    cylinders_per_collector : int
        How many primaries join; taken as evenly spaced.
    collector_volume : float
        Of one collector. [m³]
    system : tuple of FlowElement
        Restrictions of the whole exhaust after the collectors.
    fuel : str
        Name of a fuel in `service.engine.fuels`.
    air_fuel_ratio : float
        By mass, at full load. [-]
    burn_centre : float
        Crank angle after top dead centre by which half the charge has burned. [deg]
    main_bearings : int
        Of the crankshaft.
    roller_tappets : bool
        Whether rollers follow the cam.
    assumptions : Assumptions
        What no catalogue states.
    """

    cylinders: int
    bore: float
    stroke: float
    rod_length: float
    compression_ratio: float
    intake: ValveTrain
    exhaust: ValveTrain
    above_plenum: tuple[FlowElement, ...]
    below_plenum: tuple[FlowElement, ...]
    plenum_volume: float
    gallery_volume: float
    runner: Duct
    primary: Duct
    cylinders_per_collector: int
    collector_volume: float
    system: tuple[FlowElement, ...]
    fuel: str
    air_fuel_ratio: float
    burn_centre: float
    main_bearings: int
    roller_tappets: bool
    assumptions: Assumptions = field(default_factory=Assumptions)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ambient:
    """The air the engine breathes.

    Attributes
    ----------
    dry_pressure : float
        Absolute pressure less that of water vapour: the part that brings oxygen. [Pa]
    temperature : float
        [K]
    """

    dry_pressure: float
    temperature: float
