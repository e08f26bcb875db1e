"""Parts over HTTP."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request, Response
from pydantic import TypeAdapter

from service.bodies import ApiRoute, MergePatchBody, patched, refuse_unknown_parameters
from service.catalog.flags import AskedApplication, AskedVehicle, StreetLegalFlag, StreetUse
from service.catalog.parts import Part, PartStatus, Sku, superseded, withdrawn
from service.catalog.schemas import (
    PartIn,
    PartOut,
    Successor,
    part_in,
    part_of,
    part_out,
)
from service.catalog.search import PartFilter, PartSort
from service.catalog.slots import Slot, UseClass
from service.catalog.store.lists import find_parts
from service.catalog.store.parts import add_part, load_part, save_part
from service.conditional import ExpectedVersionDep, ValidatorsDep, version_etag
from service.database import ReadSessionDep, SessionDep
from service.money import PriceText, cents
from service.paging import Page, PagingDep
from service.problems import problem_responses
from service.quantities import Currency, Key
from service.stored import Stored

router = APIRouter(prefix="/v1/parts", tags=["catalogue"], route_class=ApiRoute)

_PART_IN = TypeAdapter(PartIn)

PartFlagger = Callable[[SessionDep, Sequence[Part], AskedApplication], Sequence[StreetUse]]
"""Says of each part what the file holds for an application."""


def read_vehicle(
    certified_for_road: Annotated[
        bool | None,
        Query(description="Whether the vehicle was certified for the road; unsaid: not known."),
    ] = None,
    engine_swapped: Annotated[
        bool | None,
        Query(
            description="Whether the engine is another vehicle's, year's or class's; unsaid: "
            "not known."
        ),
    ] = None,
    specially_constructed: Annotated[
        bool | None,
        Query(description="Whether the vehicle was built from parts; unsaid: not known."),
    ] = None,
) -> AskedVehicle:
    """Read what is known of the vehicle."""
    return AskedVehicle(
        certified_for_road=certified_for_road,
        engine_swapped=engine_swapped,
        specially_constructed=specially_constructed,
    )


VehicleDep = Annotated[AskedVehicle, Depends(read_vehicle)]


def read_application(
    vehicle: VehicleDep,
    use: Annotated[UseClass | None, Query(description="Use that the flag is about.")] = None,
    place: Annotated[
        Key | None, Query(description="Jurisdiction profile that the flag is about.")
    ] = None,
    model_year: Annotated[
        int | None, Query(ge=1886, le=2100, description="Year that the flag is about.")
    ] = None,
    family: Annotated[
        Key | None,
        Query(description="Engine family that the flag is about; a list shows its parts."),
    ] = None,
) -> AskedApplication:
    """Read which application the flag of a part is asked for."""
    return AskedApplication(
        use=use,
        place=place,
        model_year=model_year,
        family=family,
        certified_for_road=vehicle.certified_for_road,
        engine_swapped=vehicle.engine_swapped,
        specially_constructed=vehicle.specially_constructed,
    )


ApplicationDep = Annotated[AskedApplication, Depends(read_application)]


@dataclass(frozen=True, slots=True)
class PartAnswers:
    """Puts beside each part what the file says of it."""

    flag_parts: PartFlagger

    def all(
        self, session: SessionDep, found: Sequence[Stored[Part]], asked: AskedApplication
    ) -> list[PartOut]:
        """Return the parts of a list."""
        flags = self.flag_parts(session, [stored.value for stored in found], asked)
        return [part_out(*pair) for pair in zip(found, flags, strict=True)]

    def one(
        self, session: SessionDep, stored: Stored[Part], asked: AskedApplication
    ) -> tuple[PartOut, str]:
        """Return one part and its tag, which follows the flag too."""
        (part,) = self.all(session, [stored], asked)
        computed = part.street_legal_flag, part.street_use_sentence, part.street_use_decided_by
        return part, version_etag(stored.version, *computed)


def read_part_answers(request: Request) -> PartAnswers:
    """Take the flagger that the application was put together with."""
    return PartAnswers(request.app.state.part_flagger)


PartAnswersDep = Annotated[PartAnswers, Depends(read_part_answers)]


def read_part_filter(
    asked: ApplicationDep,
    slot: Annotated[Slot | None, Query(description="Goes there.")] = None,
    status: Annotated[PartStatus | None, Query(description="Is at this point of its life.")] = None,
    in_stock: Annotated[
        bool | None, Query(description="At least one, or none, on the shelf.")
    ] = None,
    max_price: Annotated[
        PriceText | None, Query(description="Costs at most this, in `currency`.")
    ] = None,
    currency: Annotated[Currency, Query(description="Of `max_price`.")] = "USD",
    q: Annotated[
        str,
        Query(
            max_length=100,
            pattern=r"^[^\x00-\x1f\x7f]*$",
            description="Words that stand in the SKU, the title or the maker's reference.",
        ),
    ] = "",
) -> PartFilter:
    """Read which parts a list is to show."""
    return PartFilter(
        slot=slot,
        family=asked.family,
        status=status,
        in_stock=in_stock,
        max_price_cents=None if max_price is None else cents(max_price),
        currency=currency,
        words=q,
    )


PartFilterDep = Annotated[PartFilter, Depends(read_part_filter)]


@router.post("", status_code=201, responses=problem_responses(409, 415, 422))
def create_part(
    body: PartIn, session: SessionDep, answers: PartAnswersDep, response: Response
) -> PartOut:
    """Take a new part in; the families that it lists have to be there."""
    stored = add_part(session, part_of(body))
    answer, etag = answers.one(session, stored, AskedApplication())
    response.headers["Location"] = f"{router.prefix}/{body.sku}"
    response.headers["ETag"] = etag
    return answer


@router.get("/{sku}", responses=problem_responses(404, 422))
def read_part(
    sku: Sku,
    session: ReadSessionDep,
    asked: ApplicationDep,
    answers: PartAnswersDep,
    validators: ValidatorsDep,
) -> PartOut:
    """Return one part; with use, place, model year and family its flag is about these."""
    answer, etag = answers.one(session, load_part(session, sku), asked)
    validators.send(etag)
    return answer


@router.get(
    "",
    responses=problem_responses(400, 404, 422),
    dependencies=[Depends(refuse_unknown_parameters)],
)
def list_parts(
    session: ReadSessionDep,
    paging: PagingDep,
    wanted: PartFilterDep,
    asked: ApplicationDep,
    answers: PartAnswersDep,
    sort: Annotated[
        PartSort,
        Query(description="Ties go by SKU; the flag goes from documented to not for street use."),
    ] = PartSort.SKU,
    street_legal_flag: Annotated[
        StreetLegalFlag | None,
        Query(description="Has this flag for the application that is asked about."),
    ] = None,
) -> Page[PartOut]:
    """Return the parts that pass every filter given; the flag is computed, not kept."""
    after = (paging.after[0], str(paging.after[1])) if paging.after else None
    if street_legal_flag is None and sort.order is not None:
        found = find_parts(session, wanted, order=sort.order, after=after, limit=paging.fetch_count)
        shown = answers.all(session, found, asked)
    else:
        every = answers.all(session, find_parts(session, wanted), asked)
        flagged = [one for one in every if street_legal_flag in (None, one.street_legal_flag)]
        flagged.sort(key=lambda item: _place(item, sort))
        left = [one for one in flagged if after is None or _place(one, sort) > after]
        shown = left[: paging.fetch_count]
    return paging.page(shown, lambda item: _place(item, sort))


def _place(item: PartOut, order: PartSort) -> tuple[str | int, str]:
    """Return where a part stands in a list."""
    return order.key(part_of(item), item.street_legal_flag), item.sku


@router.patch("/{sku}", responses=problem_responses(404, 412, 415, 422, 428))
def update_part(
    sku: Sku,
    body: MergePatchBody,
    session: SessionDep,
    expected: ExpectedVersionDep,
    answers: PartAnswersDep,
    response: Response,
) -> PartOut:
    """Change some fields of a part; the SKU stays."""
    current = load_part(session, sku)
    version = expected.require(current.version)
    part = part_of(patched(_PART_IN, part_in(current.value), body, key="sku"))
    return _saved(session, part, version, answers, response)


@router.post("/{sku}/withdraw", responses=problem_responses(404, 412, 422, 428))
def withdraw_part(
    sku: Sku,
    session: SessionDep,
    expected: ExpectedVersionDep,
    answers: PartAnswersDep,
    response: Response,
) -> PartOut:
    """Offer a part no longer; it stays readable for what was built with it."""
    current = load_part(session, sku)
    version = expected.require(current.version)
    return _saved(session, withdrawn(current.value), version, answers, response)


@router.post("/{sku}/supersede", responses=problem_responses(404, 412, 415, 422, 428))
def supersede_part(
    sku: Sku,
    body: Successor,
    session: SessionDep,
    expected: ExpectedVersionDep,
    answers: PartAnswersDep,
    response: Response,
) -> PartOut:
    """Let another part take the place of this one."""
    current = load_part(session, sku)
    version = expected.require(current.version)
    return _saved(session, superseded(current.value, body.by), version, answers, response)


def _saved(
    session: SessionDep, part: Part, version: int, answers: PartAnswers, response: Response
) -> PartOut:
    stored = save_part(session, part, version=version)
    answer, response.headers["ETag"] = answers.one(session, stored, AskedApplication())
    return answer
