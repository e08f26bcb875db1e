"""Paper trails over HTTP: drawn from an assessment that is kept."""

from typing import Annotated

from fastapi import APIRouter, Path, Response

from service.bodies import ApiRoute
from service.catalog.store.lists import find_families
from service.conditional import ValidatorsDep
from service.database import ReadSessionDep
from service.kits.store import load_assessment
from service.papertrails.pdf import paper_trail_pdf
from service.papertrails.schemas import blocks_of
from service.papertrails.trail import PaperTrail, paper_trail
from service.problems import problem_responses
from service.quantities import ANSWER_KEY

router = APIRouter(prefix="/v1/assessments", tags=["compliance"], route_class=ApiRoute)

PDF = "application/pdf"


KeyPath = Annotated[str, Path(), ANSWER_KEY]


@router.get("/{key}/paper-trail", responses=problem_responses(404, 422))
def read_paper_trail(
    key: KeyPath, session: ReadSessionDep, validators: ValidatorsDep
) -> PaperTrail:
    """Return one page about one kit: what is documented, what is missing, who decides."""
    trail = _trail(session, key)
    validators.send(f'"{key}"')
    return trail


@router.get(
    "/{key}/paper-trail.pdf",
    response_class=Response,
    responses={
        200: {
            "description": "The page",
            "content": {PDF: {"schema": {"type": "string", "format": "binary"}}},
        },
        **problem_responses(404, 422),
    },
)
def read_paper_trail_pdf(
    key: KeyPath, session: ReadSessionDep, validators: ValidatorsDep
) -> Response:
    """Return the same page as a PDF."""
    trail = _trail(session, key)
    validators.send(f'"{key}-pdf"')
    headers = {
        **validators.response.headers,
        "Content-Disposition": f'inline; filename="paper-trail-{key[:8]}.pdf"',
    }
    return Response(paper_trail_pdf(trail), media_type=PDF, headers=headers)


def _trail(session: ReadSessionDep, key: str) -> PaperTrail:
    return trail_of(session, key, load_assessment(session, key))


def trail_of(session: ReadSessionDep, key: str, body: bytes) -> PaperTrail:
    """Return the page of an answer; a family is called as it is called now."""
    titles = {stored.value.key: stored.value.title for stored in find_families(session)}
    return paper_trail(blocks_of(key, body, lambda family: titles.get(family, family)))
