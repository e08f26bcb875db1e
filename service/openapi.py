"""The OpenAPI document of the application."""

from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from service.access.rights import scopes_for
from service.bodies import IDEMPOTENCY_KEY, KEYED_METHODS
from service.problems import Problem, problem_responses

REFERENCE = "#/components/schemas/{model}"
KEY_SCHEME = {
    "type": "http",
    "scheme": "bearer",
    "description": "A key made with `kitwright key create`, once there are any.",
}
AUTOMATIC = ("HTTPValidationError", "ValidationError")
"""Schemas of the answer to invalid input that FastAPI documents by itself; ours differs."""
OPEN_VOCABULARY = "More may be added."

VALUES = frozenset({"const", "default", "enum", "example", "examples"})
"""Keywords that hold a value of the schema; no schema stands below them."""


def describe(app: FastAPI) -> dict[str, Any]:
    """Return the document; errors are problem documents throughout."""
    if app.openapi_schema is None:
        app.openapi_schema = _build(app)
    return app.openapi_schema


def _build(app: FastAPI) -> dict[str, Any]:
    document = get_openapi(
        title=app.title,
        version=app.version,
        description=app.description,
        routes=app.routes,
        tags=app.openapi_tags,
        servers=[{"url": "/"}],
        separate_input_output_schemas=False,
    )
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            _tell_access(operation, sorted(scopes_for(method.upper(), path)))
            if method.upper() in KEYED_METHODS:
                _tell_keys(operation)
            _tell_errors(operation)
            _tell_streams(operation)
    schemas = document.setdefault("components", {}).setdefault("schemas", {})
    document["components"]["securitySchemes"] = {"key": KEY_SCHEME}
    for name in AUTOMATIC:
        schemas.pop(name, None)
    problem = Problem.model_json_schema(mode="serialization", ref_template=REFERENCE)
    schemas.update(problem.pop("$defs"))
    schemas["Problem"] = problem
    # Two models called "Page" or "Body" stop a generator of clients; the place names each.
    _tell_open_vocabularies(schemas)
    _drop_titles(schemas)
    _drop_titles(document["paths"])
    return document


def _tell_open_vocabularies(schemas: dict[str, Any]) -> None:
    """Say of each list of words that it may grow, so that a client takes one it does not know."""
    for schema in schemas.values():
        told = schema.get("description", "")
        if "enum" in schema and OPEN_VOCABULARY.lower() not in told.lower():
            schema["description"] = f"{told} {OPEN_VOCABULARY}".strip()


def _drop_titles(node: object) -> None:
    """Remove the titles that pydantic makes from names; a property `title` is a schema."""
    if isinstance(node, list):
        for each in node:
            _drop_titles(each)
    elif isinstance(node, dict):
        if isinstance(node.get("title"), str):
            del node["title"]
        for keyword, each in node.items():
            if keyword not in VALUES:
                _drop_titles(each)


def _tell_access(operation: dict[str, Any], scopes: list[str]) -> None:
    """Document which keys open an operation; each entry of the list is enough by itself."""
    if not scopes:
        return
    operation["security"] = [{"key": [scope]} for scope in scopes]
    for status, response in problem_responses(401, 403).items():
        operation["responses"].setdefault(str(status), response)


def _tell_keys(operation: dict[str, Any]) -> None:
    """Document the key that keeps a request that is sent again from being done again."""
    operation.setdefault("parameters", []).append(
        {
            "name": IDEMPOTENCY_KEY,
            "in": "header",
            "required": False,
            "schema": {"type": "string", "minLength": 1, "maxLength": 200},
            "description": "Any name for this request, used once. A repeat within 24 hours is "
            "answered with the first answer; 409 while that is being worked on, 422 where the "
            "request is another one.",
        }
    )
    for status, response in problem_responses(409, 422).items():
        operation["responses"].setdefault(str(status), response)


def _tell_errors(operation: dict[str, Any]) -> None:
    """Document the errors that a route has because of how its input is read."""
    responses = operation["responses"]
    statuses: list[int] = []
    if "application/json" in responses.get("422", {}).get("content", {}):
        del responses["422"]
        statuses.append(422)
    if body := operation.get("requestBody"):
        statuses += [400, 413]
        if any(media_type.endswith("json") for media_type in body["content"]):
            statuses.append(415)
    for status, response in problem_responses(*statuses).items():
        responses.setdefault(str(status), response)


def _tell_streams(operation: dict[str, Any]) -> None:
    """Document a stream as text: FastAPI uses a word of OpenAPI 3.2 in a document of 3.1."""
    for response in operation["responses"].values():
        for content in response.get("content", {}).values():
            if content.pop("itemSchema", None) is not None:
                content["schema"] = {"type": "string"}
