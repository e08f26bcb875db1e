"""How the job of a simulation is done: one kit after another, several in flight."""

from collections import deque
from concurrent.futures import Future
from dataclasses import asdict

from service.errors import NotFound, RuleBroken
from service.jobs.job import Value
from service.jobs.kinds import JobContext
from service.jobs.worker import job_problem
from service.kits.api import Answer, Assessor, Outstanding
from service.kits.assessment import Assessment, assess
from service.kits.kit import AssessmentRequest
from service.simulations.schemas import ordered_questions

RESULT_URL = "/v1/simulations/{id}"

REFUSALS = (RuleBroken, NotFound)
"""What is wrong with one kit; any other error is about the whole sweep."""


def simulate(payload: Value, context: JobContext, *, assessor: Assessor) -> str:
    """Simulate the kits of an order that no earlier attempt finished.

    What is kept for each is the key of its assessment, or why it has none. Pieces are kept
    in their order, so that whoever reads them meanwhile misses none.
    """
    questions = ordered_questions(payload)
    left = [(at, each) for at, each in enumerate(questions) if at not in context.finished]
    if len(questions) == 1:
        # One kit alone keeps every core busy with its points, and waits for no sweep's kits.
        for position, question in left:
            _finish(context, position, len(questions), _answered(assessor, question))
        return RESULT_URL.format(id=context.job_id)
    sweep = _Sweep(assessor, context, len(questions))
    try:
        for position, question in left:
            context.check()
            sweep.begin(position, question)
        sweep.drain(0)
    finally:
        sweep.abandon()
    return RESULT_URL.format(id=context.job_id)


def kept_value(key: str) -> Value:
    """Return what is kept for a kit whose assessment has this key."""
    return {"assessment": key}


class _Sweep:
    """The kits in flight."""

    def __init__(self, assessor: Assessor, context: JobContext, count: int) -> None:
        self._assessor = assessor
        self._context = context
        self._count = count
        self._flying: deque[tuple[int, Value | Outstanding, Future[Assessment] | None]] = deque()

    def begin(self, position: int, question: AssessmentRequest) -> None:
        """Look a kit up and send it off; wait for the first when enough are in flight."""
        found = _looked_up(self._assessor, question)
        future = None
        if isinstance(found, Outstanding):
            executor = self._context.pool.executor
            future = executor.submit(assess, found.kit, found.around, run=map)
        self._flying.append((position, found, future))
        self.drain(self._context.pool.width)

    def drain(self, most: int) -> None:
        """Keep the first in flight until no more than `most` are left."""
        while len(self._flying) > most:
            self._context.check()
            position, found, future = self._flying[0]
            if isinstance(found, Outstanding):
                assert future is not None  # noqa: S101 - `begin` sends off what is outstanding.
                found = _kept(self._assessor, found, future)
            _finish(self._context, position, self._count, found)
            self._flying.popleft()

    def abandon(self) -> None:
        """Call back what nobody waits for any more."""
        for _, _, future in self._flying:
            if future is not None:
                future.cancel()


def _looked_up(assessor: Assessor, question: AssessmentRequest) -> Value | Outstanding:
    try:
        found = assessor.look_up(question)
    except REFUSALS as error:
        return _refused(error)
    return kept_value(found.key) if isinstance(found, Answer) else found


def _kept(assessor: Assessor, found: Outstanding, future: "Future[Assessment]") -> Value:
    try:
        return kept_value(assessor.keep(found.key, future.result()).key)
    except REFUSALS as error:
        return _refused(error)


def _answered(assessor: Assessor, question: AssessmentRequest) -> Value:
    try:
        return kept_value(assessor.answer(question).key)
    except REFUSALS as error:
        return _refused(error)


def _refused(error: RuleBroken | NotFound) -> Value:
    """Return what is kept for a kit that cannot be simulated; the others go on."""
    return {"problem": asdict(job_problem(error))}


def _finish(context: JobContext, position: int, count: int, value: Value) -> None:
    context.finish_item(position, value, f"kit {position + 1} of {count}")
