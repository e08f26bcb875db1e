"""The body of a simulation: one kit or a list of them."""

from typing import Annotated, Any

from annotated_types import MaxLen, MinLen
from pydantic import Discriminator, Tag, TypeAdapter

from service.jobs.job import JobOrder, Value
from service.kits.kit import AssessmentRequest
from service.simulations.simulation import KIND, MOST_KITS

Questions = Annotated[list[AssessmentRequest], MinLen(1), MaxLen(MOST_KITS)]


def _one_or_many(body: object) -> str:
    return "many" if isinstance(body, list) else "one"


SimulationRequest = Annotated[
    Annotated[AssessmentRequest, Tag("one")] | Annotated[Questions, Tag("many")],
    Discriminator(_one_or_many),
]
"""One kit, or a sweep over many."""

_QUESTIONS: TypeAdapter[list[AssessmentRequest]] = TypeAdapter(list[AssessmentRequest])


def as_list(body: AssessmentRequest | list[AssessmentRequest]) -> list[AssessmentRequest]:
    """Return the kits of a request."""
    return body if isinstance(body, list) else [body]


def simulation_order(questions: list[AssessmentRequest], key: str) -> JobOrder:
    """Return the order for a job that simulates these kits."""
    payload: dict[str, Any] = {"kits": _QUESTIONS.dump_python(questions, mode="json")}
    return JobOrder(kind=KIND, payload=payload, key=key, item_count=len(questions))


def ordered_questions(payload: Value) -> list[AssessmentRequest]:
    """Return the kits that an order names."""
    return _QUESTIONS.validate_python(payload["kits"])
