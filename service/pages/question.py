"""From an address to a question: every answer of a form stands in the address of its page."""

from collections.abc import Mapping
from typing import Any

from service.catalog.slots import KIT_SLOTS
from service.errors import FieldProblem, InvalidInput
from service.pages.engine_form import ENGINE, engine_question
from service.pages.words import UnitSystem, unit_system

BEFORE = "before_"
"""Put before a slot's name: the part that was there before the last swap."""
SITUATION = ("family", "model_year", "use", "place")
FIGURES = ("power_at_least", "torque_at_least")
"""Of a goal, in units that a page may show otherwise."""
TYPED_IN = "typed_in"
"""Units in which figures were typed, where the page shows others since."""
GOAL = (
    "budget",
    "budget_in",
    *FIGURES,
    "torque_speed",
    "band_from",
    "band_to",
    "keeps_stock_exterior",
    TYPED_IN,
)
"""What the form of a goal asks for."""
KEPT = (*SITUATION, *ENGINE, "aim", "papers", "other_place", *GOAL)
"""What every page about the same caller keeps in its address."""
OTHER_HALF = {
    "torque_at_least": "Say how much pull is wanted at that speed, or leave the speed out.",
    "torque_speed": "Say at how many rev/min the pull is wanted.",
    "band_from": "Say from how many rev/min it has to pull well.",
    "band_to": "Say up to how many rev/min it has to pull well.",
}
"""Asked for where only the other figure of the pair was told."""
ALIKE = "alike"
"""Asks for kits too that differ from one before in a single part."""
CURRENCY = "USD"
"""Where no part has a price yet."""

Address = Mapping[str, str]


def situation(address: Address) -> dict[str, Any]:
    """Return the part of an assessment's question that the caller tells first."""
    told = {key: address.get(key, "") for key in SITUATION}
    return {**told, "model_year": _year(address), **engine_question(address)}


def kit_question(address: Address, *, before: bool = False) -> dict[str, Any]:
    """Return the question for the kit on the page, or for the one before the last swap."""
    tier = "simulation" if address.get("tier") == "simulation" else "surface"
    return {**situation(address), "parts": named_parts(address, before=before), "tier": tier}


def search_question(address: Address, currency: str) -> dict[str, Any]:
    """Return the search for what the caller wants; nobody waits for its simulation.

    `currency` is what most parts are priced in.
    """
    asked = {
        "question": situation(address),
        "limits": _limits(address, currency),
        "objective": {"aim": address.get("aim") or "peak_power"},
        "confirmed": 0,
    }
    return asked if address.get(ALIKE) else {**asked, "most_alike": 1}


def ladder_question(address: Address, currency: str) -> dict[str, Any]:
    """Return the search for what it would take to get from the kit of the address to the goal.

    Of changes that are as near and as dear, the one with more of what the goal asks for.
    """
    asked = search_question(address, currency)
    kit = {**asked["question"], "parts": named_parts(address)}
    objective = asked["objective"]
    for wanted in asked["limits"].get("torque_at", ()):
        objective = {"aim": "torque_at_speed", "speed_rpm": wanted["speed_rpm"]}
    if "power_at_least_kw" in asked["limits"]:
        objective = {"aim": "peak_power"}
    ladder = {"objective": objective, "question": kit, "what_it_takes": True, "count": 1}
    return {**asked, **ladder}


def shown_in(address: Address, field: str, units: UnitSystem) -> str:
    """Return a figure of a form in the units of the page, whatever it was typed in."""
    text, typed = address.get(field, ""), typed_in(address)
    try:
        figure = float(text.replace(",", ""))
    except ValueError:
        return text
    if typed.key == units.key:
        return text
    if field == "power_at_least":
        return f"{units.power_of(typed.kw_of(figure)):.1f}"
    return f"{units.torque_of(typed.nm_of(figure)):.1f}"


def typed_in(address: Address) -> UnitSystem:
    """Return the units that the figures of an address were typed in."""
    return unit_system(address.get(TYPED_IN) or address.get("units"))


def _limits(address: Address, currency: str) -> dict[str, Any]:
    units = typed_in(address)
    limits: dict[str, Any] = {"keeps_stock_exterior": bool(address.get("keeps_stock_exterior"))}
    if budget := address.get("budget", "").strip().replace(",", ""):
        limits["price_at_most"] = {"amount": budget, "currency": _budget_in(address, currency)}
    if power := _number(address, "power_at_least"):
        limits["power_at_least_kw"] = units.kw_of(power)
    torque, speed = _pair(address, "torque_at_least", "torque_speed")
    if torque is not None:
        at = {"speed_rpm": speed, "torque_at_least_nm": units.nm_of(torque)}
        limits["torque_at"] = [at]
    low, high = _pair(address, "band_from", "band_to")
    if low is not None:
        limits["band_covers"] = {"low_rpm": low, "high_rpm": high}
    if papers := address.get("papers"):
        limits["paperwork_at_worst"] = papers
        limits["places"] = [address.get("place", ""), *second_place(address)]
    return limits


def second_place(address: Address) -> tuple[str, ...]:
    """Return the other place that papers are asked for, where there is one."""
    other = address.get("other_place", "")
    return (other,) if other and other != address.get("place") else ()


def _budget_in(address: Address, currency: str) -> str:
    """Return what a budget is in: no kit but the factory's can be held against another money."""
    told = address.get("budget_in") or currency
    if told != currency:
        detail = (
            f"The parts for this engine are priced in {currency}: "
            f"a budget in {told} cannot be held against them."
        )
        raise InvalidInput(FieldProblem(pointer="/budget", code="other_currency", detail=detail))
    return told


def _pair(address: Address, one: str, other: str) -> tuple[float | None, float | None]:
    """Return two figures that say something only together."""
    told = {field: _number(address, field) for field in (one, other)}
    missing = [field for field, figure in told.items() if figure is None]
    if len(missing) == 1:
        field = missing[0]
        raise InvalidInput(
            FieldProblem(pointer=f"/{field}", code="half_told", detail=OTHER_HALF[field])
        )
    return told[one], told[other]


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
