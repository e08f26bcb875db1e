"""Templates, and what every page has: units, addresses, a style sheet that may be kept."""

import json
from collections.abc import Callable, Collection, Mapping, Sequence
from functools import cache
from typing import Any
from urllib.parse import urlencode

from fastapi import Request
from fastapi.responses import HTMLResponse, Response
from jinja2 import Environment, PackageLoader, StrictUndefined

from service.catalog.slots import KIT_SLOTS
from service.errors import FieldProblem
from service.pages.api.files import script, style_sheet
from service.pages.complaints import SAID_BY_CODE, complaint
from service.pages.engine_form import BORED, CASTING, CUTS, RAILS, THREADS_LOST
from service.pages.labels import ASKED, choice_label, label_of
from service.pages.question import ALIKE, FIGURES, GOAL, KEPT, TYPED_IN, shown_in, typed_in
from service.pages.words import (
    SI,
    US,
    USES,
    device,
    limit_in_words,
    plain,
    signed,
    there_in,
    unit_system,
    weight,
    whole,
)
from service.tabular import Table, csv_lines

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

WAYS_BACK = {
    "/shop": "Back to what wants attention",
    "/builder": "Back to the question about your engine",
    "/desk/quotes": "Back to the quotes",
    "/desk/sheets": "Back to the work sheets",
    "/desk": "Back to the caller's situation",
}
"""From a page that could not answer, by where it stands; the first that fits."""
NEVER_TYPED = frozenset({"idempotency_key", "version", "units", "currency", "packed"})
"""Fields of forms that travel with what was typed."""

_FIELDS = {
    "amount": "budget",
    "price_at_most": "budget",
    "power_at_least_kw": "power_at_least",
    "torque_at_least_nm": "torque_at_least",
    "speed_rpm": "torque_speed",
    "low_rpm": "band_from",
    "high_rpm": "band_to",
    "bore_mm": BORED,
    **{name: field for field, name in (CUTS | RAILS).items()},
    "pitches_lost": THREADS_LOST,
    "casting_generation": CASTING,
}
"""Fields of a question that stand on a page under another name."""


def page(
    template: str,
    address: Mapping[str, str],
    problems: tuple[FieldProblem, ...] = (),
    status: int | None = None,
    field_of: Callable[[str], str] | None = None,
    repeated: Mapping[str, Sequence[str]] | None = None,
    **more: Any,  # noqa: ANN401 - A template takes anything.
) -> HTMLResponse:
    """Return a page; its status says too whether there were problems.

    `repeated` are answers that stand in the address more than once.
    """
    units = unit_system(address.get("units"))
    other = US if units.key == "si" else SI
    typed = {TYPED_IN: typed_in(address).key} if any(map(address.get, FIGURES)) else {}
    text = (
        _environment()
        .get_template(template)
        .render(
            address=address,
            units=units,
            switch=query({**address, **(repeated or {})}, units=other.key, **typed),
            switch_words=f"Show {other.torque} and {other.power}",
            embedded="embed" in address,
            problems=[_told(problem, field_of or _field_of) for problem in problems],
            **more,
        )
    )
    headers = {"Cache-Control": "no-store"}
    return HTMLResponse(text, status_code=status or (422 if problems else 200), headers=headers)


def not_answered(
    request: Request,
    problems: tuple[FieldProblem, ...] = (),
    status: int | None = None,
    sent: Sequence[tuple[str, str]] = (),
    left_out: Collection[str] = (),
) -> HTMLResponse:
    """Return a page that says why, with the way back and, of a form, all that was sent."""
    path = request.url.path
    address = {key: text for key, text in request.query_params.items() if key not in left_out}
    back = next((one for one in WAYS_BACK if path.startswith(one)), "/desk")
    return page(
        "problems.html",
        address,
        problems,
        status=status,
        back=back,
        back_words=WAYS_BACK[back],
        sent=sent,
        to=request.url.path + query(address),
    )


def csv_file(table: Table, name: str) -> Response:
    """Return a table as a file for a spreadsheet."""
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(b"".join(csv_lines(table)), media_type="text/csv", headers=headers)


def query(address: Mapping[str, str | Sequence[str]], **changes: str | None) -> str:
    """Return an address with some of its answers changed; None takes one out."""
    merged = {**address, **changes}
    return "?" + urlencode({key: value for key, value in merged.items() if value}, doseq=True)


def kit_address(address: Mapping[str, str], parts: Mapping[str, str]) -> str:
    """Return where a kit is shown, with all that the caller told."""
    return "/desk/kit" + query({**_kept(address), **parts})


def kits_address(address: Mapping[str, str]) -> str:
    """Return where the kits are ranked that a page about one of them came from."""
    return "/desk" + query(_kept(address))


def _kept(address: Mapping[str, str]) -> dict[str, str]:
    return {key: address[key] for key in (*KEPT, "units") if key in address}


def _field_of(pointer: str) -> str:
    """Return the field of a page that a JSON pointer into its question means."""
    last = pointer.rsplit("/", 1)[-1]
    return _FIELDS.get(last, last)


def _told(problem: FieldProblem, name_of: Callable[[str], str]) -> tuple[str, str]:
    """Return the field and what is wrong with it; a validator's words do not name the field."""
    field, told = name_of(problem.pointer), complaint(problem)
    if not field or told == problem.detail or problem.code in SAID_BY_CODE:
        return field, told
    # The validator's sentences do not say what they are about.
    return field, f"{ASKED.get(field) or label_of(field)}: {told}"


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("service.pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    words = (
        choice_label,
        complaint,
        device,
        limit_in_words,
        plain,
        signed,
        there_in,
        weight,
        whole,
    )
    environment.filters.update({one.__name__: one for one in words})
    environment.globals.update(
        query=query,
        style=style_sheet().address,
        script=script().address,
        script_settings=json.dumps(SCRIPT_SETTINGS),
        kits_address=kits_address,
        kept=KEPT,
        goal_fields=GOAL,
        alike=ALIKE,
        never_typed=NEVER_TYPED,
        uses=USES,
        shown_in=shown_in,
        kit_fields={*KEPT, *(slot.value for slot in KIT_SLOTS)},
    )
    return environment
