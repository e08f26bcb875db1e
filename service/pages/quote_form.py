"""A quote as fields of a form, and back: the form speaks the API's own document.

A field is named by where it stands in the content, `/lines/0/sku` being `lines-0-sku`, so
that what is wrong is told beside the field that says it.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from service.errors import FieldProblem
from service.pages.question import kit_question

Form = Mapping[str, str]

LINE_TEXTS = ("title", "sku", "finding", "quantity", "discount_percent", "note")
LINE_PRICES = ("unit_price", "core_deposit", "unit_cost")
EMPTY_LINES = 2
"""Offered below the lines that there are."""
MOST_LINES = 500
"""Of a quote."""


def content_of(form: Form) -> dict[str, Any]:
    """Return what a form says of a quote, without its kit."""
    return {
        "customer": {
            key: form.get(f"customer-{key}", "").strip() for key in ("reference", "name", "address")
        },
        "valid_until": form.get("valid_until", "").strip(),
        "discount_percent": form.get("discount_percent", "").strip() or "0",
        "price_list": form.get("price_list", "").strip() or None,
        "tax_rules": form.get("tax_rules", "").replace(",", " ").split(),
        "customer_note": form.get("customer_note", ""),
        "shop_note": form.get("shop_note", ""),
        "lines": [_line(form, place) for place in written_lines(form)],
    }


def new_content(form: Form) -> dict[str, Any]:
    """Return what a form says of a quote that is to be begun."""
    question = kit_question(form)
    # A quote rests on the simulation, never on the quick answer.
    question.pop("tier")
    return {**content_of(form), "question": question}


def written_lines(form: Form) -> list[int]:
    """Return the places of the form's lines that say anything."""
    told = ("title", "sku", "finding", "unit_price")
    return [
        place
        for place in range(MOST_LINES)
        if any(form.get(f"lines-{place}-{key}", "").strip() for key in told)
    ]


def fields_of(content: Mapping[str, Any]) -> dict[str, str]:
    """Return the fields that show a quote's content, as the API tells it."""
    found = {f"customer-{key}": str(text) for key, text in content["customer"].items()}
    for key in ("valid_until", "discount_percent", "customer_note", "shop_note"):
        found[key] = str(content[key])
    found["price_list"] = content["price_list"] or ""
    found["tax_rules"] = ", ".join(content["tax_rules"])
    for place, line in enumerate(content["lines"]):
        found[f"lines-{place}-kind"] = line["kind"]
        for key in LINE_TEXTS:
            found[f"lines-{place}-{key}"] = line[key] or ""
        for key in LINE_PRICES:
            found[f"lines-{place}-{key}"] = line[key]["amount"] if line[key] else ""
    return found


def lines_shown(form: Form) -> range:
    """Return the places of lines that a form shows: those that say something, and some more."""
    return range(max(written_lines(form), default=-1) + 1 + EMPTY_LINES)


def at_fields(problems: Iterable[FieldProblem], form: Form) -> tuple[FieldProblem, ...]:
    """Return problems of a document at the fields of the form that it was made of."""
    return tuple(replace(each, pointer=_field(each.pointer, form)) for each in problems)


def _field(pointer: str, form: Form) -> str:
    steps = [step for step in pointer.split("/") if step and step != "content"]
    if len(steps) > 1 and steps[0] == "lines" and steps[1].isdigit():
        written = written_lines(form)
        place = int(steps[1])
        steps[1] = str(written[place] if place < len(written) else place)
    if steps[-1:] in (["amount"], ["currency"]):
        steps = steps[:-1]
    return "-".join(steps)


def _line(form: Form, place: int) -> dict[str, Any]:
    texts = {key: form.get(f"lines-{place}-{key}", "").strip() for key in LINE_TEXTS}
    line: dict[str, Any] = {key: text for key, text in texts.items() if text}
    line["kind"] = form.get(f"lines-{place}-kind", "part")
    for key in LINE_PRICES:
        if amount := form.get(f"lines-{place}-{key}", "").strip().replace(",", ""):
            line[key] = {"amount": amount, "currency": form.get("currency", "USD")}
    return line
