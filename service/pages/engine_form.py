"""What was machined on the caller's engine, as it is said on the telephone: with its unit."""

import re
from collections.abc import Mapping
from typing import Any

from service.errors import FieldProblem, InvalidInput
from service.units import in_to_m

MM_PER_M = 1e3
BORED = "bored_to"
CUTS = {
    "deck_cut": "deck_cut_mm",
    "head_mill": "head_mill_mm",
    "intake_face_cut": "intake_face_cut_mm",
    "manifold_side_cut": "manifold_side_cut_mm",
}
"""Fields of the form, and of the API's bank; both banks alike."""
ENGINE = (BORED, *CUTS)
NOT_MEASURED = "not measured"
_LENGTH = re.compile(r"([0-9]*\.?[0-9]+)\s*(mm|in|inch|\")", re.IGNORECASE)


def engine_question(address: Mapping[str, str]) -> dict[str, Any]:
    """Return the engine as it stands; nothing where nobody told of anything."""
    told = {field: _length(field, text) for field in ENGINE if (text := _said(address, field))}
    engine: dict[str, Any] = {}
    if BORED in told:
        engine["bore_mm"] = told[BORED]
    cuts = {name: told[field] for field, name in CUTS.items() if field in told}
    if cuts:
        engine["machined"] = {"right": cuts}
    return {"engine": engine} if engine else {}


def _said(address: Mapping[str, str], field: str) -> str:
    return address.get(field, "").strip()


def _length(field: str, text: str) -> float | str:
    if text.casefold() == NOT_MEASURED and field in CUTS:
        return "unknown"
    found = _LENGTH.fullmatch(text)
    if found is None:
        detail = f"Write a length with its unit, such as 0.030 in or 0.76 mm; {text!r} is not one."
        raise InvalidInput(FieldProblem(pointer=f"/{field}", code="not_a_length", detail=detail))
    value = float(found[1])
    return value if found[2].lower() == "mm" else float(in_to_m(value)) * MM_PER_M
