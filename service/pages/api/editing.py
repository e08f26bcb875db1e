"""Forms of the shop: one item of the catalogue changed, or a new one taken in.

The version that a form was filled from travels with it, as If-Match does with a request.
What was typed comes back with every answer that is not "saved".
"""

from collections.abc import Iterator, Mapping
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from service.catalog.slots import Slot
from service.database import SessionDep
from service.errors import FieldProblem
from service.exchange.report import Kind
from service.pages.api.asking import attempt
from service.pages.api.forms import KEY, MOST_FIELDS, Sent, SentDep, done_once, new_key
from service.pages.api.kept import EDITABLE, Editable
from service.pages.api.page_route import SEE_OTHER, PageRoute
from service.pages.api.rendering import page, query
from service.pages.complaints import complaint
from service.pages.filled import document_of
from service.pages.forms import names_in
from service.pages.labels import label_of

STALE = 412
MORE = "more:"
"""Before the name of a table: how many empty rows it got on request."""
ADD, DROP = "add", "drop"
"""Fields of the buttons for another row or piece, and one less."""

router = APIRouter(prefix="/shop", include_in_schema=False, route_class=PageRoute)


@router.get("/change/{kind}/{key:path}")
def show_change(request: Request, kind: Kind, key: str) -> HTMLResponse:
    """Show one item of the catalogue as a form."""
    editable = EDITABLE[kind]
    document, version = editable.held(request, key)
    return _form(request, editable, document, key=key, version=version)


@router.post("/change/{kind}/{key:path}")
def submit_change(request: Request, kind: Kind, key: str, filled: SentDep) -> Response:
    """Save an item that nobody has changed since the form was opened."""
    editable = EDITABLE[kind]
    held, current = editable.held(request, key)
    filled = _without_dropped(filled)
    document = document_of(editable.form, editable.schema, filled, held)
    version = int(text) if (text := _one(filled, "version")).isdecimal() else 0
    if _is_to_go_on(filled):
        return _form(request, editable, document, filled, key=key, version=version)

    def work(session: SessionDep) -> str:
        editable.change(session, key, document, version)
        return _address(request, kind, key)

    saved, problems = attempt(lambda: done_once(request, filled, work))
    if saved is not None:
        return saved
    if version == current:
        return _form(request, editable, document, filled, problems, key=key, version=version)
    others = tuple(_differences(held, document, ""))
    if not others:
        # Somebody else has saved just that.
        return RedirectResponse(_address(request, kind, key), SEE_OTHER)
    return _form(request, editable, document, filled, key=key, version=current, others=others)


@router.get("/new/{kind}")
def show_new(request: Request, kind: Kind) -> HTMLResponse:
    """Show an empty form, or one filled from an item that is like the new one."""
    editable = EDITABLE[kind]
    document: dict[str, Any] = {}
    if like := request.query_params.get("like"):
        document, _ = editable.held(request, like)
        document.pop(editable.shape.key_field)
    elif kind is Kind.PARTS:
        document = {"spec": {"slot": request.query_params.get("slot", Slot.INTAKE_MANIFOLD.value)}}
    return _form(request, editable, document)


@router.post("/new/{kind}")
def submit_new(request: Request, kind: Kind, filled: SentDep) -> Response:
    """Take a new item in."""
    editable = EDITABLE[kind]
    filled = _without_dropped(filled)
    document = document_of(editable.form, editable.schema, filled)
    if _is_to_go_on(filled):
        return _form(request, editable, document, filled)

    def work(session: SessionDep) -> str:
        editable.create(session, document)
        return _address(request, kind, document[editable.shape.key_field])

    created, problems = attempt(lambda: done_once(request, filled, work))
    return created or _form(request, editable, document, filled, problems)


def _form(
    request: Request,
    editable: Editable,
    document: Mapping[str, Any],
    filled: Sent | None = None,
    problems: tuple[FieldProblem, ...] = (),
    *,
    key: str | None = None,
    version: int = 0,
    others: tuple[tuple[str, str, str], ...] = (),
) -> HTMLResponse:
    more = _more_rows(filled or {})
    items = editable.form.filled(document, more)
    names = set(names_in(items))
    wrong: dict[str, list[str]] = {}
    for problem in problems:
        wrong.setdefault(_named(problem.pointer, names), []).append(complaint(problem))
    return page(
        "edit.html",
        dict(request.query_params),
        problems,
        status=STALE if others else None,
        field_of=lambda pointer: _named(pointer, names),
        one=editable.one,
        kind=editable.kind.value,
        key=key,
        key_field=editable.shape.key_field,
        items=items,
        version=version,
        sent_as=_one(filled or {}, KEY) or new_key(),
        more={MORE + name: count for name, count in more.items()},
        wrong=wrong,
        others=others,
        saved="saved" in request.query_params and filled is None,
    )


def _named(pointer: str, names: set[str]) -> str:
    """Return the field that a pointer means: itself, or the nearest thing that holds it."""
    name = pointer.removeprefix("/")
    while name and name not in names:
        name = name.rpartition("/")[0]
    return name


def _is_to_go_on(filled: Sent) -> bool:
    """Say whether a form was sent for more or less of a list, not to be kept."""
    return ADD in filled or DROP in filled


def _without_dropped(filled: Sent) -> Sent:
    """Return what was sent without the piece of a list that is to be taken out."""
    if not (dropped := _one(filled, DROP)):
        return filled
    below = (f"{dropped}/", f"{MORE}{dropped}/")
    return {name: texts for name, texts in filled.items() if not name.startswith(below)}


def _more_rows(filled: Sent) -> dict[str, int]:
    found = {
        name.removeprefix(MORE): int(values[0])
        for name, values in filled.items()
        if name.startswith(MORE) and values[0].isdecimal()
    }
    if added := _one(filled, ADD):
        found[added] = min(found.get(added, 0) + 1, MOST_FIELDS)
    return found


def _differences(held: Any, typed: Any, name: str) -> Iterator[tuple[str, str, str]]:  # noqa: ANN401 - JSON holds anything.
    """Yield each field that stands otherwise in the catalogue: its label, there, here."""
    if isinstance(held, Mapping) and isinstance(typed, Mapping):
        for key in held:
            yield from _differences(held[key], typed.get(key), f"{name}/{key}")
    elif (held or None) != (typed or None) and _shown(held) != _shown(typed):
        yield label_of(name), _shown(held), _shown(typed)


def _shown(value: Any) -> str:  # noqa: ANN401 - JSON holds anything.
    if isinstance(value, list):
        return "; ".join(_shown(one) for one in value) or "nothing"
    if isinstance(value, Mapping):
        return ", ".join(f"{label_of(key)} {_shown(one)}" for key, one in value.items() if one)
    return "nothing" if value in (None, "") else str(value)


def _one(filled: Sent, name: str) -> str:
    return next(iter(filled.get(name, ())), "")


def _address(request: Request, kind: Kind, key: str) -> str:
    kept = {"units": request.query_params.get("units", ""), "saved": "yes"}
    return f"{router.prefix}/change/{kind.value}/{quote(key)}" + query(kept)
