"""Catalogue values as JSON, the way a caller sends them."""

from typing import Any

from pydantic import TypeAdapter

from service.catalog.families import EngineFamily
from service.catalog.parts import Part
from service.catalog.rules import ShopRule
from service.catalog.schemas import PartIn, part_in
from service.compliance.documents import Document

_PART: TypeAdapter[PartIn] = TypeAdapter(PartIn)


def part_json(part: Part) -> dict[str, Any]:
    body: dict[str, Any] = _PART.dump_python(part_in(part), mode="json")
    return body


def plain_json(value: EngineFamily | ShopRule | Document) -> dict[str, Any]:
    body: dict[str, Any] = TypeAdapter(type(value)).dump_python(value, mode="json")
    return body
