"""Every error as a problem document (RFC 9457): from exception to answer."""

from collections.abc import Iterable, Mapping
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from fastapi.routing import iter_route_contexts
from pydantic import BaseModel, ConfigDict, Field
from starlette.exceptions import HTTPException
from starlette.routing import Match
from starlette.types import Scope

from service.errors import (
    Conflict,
    FieldProblem,
    InvalidInput,
    NotFound,
    PreconditionMissing,
    RequestRefused,
    RuleBroken,
    ServiceError,
    StaleVersion,
    Unavailable,
)
from service.pointers import field_problems
from service.problem_kinds import KIND_BY_SLUG, KIND_BY_STATUS, Kind

MEDIA_TYPE = "application/problem+json"
RETRY_AFTER_S = "5"

KIND_BY_ERROR: Mapping[type[Exception], Kind] = {
    NotFound: KIND_BY_SLUG["not-found"],
    Conflict: KIND_BY_SLUG["conflict"],
    RuleBroken: KIND_BY_SLUG["rule-broken"],
    InvalidInput: KIND_BY_SLUG["invalid-input"],
    RequestRefused: KIND_BY_SLUG["refused"],
    PreconditionMissing: KIND_BY_SLUG["precondition-missing"],
    StaleVersion: KIND_BY_SLUG["stale-version"],
    Unavailable: KIND_BY_SLUG["not-ready"],
    ServiceError: KIND_BY_SLUG["bad-request"],
}


class ProblemError(BaseModel):
    """One wrong value of a request."""

    model_config = ConfigDict(use_attribute_docstrings=True, serialize_by_alias=True)

    pointer: str
    """JSON pointer (RFC 6901) into the body; elsewhere the name of the parameter."""
    place: str = Field(alias="in", validation_alias="place")
    """Where it stands: body, query, path, header or cookie; more may come."""
    code: str
    """Stable word for the kind of mistake; more may come."""
    detail: str
    """The sentence for people; names the limit."""


class Problem(BaseModel):
    """What went wrong (RFC 9457)."""

    model_config = ConfigDict(use_attribute_docstrings=True, serialize_by_alias=True)

    type: str
    """Address of a page that explains this kind of problem; stable, made for programs."""
    title: str
    """The kind of problem in a few words."""
    status: int
    """The HTTP status."""
    detail: str
    """What happened this time, for people; the wording may change."""
    instance: str
    """Path of the request; the Request-Id header tells requests apart."""
    errors: list[ProblemError]
    """The wrong values, when the problem is about values."""


def problem_responses(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """Document the errors of a route: `responses=problem_responses(404, 412)`.

    FastAPI would document a `model` as application/json; the reference keeps to what is sent.
    """
    schema = {"$ref": "#/components/schemas/Problem"}
    return {
        status: {
            "description": KIND_BY_STATUS[status].title,
            "content": {MEDIA_TYPE: {"schema": schema}},
        }
        for status in statuses
    }


def problem_response(
    scope: Scope,
    kind: Kind,
    detail: str,
    *,
    errors: Iterable[ProblemError] = (),
    headers: Mapping[str, str] | None = None,
) -> Response:
    """Return the answer that tells a problem."""
    problem = Problem(
        type=kind.type_uri,
        title=kind.title,
        status=kind.status,
        detail=detail,
        instance=scope["path"],
        errors=list(errors),
    )
    return JSONResponse(
        problem.model_dump(), status_code=kind.status, headers=headers, media_type=MEDIA_TYPE
    )


def add_problem_handlers(app: FastAPI) -> None:
    """Answer every error of the application with a problem document."""
    app.add_exception_handler(ServiceError, _answer_service_error)
    app.add_exception_handler(HTTPException, _answer_http_error)
    app.add_exception_handler(RequestValidationError, _answer_invalid_request)


def unknown_failure(scope: Scope) -> Response:
    """Answer an error that nobody foresaw; what it was stands in the log alone."""
    return problem_response(scope, KIND_BY_STATUS[500], "An unforeseen error ended the request.")


def body_too_large(scope: Scope) -> Response:
    """Answer a body over the limit."""
    detail = "The body is larger than this address takes."
    return problem_response(scope, KIND_BY_STATUS[413], detail)


def kind_of(error: Exception) -> Kind:
    """Return the kind of problem that an error of ours is; any other is a fault of the service."""
    known = (KIND_BY_ERROR[cls] for cls in type(error).__mro__ if cls in KIND_BY_ERROR)
    return next(known, KIND_BY_SLUG["internal-error"])


async def _answer_service_error(request: Request, error: Exception) -> Response:
    kind = kind_of(error)
    errors: list[ProblemError] = []
    if isinstance(error, InvalidInput):
        errors = [_located(problem) for problem in error.problems]
    headers = {"Retry-After": RETRY_AFTER_S} if isinstance(error, Unavailable) else None
    return problem_response(request.scope, kind, str(error), errors=errors, headers=headers)


async def _answer_http_error(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)  # noqa: S101 - It is registered for this class alone.
    headers = dict(error.headers or {})
    if error.status_code < HTTPStatus.BAD_REQUEST:
        return Response(status_code=error.status_code, headers=headers)
    if error.status_code == HTTPStatus.REQUEST_ENTITY_TOO_LARGE:
        return body_too_large(request.scope)
    detail = str(error.detail)
    if error.status_code == HTTPStatus.METHOD_NOT_ALLOWED:
        headers["Allow"] = ", ".join(sorted(_methods_here(request)))
        detail = f"This address takes {headers['Allow']}."
    elif error.status_code == HTTPStatus.NOT_FOUND and detail == "Not Found":
        detail = "No such address."
    kind = KIND_BY_STATUS[error.status_code]
    return problem_response(request.scope, kind, detail, headers=headers)


async def _answer_invalid_request(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)  # noqa: S101 - The same.
    errors = [_problem_error(found, error.body) for found in error.errors()]
    detail = "; ".join(f"{e.pointer or 'the body'}: {e.detail}" for e in errors)
    kind = KIND_BY_SLUG["invalid-input"]
    return problem_response(request.scope, kind, detail, errors=errors)


def _problem_error(found: Mapping[str, Any], body: object) -> ProblemError:
    place, *location = found["loc"]
    (problem,) = field_problems([{**found, "loc": location}], body)
    pointer = problem.pointer if place == "body" else ".".join(str(key) for key in location)
    return ProblemError(place=place, pointer=pointer, code=problem.code, detail=problem.detail)


def _located(problem: FieldProblem) -> ProblemError:
    place = "body" if problem.pointer == "" or problem.pointer.startswith("/") else "query"
    return ProblemError(
        place=place, pointer=problem.pointer, code=problem.code, detail=problem.detail
    )


def _methods_here(request: Request) -> set[str]:
    """Collect the methods of every route that has this path, not of the first alone."""
    methods: set[str] = set()
    for route in iter_route_contexts(request.app.routes):
        match, _ = route.matches(request.scope)
        if match is not Match.NONE:
            methods |= route.methods or set()
    return methods | ({"HEAD"} if "GET" in methods else set())
