"""A kit on an engine: the family, one part in every slot, and the engine as it stands."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Annotated, TypeVar

from annotated_types import Ge, Gt, Le

from service.catalog.families import EngineFamily, changed_slots
from service.catalog.parts import Part
from service.catalog.slots import KIT_SLOTS, Fuel, Slot, UseClass
from service.catalog.specs import CalibrationSpec, CylinderHeadsSpec
from service.compliance.documents import EmissionCertification, GrossWeightKg
from service.compliance.inspections import DeviceTests, Monitors
from service.engine.corrections import CorrectionStandard
from service.fitup.machined import EngineAsMachined
from service.fitup.spans import Span
from service.fitup.stack import Chambers, bore_span_mm, ratio_span
from service.kits.wrong_questions import (
    CastingNotKnown,
    FuelNotServed,
    PatternNotKnown,
    SlotHoldsAnother,
    SlotIsEmpty,
    SlotIsNoPlace,
    YearOutsideFamily,
)
from service.quantities import (
    EDGE_CONFIG,
    STRICT,
    CompressionRatio,
    Flag,
    IsoDate,
    LengthMm,
    Name,
    SpeedRpm,
    Year,
)

Spec = TypeVar("Spec")


class Tier(StrEnum):
    """How the curve of a kit is found; more may be added."""

    SIMULATION = "simulation"
    SURFACE = "surface"


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineAsItStands:
    """What differs on this engine from the family; absent means as the family states."""

    __pydantic_config__ = EDGE_CONFIG

    bore_mm: LengthMm | None = None
    """As bored. [mm]"""
    stroke_mm: LengthMm | None = None
    compression_ratio: CompressionRatio | None = None
    """As measured; absent, it is worked out from the heads chosen and what was machined."""
    rev_limit_rpm: SpeedRpm | None = None
    """Highest speed that the owner means to use. [rev/min]"""
    fuel: Fuel | None = None
    octane_aki: Annotated[float, STRICT, Ge(60), Le(130)] | None = None
    """(R+M)/2 of the fuel that will be bought."""
    machined: EngineAsMachined | None = None
    """What was cut on it; null: nobody told, and nothing is allowed for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weather:
    """The air around the engine; by default the reference state of SAE J1349."""

    __pydantic_config__ = EDGE_CONFIG

    pressure_kpa: Annotated[float, STRICT, Ge(50), Le(110)] = 99.0
    """Absolute, water vapour included. [kPa]"""
    temperature_c: Annotated[float, STRICT, Ge(-40), Le(60)] = 25.0
    relative_humidity: Annotated[float, STRICT, Ge(0), Le(1)] = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class AssessmentRequest:
    """One question: this family, this engine, these parts, for this use in this place."""

    __pydantic_config__ = EDGE_CONFIG

    family: Name
    """Key of the engine family."""
    parts: dict[Slot, Name] = field(default_factory=dict)
    """SKU for each slot that changes; a slot not named keeps the factory part."""
    engine: EngineAsItStands = field(default_factory=EngineAsItStands)
    weather: Weather = field(default_factory=Weather)
    correction_standard: CorrectionStandard = CorrectionStandard.SAE_J1349
    use: UseClass
    place: Name
    """Key of the jurisdiction profile, such as `us-ca`."""
    model_year: Year
    """Of the vehicle, or of the engine in a vessel."""
    competition_declared: Flag = False
    """Whether the owner says that it is for competition only; changes no other block."""
    certified_for_road: Flag | None = None
    """Whether the vehicle was certified for the road when new; null: not known."""
    engine_swapped: Flag | None = None
    """Whether the engine is from another vehicle, year or class; null: not known."""
    specially_constructed: Flag | None = None
    """Whether the vehicle was built from parts or a kit; null: not known."""
    engine_model_year: Year | None = None
    """Where it is known; another year than the vehicle's makes it another engine."""
    emission_certification: EmissionCertification | None = None
    """What the underhood label says; null: not known."""
    gross_weight_kg: GrossWeightKg | None = None
    """Gross vehicle weight rating; null: not known. [kg]"""
    vehicle_id: Name | None = None
    """Identification of the vehicle or vessel, letter by letter as a paper for that one alone
    writes it; null: not told, and no such paper matches."""
    engine_serial: Name | None = None
    """Serial number of the engine, likewise."""
    device_tests: DeviceTests = ()
    """Devices that somebody tested on the vehicle; a device not named counts as not tested, and so
    does one that passed before the parts were fitted: before `changed_on`, or where that is not
    said, more than 30 days before the question."""
    changed_on: IsoDate | None = None
    """Day on which the last of the parts was fitted; null: not known."""
    monitors_incomplete: Monitors = ()
    """Readiness monitors that the diagnostics told as incomplete, by their short names."""
    band_share: Annotated[float, STRICT, Gt(0.5), Le(0.99)] = 0.9
    """Share of peak torque that bounds the band."""
    capacity_share: Annotated[float, STRICT, Gt(0.1), Le(0.9)] = 0.5
    """Share of the intake path's choked flow at which its air counts as running out."""
    include_prices: Flag = True
    tier: Tier = Tier.SIMULATION
    """`surface`: read the curve off the family's fitted surface, at once and with wider bounds;
    a kit outside its range is simulated all the same, and the answer says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """Everything an assessment rests on, looked up and complete."""

    family: EngineFamily
    parts: Mapping[Slot, Part]
    """One part in every slot that the family or the caller names."""
    chosen: tuple[Slot, ...]
    """Slots in which the caller asked for other than the factory part."""
    bore_mm: float
    stroke_mm: float
    compression_ratio: float
    """In the middle of its range."""
    compression_range: Span
    """Over both banks and everything that nobody measured."""
    rev_limit_rpm: float
    octane_aki: float | None
    request: AssessmentRequest

    def spec(self, kind: type[Spec]) -> Spec:
        """Return the spec of this kind; a complete kit holds one of each."""
        return _spec(self.parts, kind)


def kit_of(
    request: AssessmentRequest,
    family: EngineFamily,
    parts: Mapping[Slot, Part],
    stock_heads: Part | None,
) -> Kit:
    """Put a kit together from what was looked up, or say which field is wrong.

    `parts` holds the caller's parts and the factory's in all other slots; `stock_heads`
    are the family's, whose chamber the family's compression ratio belongs to; without them
    that ratio is taken as it stands.
    """
    _check(request, family, parts)
    calibration = _spec(parts, CalibrationSpec)
    if request.engine.fuel not in (None, calibration.fuel):
        raise FuelNotServed(request.engine.fuel, calibration.fuel)
    bore = bore_span_mm(family, request.engine.bore_mm, request.engine.machined)
    stroke = request.engine.stroke_mm or family.stroke_mm
    ratios = _ratios(request, family, parts, stock_heads, bore, stroke)
    return Kit(
        family=family,
        parts=parts,
        chosen=changed_slots(family, parts),
        bore_mm=bore.low,
        stroke_mm=stroke,
        compression_ratio=ratios.middle,
        compression_range=ratios,
        rev_limit_rpm=request.engine.rev_limit_rpm
        or min(family.rev_limit_rpm, calibration.rev_limit_rpm),
        octane_aki=request.engine.octane_aki,
        request=request,
    )


def _check(request: AssessmentRequest, family: EngineFamily, parts: Mapping[Slot, Part]) -> None:
    if not family.first_model_year <= request.model_year <= family.last_model_year:
        raise YearOutsideFamily(family)
    machined = request.engine.machined
    generation = machined.casting_generation if machined else None
    if generation and generation not in {casting.name for casting in family.castings}:
        raise CastingNotKnown(family, generation)
    patterns = {(one.place, one.pattern) for one in family.bolt_layouts}
    for place, stated in enumerate(machined.stated_torques if machined else ()):
        if stated.pattern is not None and (stated.joint, stated.pattern) not in patterns:
            raise PatternNotKnown(family, place, stated)
    for slot in parts:
        if slot not in KIT_SLOTS:
            raise SlotIsNoPlace(slot)
    for slot in KIT_SLOTS:
        if slot not in parts:
            raise SlotIsEmpty(slot)
        if parts[slot].slot is not slot:
            raise SlotHoldsAnother(slot, parts[slot])


def _ratios(
    request: AssessmentRequest,
    family: EngineFamily,
    parts: Mapping[Slot, Part],
    stock_heads: Part | None,
    bore: Span,
    stroke_mm: float,
) -> Span:
    """Return the ratio as measured, else what heads, gaskets, cuts and pistons make of it."""
    if request.engine.compression_ratio is not None:
        return Span.exactly(request.engine.compression_ratio)
    chosen = _spec(parts, CylinderHeadsSpec).chamber_cm3
    stock = chosen
    if stock_heads is not None and isinstance(stock_heads.spec, CylinderHeadsSpec):
        stock = stock_heads.spec.chamber_cm3
    chambers = Chambers(stock_cm3=stock, chosen_cm3=chosen)
    return ratio_span(family, chambers, bore, stroke_mm, request.engine.machined)


def _spec(parts: Mapping[Slot, Part], kind: type[Spec]) -> Spec:
    return next(part.spec for part in parts.values() if isinstance(part.spec, kind))
