"""Searches: written once, read again."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from pydantic import TypeAdapter
from sqlmodel import Session

from service.errors import Conflict, NotFound
from service.searches.answer import SearchResult, SinceThen, Snapshot
from service.searches.confirming import Yardstick
from service.searches.question import SearchRequest
from service.searches.tables import SearchRow

_REQUEST = TypeAdapter(SearchRequest)
_RESULT = TypeAdapter(SearchResult)
_YARDSTICK = TypeAdapter(Yardstick)
_SINCE = TypeAdapter(SinceThen)


class SearchNotFound(NotFound):
    """No search has this number."""

    def __init__(self, search_id: int) -> None:
        super().__init__(f"There is no search {search_id}.")


class CatalogueMovedOn(Conflict):
    """More of a ranking was asked for than was kept, and the catalogue is another by now."""

    def __init__(self, search_id: int) -> None:
        super().__init__(
            "The catalogue has changed since this search; its first page stands as it was. "
            f"POST /v1/searches/{search_id}/reruns asks it again and tells what changed."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptSearch:
    """A search as it was asked and answered."""

    id: int = 0
    """0: not kept yet."""
    created_at: datetime
    catalog_revision: int
    model_version: str
    request: SearchRequest
    result: SearchResult
    yardstick: Yardstick
    parts: Snapshot
    since_then: SinceThen | None = None
    simulation_id: int | None = None


def add_search(session: Session, search: KeptSearch) -> int:
    """Keep a search and return its number."""
    row = SearchRow(
        created_at=search.created_at,
        catalog_revision=search.catalog_revision,
        model_version=search.model_version,
        request=_plain(_REQUEST, search.request),
        result=_plain(_RESULT, search.result),
        yardstick=_plain(_YARDSTICK, search.yardstick),
        parts=search.parts,
        since_then=None if search.since_then is None else _plain(_SINCE, search.since_then),
        simulation_id=search.simulation_id,
    )
    session.add(row)
    session.flush()
    return row.id or 0


def load_search(session: Session, search_id: int) -> KeptSearch:
    """Return a search, or raise `SearchNotFound`."""
    row = session.get(SearchRow, search_id)
    if row is None:
        raise SearchNotFound(search_id)
    return KeptSearch(
        id=search_id,
        created_at=row.created_at,
        catalog_revision=row.catalog_revision,
        model_version=row.model_version,
        request=_REQUEST.validate_python(row.request),
        result=_RESULT.validate_python(row.result),
        yardstick=_YARDSTICK.validate_python(row.yardstick),
        parts=row.parts,
        since_then=None if row.since_then is None else _SINCE.validate_python(row.since_then),
        simulation_id=row.simulation_id,
    )


def _plain(adapter: TypeAdapter[Any], value: object) -> dict[str, Any]:
    document: dict[str, Any] = adapter.dump_python(value, mode="json")
    return document
