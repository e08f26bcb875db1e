"""Assessments over HTTP, and for whoever else stands at the edge."""

import hashlib
import json
from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from functools import lru_cache
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Request, Response
from fastapi.concurrency import run_in_threadpool
from pydantic import TypeAdapter

from service.bodies import ApiRoute
from service.catalog.families import EngineFamily, FamilyNotFound
from service.catalog.parts import Part, PartNotFound
from service.catalog.slots import Slot
from service.catalog.store.families import load_family
from service.catalog.store.parts import load_part
from service.catalog.store.shelves import Shelf, Shelves
from service.compliance.inspections import days_to_come
from service.compliance.jurisdictions import Profile
from service.compliance.profiles.store import load_profiles
from service.compliance.store import find_documents_about
from service.conditional import DIGEST_CHARACTERS, ValidatorsDep, content_etag
from service.database import Database, ReadSessionDep
from service.engine.curve import PointRunner
from service.engine.cycle import KERNEL_VERSION
from service.engine.uncertainty import BOUNDS_VERSION
from service.errors import FieldProblem, InvalidInput, Unavailable
from service.kits.assessment import Assessment, Surroundings, assess
from service.kits.figures import told
from service.kits.fitted import FittedSurface
from service.kits.kit import AssessmentRequest, Kit, Tier, kit_of
from service.kits.store import add_assessment, find_assessment, load_assessment
from service.kits.wrong_questions import DayToCome
from service.problems import problem_responses
from service.quantities import ANSWER_KEY
from service.revision import REVISION_NUMBER, load_catalog_revision

MEDIA_TYPE = "application/json"
MOST_RECENT = 512
"""Answers that one process holds in memory, at some 30 kB each."""

router = APIRouter(prefix="/v1/assessments", tags=["assessments"], route_class=ApiRoute)

_REQUEST = TypeAdapter(AssessmentRequest)
_ASSESSMENT = TypeAdapter(Assessment)
_PROFILES = TypeAdapter(dict[str, Profile])


