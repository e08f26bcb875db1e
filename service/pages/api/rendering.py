"""Templates, and what every page has: units, addresses, a style sheet that may be kept."""

import csv
import json
from collections.abc import Callable, Mapping
from functools import cache
from io import StringIO
from typing import Any
from urllib.parse import urlencode

from fastapi.responses import HTMLResponse, Response
from jinja2 import Environment, PackageLoader, StrictUndefined

from service.catalog.slots import KIT_SLOTS
from service.errors import FieldProblem
from service.pages.api.files import script, style_sheet
from service.pages.engine_form import BORED, CUTS
from service.pages.pictures import Table
from service.pages.question import FIGURES, KEPT, TYPED_IN, shown_in, typed_in
from service.pages.words import limit_in_words, plain, signed, unit_system, whole

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet would take text that starts so for a formula."""
SCRIPT_SETTINGS = {
    "allowEval": False,
    "allowScriptTags": False,
    "includeIndicatorStyles": False,
    "selfRequestsOnly": True,
    # Prices stay out of what a browser stores.
    "historyCacheSize": 0,
    "refreshOnHistoryMiss": True,
    # A page that names a problem is shown like any other.
    "responseHandling": [
        {"code": "204", "swap": False},
        {"code": "[23]..", "swap": True},
        {"code": "4..", "swap": True, "error": True},
        {"code": "...", "swap": False, "error": True},
    ],
}
"""What htmx may do under a policy without inline styles and without text that is run."""

_FIELDS = {
    "amount": "budget",
    "price_at_most": "budget",
    "power_at_least_kw": "power_at_least",
    "torque_at_least_nm": "torque_at_least",
    "speed_rpm": "torque_speed",
    "low_rpm": "band_from",
    "high_rpm": "band_to",
    "bore_mm": BORED,
    **{name: field for field, name in CUTS.items()},
}
"""Fields of a question that stand on a page under another name."""


def page(
    template: str,
    address: Mapping[str, str],
    problems: tuple[FieldProblem, ...] = (),
    status: int | None = None,
    field_of: Callable[[str], str] | None = None,
    **more: Any,  # noqa: ANN401 - A template takes anything.
) -> HTMLResponse:
    """Return a page; its status says too whether there were problems."""
    units = unit_system(address.get("units"))
    other = "us" if units.key == "si" else "si"
    typed = {TYPED_IN: typed_in(address).key} if any(map(address.get, FIGURES)) else {}
    text = (
        _environment()
        .get_template(template)
        .render(
            address=address,
            units=units,
            switched={"units": other, **typed},
            other_units=other,
            embedded="embed" in address,
            problems=[_told(problem, field_of or _field_of) for problem in problems],
            **more,
        )
    )
    headers = {"Cache-Control": "no-store"}
    return HTMLResponse(text, status_code=status or (422 if problems else 200), headers=headers)


def csv_file(table: Table, name: str) -> Response:
    """Return a table as a file for a spreadsheet (RFC 4180)."""
    out = StringIO()
    writer = csv.writer(out)
    writer.writerow(table.head)
    writer.writerows([_safe(cell) for cell in row] for row in table.rows)
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(out.getvalue(), media_type="text/csv", headers=headers)


def query(address: Mapping[str, str], **changes: str | None) -> str:
    """Return an address with some of its answers changed; None takes one out."""
    merged = {**address, **changes}
    return "?" + urlencode({key: value for key, value in merged.items() if value})


def _field_of(pointer: str) -> str:
    """Return the field of a page that a JSON pointer into its question means."""
    last = pointer.rsplit("/", 1)[-1]
    return _FIELDS.get(last, last)


def _told(problem: FieldProblem, name_of: Callable[[str], str]) -> tuple[str, str]:
    """Return the field and what is wrong with it; a validator's words do not name the field."""
    field = name_of(problem.pointer)
    if problem.detail.startswith("Input should"):
        return field, f"{plain(field)}: {problem.detail}."
    return field, problem.detail


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("service.pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(
        limit_in_words=limit_in_words, plain=plain, signed=signed, whole=whole
    )
    environment.globals.update(
        query=query,
        style=style_sheet().address,
        script=script().address,
        script_settings=json.dumps(SCRIPT_SETTINGS),
        kept=KEPT,
        shown_in=shown_in,
        kit_fields={*KEPT, *(slot.value for slot in KIT_SLOTS)},
    )
    return environment


def _safe(cell: str) -> str:
    is_number = cell.lstrip("+-").replace(".", "", 1).isdigit()
    return f"'{cell}" if cell.startswith(FORMULA_STARTS) and not is_number else cell
