"""Comparisons over HTTP, and for the command."""

from typing import Annotated

from fastapi import APIRouter, Path, Response
from pydantic import TypeAdapter

from service.bodies import ApiRoute
from service.comparisons.comparison import compare
from service.comparisons.figures import Comparison
from service.comparisons.question import ComparisonRequest
from service.comparisons.store import add_comparison, find_comparison, load_comparison
from service.conditional import DIGEST_CHARACTERS, ValidatorsDep, content_etag
from service.database import ReadSessionDep
from service.engine.cycle import KERNEL_VERSION
from service.engine.uncertainty import BOUNDS_VERSION
from service.errors import InvalidInput, Unavailable
from service.kits.api import (
    MEDIA_TYPE,
    Answer,
    Assessor,
    AssessorDep,
    json_body,
    look_up_kit,
)
from service.kits.kit import AssessmentRequest, Kit
from service.problems import problem_responses
from service.quantities import ANSWER_KEY
from service.revision import load_catalog_revision

router = APIRouter(prefix="/v1/comparisons", tags=["comparisons"], route_class=ApiRoute)

_REQUEST = TypeAdapter(ComparisonRequest)
_COMPARISON = TypeAdapter(Comparison)


@router.post("", response_model=Comparison, responses=problem_responses(400, 413, 415, 422, 503))
def create_comparison(question: ComparisonRequest, assessor: AssessorDep) -> Response:
    """Say whether one kit is really better than another, and by how much, speed by speed.

    Both are simulated under the same errors, so that what they share cancels; the interval
    of the difference is narrower than the two curves' own bounds would make it.
    """
    answer = compared(assessor, question)
    headers = {"ETag": f'"{answer.key}"', "Content-Location": f"{router.prefix}/{answer.key}"}
    return Response(answer.body, media_type=MEDIA_TYPE, headers=headers)


@router.get("/{key}", response_model=Comparison, responses=problem_responses(404, 422))
def read_comparison(
    key: Annotated[str, Path(), ANSWER_KEY],
    session: ReadSessionDep,
    validators: ValidatorsDep,
) -> Response:
    """Return a comparison that was made before, as it was made."""
    validators.send(f'"{key}"')
    body = load_comparison(session, key)
    return Response(body, media_type=MEDIA_TYPE, headers={"ETag": f'"{key}"'})


def compared(assessor: Assessor, question: ComparisonRequest) -> Answer:
    """Return the answer that is kept, or work it out and keep it."""
    with assessor.database.reading() as session:
        revision = load_catalog_revision(session)
        key = _key(question, revision)
        body = find_comparison(session, key)
        if body is not None:
            return Answer(key=key, body=body)
        first, second = question.questions
        kits = _looked_up(session, "/a", first), _looked_up(session, "/b", second)
    if not assessor.is_compiled():
        raise Unavailable("The physics is being compiled; that takes some seconds once.")
    # No transaction is open while the engine runs: that would keep writers waiting.
    found = compare(kits, question, run=assessor.run, catalog_revision=revision)
    body = json_body(_COMPARISON.dump_python(found, mode="json"))
    with assessor.database.writing() as session:
        add_comparison(session, key, body)
    return Answer(key=key, body=body)


def _looked_up(session: ReadSessionDep, side: str, question: AssessmentRequest) -> Kit:
    """Return a kit, or name the wrong field by its place in the question."""
    try:
        return look_up_kit(session, question)
    except InvalidInput as error:
        raise error.below(side) from error


def _key(question: ComparisonRequest, revision: int) -> str:
    tag = content_etag(_REQUEST.dump_json(question), revision, KERNEL_VERSION, BOUNDS_VERSION)
    return tag[1 : 1 + DIGEST_CHARACTERS]
