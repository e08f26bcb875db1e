"""The OpenAPI document of the application."""

from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from service.problems import Problem

REFERENCE = "#/components/schemas/{model}"
AUTOMATIC = ("HTTPValidationError", "ValidationError")
"""Schemas of the answer to invalid input that FastAPI documents by itself; ours differs."""


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
    schemas = document.setdefault("components", {}).setdefault("schemas", {})
    for name in AUTOMATIC:
        schemas.pop(name, None)
    problem = Problem.model_json_schema(mode="serialization", ref_template=REFERENCE)
    schemas.update(problem.pop("$defs"))
    schemas["Problem"] = problem
    return document