SurfaceFinder = Callable[[ReadSessionDep, str], FittedSurface | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """An answer as bytes, and the key under which it is kept."""

    key: str
    body: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Outstanding:
    """A question that nobody has answered yet, with everything that an answer needs."""

    key: str
    kit: Kit
    around: Surroundings


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessor:
    """Answers questions: from what is kept, or by working it out and keeping it."""

    database: Database
    run: PointRunner
    """Runs simulated points, in this process or elsewhere."""
    is_compiled: Callable[[], bool] = lambda: True
    """Whether a point can be simulated without waiting for the compiler."""
    surface_of: SurfaceFinder = lambda _session, _family: None
    """Finds the fitted surface of a family."""
    note_misfit: Callable[[str], object] = lambda _family: None
    """Told of a family whose surface could not be used for a kit."""
    recent: OrderedDict[str, bytes] = field(default_factory=OrderedDict, repr=False)
    """Answers of this process by key, oldest first; a key holds the catalogue's revision."""
    shelves: Shelves = field(default_factory=Shelves, repr=False)

    def answer(self, question: AssessmentRequest) -> Answer:
        """Return the answer; the same question on the same catalogue is worked out once a day."""
        found = self.look_up(question)
        if isinstance(found, Answer):
            return found
        if not self.is_compiled():
            raise Unavailable("The physics is being compiled; that takes some seconds once.")
        # No transaction is open while the engine runs: that would keep writers waiting.
        return self.keep(found.key, assess(found.kit, found.around, run=self.run))

    def look_up(self, question: AssessmentRequest) -> Answer | Outstanding:
        """Return the answer that is kept, or what has to be known to work it out."""
        recalled = self.recall(question)
        if recalled is not None:
            return recalled
        today = datetime.now(UTC).date()
        with self.database.reading() as session:
            revision = load_catalog_revision(session)
            key = _key(question, revision, today)
            body = find_assessment(session, key)
            if body is not None:
                return self._kept(key, body)
            shelf = take_shelf(self.shelves, session, question.family, revision)
            if wrong := days_to_come(question.device_tests, question.changed_on, today):
                raise DayToCome(*wrong)
            kit = kit_off_shelf(session, question, shelf)
            around = look_around(session, kit.parts.values(), shelf, revision, today)
            if question.tier is Tier.SURFACE:
                around = replace(around, surface=self.surface_of(session, kit.family.key))
        return Outstanding(key=key, kit=kit, around=around)

    def keep(self, key: str, assessment: Assessment) -> Answer:
        """Keep what was worked out from what `look_up` gave."""
        body = assessment_body(assessment)
        with self.database.writing() as session:
            add_assessment(session, key, body)
        use = assessment.provenance.surface
        if use is not None and not use.used:
            self.note_misfit(assessment.request.family)
        return self._kept(key, body)

    def recall(self, question: AssessmentRequest) -> Answer | None:
        """Return the answer if this process gave it lately and the catalogue stands still."""
        today = datetime.now(UTC).date()
        key = _key(question, self.database.peek(REVISION_NUMBER) or 0, today)
        body = self.recent.get(key)
        return None if body is None else Answer(key=key, body=body)

    def _kept(self, key: str, body: bytes) -> Answer:
        """Keep the newest answers in memory; every step is one of the interpreter's own."""
        self.recent[key] = body
        if len(self.recent) > MOST_RECENT:
            self.recent.popitem(last=False)
        return Answer(key=key, body=body)


async def read_assessor(request: Request) -> Assessor:
    """Take the assessor that the application was put together with."""
    assessor: Assessor = request.app.state.assessor
    return assessor


AssessorDep = Annotated[Assessor, Depends(read_assessor)]


@router.post("", response_model=Assessment, responses=problem_responses(400, 413, 415, 422, 503))
async def create_assessment(question: AssessmentRequest, assessor: AssessorDep) -> Response:
    """Assess one kit on one engine, for one use in one place.

    The same question on the same catalogue has the same answer and is kept; its address
    stands in Content-Location. A kit that does not fit is assessed too: its findings say
    why, and what the smallest change would be.
    """
    # A file is asked in the event loop: handing over to a thread costs more than the look.
    answer = assessor.recall(question) if assessor.database.is_embedded else None
    if answer is None:
        answer = await run_in_threadpool(assessor.answer, question)
    headers = {"ETag": f'"{answer.key}"', "Content-Location": f"{router.prefix}/{answer.key}"}
    return Response(answer.body, media_type=MEDIA_TYPE, headers=headers)


@router.get("/{key}", response_model=Assessment, responses=problem_responses(404, 422))
def read_assessment(
    key: Annotated[str, Path(), ANSWER_KEY],
    session: ReadSessionDep,
    validators: ValidatorsDep,
) -> Response:
    """Return an answer that was given before, as it was given."""
    validators.send(f'"{key}"')
    body = load_assessment(session, key)
    return Response(body, media_type=MEDIA_TYPE, headers={"ETag": f'"{key}"'})


def assessment_body(assessment: Assessment) -> bytes:
    """Return an answer as it goes over the wire."""
    return json_body(_ASSESSMENT.dump_python(assessment, mode="json"))


def json_body(document: Any) -> bytes:  # noqa: ANN401 - JSON holds anything.
    """Return a document as it goes over the wire, its numbers rounded."""
    return json.dumps(_rounded(document), ensure_ascii=False, separators=(",", ":")).encode()


def _key(question: AssessmentRequest, revision: int, today: date) -> str:
    tag = content_etag(
        _REQUEST.dump_json(question),
        revision,
        today.isoformat(),
        KERNEL_VERSION,
        BOUNDS_VERSION,
        _profiles(today)[1],
    )
    return tag[1 : 1 + DIGEST_CHARACTERS]


@lru_cache(maxsize=2)
def _profiles(today: date) -> tuple[dict[str, Profile], str]:
    """Return the profiles that are read on this day, and a digest of them."""
    profiles = load_profiles(today)
    return profiles, hashlib.sha256(_PROFILES.dump_json(profiles)).hexdigest()


def assessment_keys(session: ReadSessionDep, questions: Iterable[AssessmentRequest]) -> list[str]:
    """Return under which keys the answers are kept, on the catalogue as it stands today."""
    today, revision = datetime.now(UTC).date(), load_catalog_revision(session)
    return [_key(question, revision, today) for question in questions]


def take_shelf(shelves: Shelves, session: ReadSessionDep, family: str, revision: int) -> Shelf:
    """Return what stands on record of a family, or say that there is no such family."""
    try:
        return shelves.take(session, family, revision)
    except FamilyNotFound as error:
        raise _unknown("/family", error.message) from error


def look_up_kit(session: ReadSessionDep, question: AssessmentRequest) -> Kit:
    """Return the kit that a question means, or name the field that is wrong."""
    try:
        family = load_family(session, question.family).value
    except FamilyNotFound as error:
        raise _unknown("/family", error.message) from error
    return _kit(session, question, family, {})


def kit_off_shelf(session: ReadSessionDep, question: AssessmentRequest, shelf: Shelf) -> Kit:
    """Return the kit that a question means; parts that do not stand on the shelf are read."""
    return _kit(session, question, shelf.family, shelf.parts)


def _kit(
    session: ReadSessionDep,
    question: AssessmentRequest,
    family: EngineFamily,
    known: Mapping[str, Part],
) -> Kit:
    wanted = {**family.stock_parts, **question.parts}
    found = _load_named(session, wanted, known)
    sku = family.stock_parts.get(Slot.CYLINDER_HEADS)
    heads = None if sku is None else known.get(sku) or load_part(session, sku).value
    return kit_of(question, family, found, heads)


def look_around(
    session: ReadSessionDep, parts: Iterable[Part], shelf: Shelf, revision: int, today: date
) -> Surroundings:
    """Return what an answer about these parts of a family rests on, but for its surface."""
    return Surroundings(
        rules=shelf.rules,
        alternatives=shelf.by_slot,
        supplies=shelf.supplies,
        documents=tuple(find_documents_about(session, {part.maker_reference for part in parts})),
        profiles=_profiles(today)[0],
        today=today,
        catalog_revision=revision,
    )


def _load_named(
    session: ReadSessionDep, wanted: dict[Slot, str], known: Mapping[str, Part]
) -> dict[Slot, Part]:
    """Return the parts in the order of the slots, or name the field that names no part."""
    parts: dict[Slot, Part] = {}
    for slot in sorted(wanted, key=list(Slot).index):
        try:
            sku = wanted[slot]
            parts[slot] = known.get(sku) or load_part(session, sku).value
        except PartNotFound as error:
            raise _unknown(f"/parts/{slot}", error.message) from error
    return parts


def _unknown(pointer: str, detail: str) -> InvalidInput:
    return InvalidInput(FieldProblem(pointer=pointer, code="unknown", detail=detail))


def _rounded(document: Any) -> Any:  # noqa: ANN401 - JSON holds anything.
    """Round every float; counts and text stay as they are."""
    if isinstance(document, float):
        return told(document)
    if isinstance(document, dict):
        return {key: _rounded(value) for key, value in document.items()}
    if isinstance(document, list):
        return [_rounded(value) for value in document]
    return document
