"""From an address to a question: every answer of a form stands in the address of its page."""

from collections.abc import Mapping
from typing import Any

from service.catalog.slots import KIT_SLOTS
from service.errors import FieldProblem, InvalidInput
from service.pages.words import unit_system

BEFORE = "before_"
"""Put before a slot's name: the part that was there before the last swap."""
SITUATION = ("family", "model_year", "use", "place")
CURRENCY = "USD"

Address = Mapping[str, str]


def situation(address: Address) -> dict[str, Any]:
    """Return the part of an assessment's question that the caller tells first."""
    return {**{key: address.get(key, "") for key in SITUATION}, "model_year": _year(address)}


def kit_question(address: Address, *, before: bool = False) -> dict[str, Any]:
    """Return the question for the kit on the page, or for the one before the last swap."""
    tier = "simulation" if address.get("tier") == "simulation" else "surface"
    return {**situation(address), "parts": named_parts(address, before=before), "tier": tier}


def search_question(address: Address) -> dict[str, Any]:
    """Return the search for what the caller wants; nobody waits for its simulation."""
    limits: dict[str, Any] = {"keeps_stock_exterior": "keeps_stock_exterior" in address}
    if budget := address.get("budget", "").strip().replace(",", ""):
        limits["price_at_most"] = {"amount": budget, "currency": CURRENCY}
    if power := _number(address, "power_at_least"):
        limits["power_at_least_kw"] = unit_system(address.get("units")).kw_of(power)
    return {
        "question": situation(address),
        "limits": limits,
        "objective": {"aim": address.get("aim", "peak_power")},
        "confirmed": 0,
    }


def named_parts(address: Address, *, before: bool = False) -> dict[str, str]:
    """Return the parts that an address names, by slot."""
    prefix = BEFORE if before else ""
    return {slot.value: sku for slot in KIT_SLOTS if (sku := address.get(prefix + slot.value))}


def _number(address: Address, field: str) -> float | None:
    text = address.get(field, "").strip().replace(",", "")
    try:
        return float(text) if text else None
    except ValueError as error:
        raise InvalidInput(
            FieldProblem(
                pointer=f"/{field}",
                code="not_a_number",
                detail=f"Write a number, such as 250; {text!r} is not one.",
            )
        ) from error


def _year(address: Address) -> int:
    text = address.get("model_year", "").strip()
    if not text.isascii() or not text.isdigit():
        raise InvalidInput(
            FieldProblem(
                pointer="/model_year",
                code="not_a_number",
                detail=f"Write the model year in four digits, such as 1997; {text!r} is not one.",
            )
        )
    return int(text)


def parts_text(parts: Mapping[str, str]) -> str:
    """Write a kit as one value of a form: `camshaft:SKU cylinder_heads:SKU`."""
    return " ".join(f"{slot}:{sku}" for slot, sku in parts.items())


def parts_of(text: str) -> dict[str, str]:
    """Read what `parts_text` wrote."""
    return dict(pair.split(":", 1) for pair in text.split() if ":" in pair)
