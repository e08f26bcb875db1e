"""Parts lists over HTTP: taken from an assessment that is kept."""

from typing import Annotated

from fastapi import APIRouter, Path, Response

from service.bodies import ApiRoute
from service.conditional import ValidatorsDep
from service.database import ReadSessionDep
from service.kits.parts_list import PartsList
from service.kits.store import load_assessment
from service.partslists.schemas import list_of
from service.partslists.table import list_table
from service.problems import problem_responses
from service.quantities import ANSWER_KEY
from service.tabular import csv_lines

router = APIRouter(prefix="/v1/assessments", tags=["assessments"], route_class=ApiRoute)

CSV = "text/csv"

KeyPath = Annotated[str, Path(), ANSWER_KEY]


@router.get("/{key}/parts-list", responses=problem_responses(404, 422))
def read_parts_list(key: KeyPath, session: ReadSessionDep, validators: ValidatorsDep) -> PartsList:
    """Return everything that a kit takes to be bolted on, and what the shop does not list."""
    listed = list_of(load_assessment(session, key))
    validators.send(f'"{key}"')
    return listed


@router.get(
    "/{key}/parts-list.csv",
    response_class=Response,
    responses={
        200: {"description": "The list", "content": {CSV: {"schema": {"type": "string"}}}},
        **problem_responses(404, 422),
    },
)
def read_parts_list_csv(
    key: KeyPath, session: ReadSessionDep, validators: ValidatorsDep
) -> Response:
    """Return the same list for a spreadsheet: a row for each article, work or missing item."""
    listed = list_of(load_assessment(session, key))
    validators.send(f'"{key}-csv"')
    headers = {
        **validators.response.headers,
        "Content-Disposition": f'attachment; filename="parts-list-{key[:8]}.csv"',
    }
    content = b"".join(csv_lines(list_table(listed)))
    return Response(content, media_type=CSV, headers=headers)
