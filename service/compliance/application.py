"""The application a kit is judged for: engine, year, use and place."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from service.catalog.parts import Part
from service.catalog.slots import Fuel, Slot, UseClass
from service.compliance.documents import EmissionCertification, GrossWeightKg
from service.compliance.inspections import DeviceTests, Monitors
from service.quantities import EDGE_CONFIG, Flag, IsoDate, Key, Name, Year


@dataclass(frozen=True, slots=True, kw_only=True)
class Application:
    """What the law asks first. None means not known, and never helps."""

    __pydantic_config__ = EDGE_CONFIG

    family: Key
    model_year: Year
    """Of the vehicle, or of the engine in a vessel."""
    use: UseClass
    place: Key
    """Key of the jurisdiction profile."""
    competition_declared: Flag = False
    """Whether somebody says that it is for competition only; changes nothing for the better."""
    certified_for_road: Flag | None = None
    """Whether the vehicle was certified for the road when new."""
    engine_swapped: Flag | None = None
    """Whether the engine is from another vehicle, year or class."""
    specially_constructed: Flag | None = None
    """Whether the vehicle was built from parts or a kit."""
    engine_model_year: Year | None = None
    """Where it is known; another year than the vehicle's makes it another engine."""
    fuel: Fuel | None = None
    certification: EmissionCertification | None = None
    gross_weight_kg: GrossWeightKg | None = None
    vehicle_id: Name | None = None
    engine_serial: Name | None = None
    device_tests: DeviceTests = ()
    """Tests that somebody tells of."""
    changed_on: IsoDate | None = None
    """Day on which the parts were fitted; tests from before it do not count."""
    monitors_incomplete: Monitors = ()
    """Readiness monitors that the diagnostics told as incomplete."""
    altered_slots: tuple[Slot, ...] = ()
    """Slots whose part was cut on this engine, or may have been."""

    @property
    def for_competition(self) -> bool:
        """Whether competition is claimed, in either way."""
        return self.competition_declared or self.use is UseClass.COMPETITION

    @property
    def has_own_engine(self) -> bool:
        """Whether it is known that the engine is the vehicle's own."""
        of_its_year = self.engine_model_year in (None, self.model_year)
        return self.engine_swapped is False and of_its_year

    @property
    def unknowns(self) -> tuple[str, ...]:
        """What is not known and would have to be."""
        questions = (
            (self.certified_for_road, "whether the vehicle was certified for the road"),
            (self.engine_swapped, "whether the engine is the vehicle's own"),
            (self.specially_constructed, "whether the vehicle was built from parts"),
        )
        return tuple(question for answer, question in questions if answer is None)


ALTERED = "Machined on this engine, as told with the question."


def as_altered(parts: Iterable[Part], application: Application) -> tuple[Part, ...]:
    """Return the parts as they stand on this engine: one that was cut is not the one sold."""
    return tuple(
        _altered(part) if part.slot in application.altered_slots else part for part in parts
    )


def _altered(part: Part) -> Part:
    declared = part.exterior.internal_change
    if declared is not None:
        return part
    exterior = replace(part.exterior, internal_change=ALTERED)
    return replace(part, factory_part=False, replacement_claim=False, exterior=exterior)


def is_original(part: Part) -> bool:
    """Return whether it is recorded as the factory's own part with nothing changed inside."""
    return part.factory_part and part.exterior.internal_change is None


def changed_parts(parts: Iterable[Part]) -> tuple[Part, ...]:
    """Return the parts that are not the factory's own, or are so no longer."""
    return tuple(part for part in parts if not is_original(part))
