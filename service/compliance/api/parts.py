"""The four blocks of one part over HTTP, as of a kit that changes nothing else."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Depends, Query
from pydantic import TypeAdapter

from service.bodies import ApiRoute, refuse_unknown_parameters
from service.catalog.api.parts import VehicleDep
from service.catalog.parts import Sku
from service.catalog.slots import Fuel, UseClass
from service.catalog.store.families import load_family
from service.catalog.store.parts import load_part
from service.compliance.application import Application
from service.compliance.documents import EmissionCertification
from service.compliance.profiles.store import load_profiles
from service.compliance.report import (
    ComplianceReport,
    PlaceStreetUse,
    compliance_report,
    street_use_by_place,
)
from service.compliance.store import find_documents_about
from service.conditional import ValidatorsDep, content_etag
from service.database import ReadSessionDep
from service.problems import problem_responses
from service.quantities import Key, Name

router = APIRouter(prefix="/v1/parts", tags=["compliance"], route_class=ApiRoute)

_REPORT = TypeAdapter(ComplianceReport)


@dataclass(frozen=True, slots=True, kw_only=True)
class PartBlocks:
    """Four blocks about one part, never merged, and the flag in every place."""

    sku: str
    blocks: ComplianceReport
    street_use_by_place: tuple[PlaceStreetUse, ...]


def read_asked_application(
    vehicle: VehicleDep,
    family: Annotated[Key, Query(description="Engine family that it would be fitted to.")],
    use: Annotated[UseClass, Query(description="Use of the vehicle or vessel.")],
    place: Annotated[Key, Query(description="Jurisdiction profile.")],
    model_year: Annotated[
        int, Query(ge=1886, le=2100, description="Of the vehicle, or of a vessel's engine.")
    ],
    engine_model_year: Annotated[
        int | None,
        Query(ge=1886, le=2100, description="Where it is another than the vehicle's."),
    ] = None,
    fuel: Annotated[Fuel | None, Query(description="Unsaid: not known.")] = None,
    emission_certification: Annotated[
        EmissionCertification | None, Query(description="As the label says; unsaid: not known.")
    ] = None,
    gross_weight_kg: Annotated[
        int | None,
        Query(ge=1, le=100_000, description="Gross vehicle weight rating; unsaid: not known."),
    ] = None,
    vehicle_id: Annotated[Name | None, Query(description="As a paper writes it.")] = None,
    engine_serial: Annotated[Name | None, Query(description="As a paper writes it.")] = None,
) -> Application:
    """Read the application that a part is held against."""
    return Application(
        family=family,
        use=use,
        place=place,
        model_year=model_year,
        certified_for_road=vehicle.certified_for_road,
        engine_swapped=vehicle.engine_swapped,
        specially_constructed=vehicle.specially_constructed,
        engine_model_year=engine_model_year,
        fuel=fuel,
        certification=emission_certification,
        gross_weight_kg=gross_weight_kg,
        vehicle_id=vehicle_id,
        engine_serial=engine_serial,
    )


@router.get(
    "/{sku}/blocks",
    responses=problem_responses(404, 422),
    dependencies=[Depends(refuse_unknown_parameters)],
)
def read_part_blocks(
    sku: Sku,
    session: ReadSessionDep,
    application: Annotated[Application, Depends(read_asked_application)],
    validators: ValidatorsDep,
) -> PartBlocks:
    """Return appearance, devices, papers and the note of one part alone, for one application."""
    part = load_part(session, sku).value
    family = load_family(session, application.family).value
    today = datetime.now(UTC).date()
    documents = find_documents_about(session, {part.maker_reference})
    about = (part,), family, documents, application, load_profiles(today), today
    report = compliance_report(*about)
    validators.send(content_etag(sku, _REPORT.dump_json(report)))
    return PartBlocks(sku=sku, blocks=report, street_use_by_place=street_use_by_place(*about))
