"""What was machined on the caller's engine, and which torques the caller was told.

As it is said on the telephone: with its unit.
"""

import re
from collections.abc import Mapping
from typing import Any

from service.catalog.supplies import JointPlace
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
STATED = {f"torque_{place.value}": place.value for place in JointPlace}
"""Fields of the form, and the joints whose torque somebody states."""
GASKETS = {"new_head_gasket": "new_head_gasket", "old_head_gasket": "old_head_gasket"}
"""Compressed thickness, of both banks alike."""
THREADS_LOST = "threads_lost"
"""At the mouths of the intake's holes."""
RAILS = {"rail_gap": "end_rail_gap_mm", "rail_length": "end_rail_length_mm"}
"""Of the engine; nobody guesses them, so that they are left out where they were not measured."""
CASTING = "casting"
"""Generation of the factory's heads, as the family names it."""
ENGINE = (BORED, *CUTS, *GASKETS, THREADS_LOST, *RAILS, CASTING, *STATED)
NOT_MEASURED = "not measured"
_TORQUE = re.compile(r"([0-9]*\.?[0-9]+)\s*([a-z][a-z .\-·⋅*]*[a-z])", re.IGNORECASE)
_TORQUE_UNITS = {
    "nm": "torque_nm",
    **dict.fromkeys(("lbfft", "ftlbf", "lbft", "ftlb", "ftlbs"), "torque_lbft"),
    **dict.fromkeys(("lbfin", "inlbf", "lbin", "inlb", "inlbs"), "torque_lbin"),
}
_LENGTH = re.compile(r"([0-9]*\.?[0-9]+)\s*(mm|in|inch|\")", re.IGNORECASE)


def engine_question(address: Mapping[str, str]) -> dict[str, Any]:
    """Return the engine as it stands; nothing where nobody told of anything."""
    said = {field: text for field in ENGINE if (text := _said(address, field))}
    engine: dict[str, Any] = {}
    if BORED in said:
        engine["bore_mm"] = _length(BORED, said[BORED])
    bank = _bank(said)
    rails = {name: _length(field, said[field]) for field, name in RAILS.items() if field in said}
    casting = {"casting_generation": said[CASTING]} if CASTING in said else {}
    stated = [
        {"joint": joint, **_torque(field, said[field])}
        for field, joint in STATED.items()
        if field in said
    ]
    if bank or rails or casting or stated:
        engine["machined"] = {"right": bank, **rails, **casting, "stated_torques": stated}
    return {"engine": engine} if engine else {}


def _bank(said: Mapping[str, str]) -> dict[str, Any]:
    """Return what was told of either bank."""
    bank: dict[str, Any] = {
        name: _length(field, said[field]) for field, name in CUTS.items() if field in said
    }
    for field, name in GASKETS.items():
        if field in said:
            bank[name] = {"compressed_mm": _length(field, said[field])}
    if THREADS_LOST in said:
        bank["intake_holes"] = {"pitches_lost": _turns(said[THREADS_LOST])}
    return bank


def _turns(text: str) -> int | str:
    if text.casefold() == NOT_MEASURED:
        return "unknown"
    if not text.isdecimal():
        detail = f"Write how many turns of thread are gone, such as 2; {text!r} is no number."
        raise InvalidInput(
            FieldProblem(pointer=f"/{THREADS_LOST}", code="not_a_count", detail=detail)
        )
    return int(text)


def _torque(field: str, text: str) -> dict[str, float]:
    """Return one torque in all the units in which it was told, `12 lbf·ft, 120 lbf·in`."""
    told: dict[str, float] = {}
    for each in re.split(r"[,;/(]|\band\b|=", text.rstrip(") ")):
        found = _TORQUE.fullmatch(each.strip())
        unit = _TORQUE_UNITS.get(re.sub(r"[^a-z]", "", found[2].lower())) if found else None
        if found is None or unit is None or unit in told:
            detail = (
                "Write a torque with its unit, such as 12 lbf·ft or 16 N·m, and as many as were "
                f"told with commas between; {text!r} is not that."
            )
            problem = FieldProblem(pointer=f"/{field}", code="not_a_torque", detail=detail)
            raise InvalidInput(problem)
        told[unit] = float(found[1])
    return told


def _said(address: Mapping[str, str], field: str) -> str:
    return address.get(field, "").strip()


def _length(field: str, text: str) -> float | str:
    if text.casefold() == NOT_MEASURED and field in (*CUTS, *GASKETS):
        return "unknown"
    found = _LENGTH.fullmatch(text)
    if found is None:
        detail = f"Write a length with its unit, such as 0.030 in or 0.76 mm; {text!r} is not one."
        raise InvalidInput(FieldProblem(pointer=f"/{field}", code="not_a_length", detail=detail))
    value = float(found[1])
    return value if found[2].lower() == "mm" else float(in_to_m(value)) * MM_PER_M
