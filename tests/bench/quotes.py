"""Quotes listed, searched and opened over HTTP, from a hundred to a hundred thousand of them.

One quote is made, declared and issued over HTTP and then copied row by row. Every copy has
its content and its parts; fifty of each size have their revision with both printed copies,
so that the larger sizes fit on a disk.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from http import HTTPStatus
from http.client import HTTPConnection
from itertools import pairwise
from pathlib import Path
from statistics import median
from typing import Any
from urllib.parse import urlencode

from pydantic import TypeAdapter
from sqlmodel import SQLModel, insert, select

from service.database import Database
from service.kits.api import Assessor
from service.kits.kit import AssessmentRequest
from service.paging import write_cursor
from service.quotes.lists import folded
from service.quotes.quote import QuoteState
from service.quotes.tables import QuotePartRow, QuoteRevisionRow, QuoteRow
from service.settings import KNOWN_SECRET
from tests.bench.figures import migrated, spread, timed_ms
from tests.bench.serving import worker_on
from tests.databases import postgres_database
from tests.kits.assembled import level_torque
from tests.quotes.made import ADDRESS, HOT_CAM, Json, content, stock
from tests.served import HOST, sqlite_url

SIZES = (100, 1_000, 10_000, 100_000)
ROUNDS = 30
WARMING = 3
AT_ONCE = 2_000
"""Rows of one insert."""
PARTS_EACH = 9
"""Beside the camshaft that every quote charges."""
PARTS_IN_ALL = 1_000
QUOTES_OF_ONE = 5
"""Under each customer's reference."""
REVISIONS = 50
EVERY = timedelta(minutes=10)
OLDEST = datetime(2024, 1, 1, tzinfo=UTC)
STATES = (
    QuoteState.ISSUED,
    QuoteState.DRAFT,
    QuoteState.ACCEPTED,
    QuoteState.DECLINED,
    QuoteState.EXPIRED,
)


@dataclass(frozen=True)
class Template:
    """The rows of the quote that is copied."""

    quote: Json
    revision: Json


def quote_figures(folder: Path) -> dict[str, Any]:
    """Medians by engine and size, their growth, and how many echoes of that size they cost."""
    found = {"sqlite": _of_engine(sqlite_url(folder / "quotes.db"))}
    with postgres_database() as url:
        found["postgresql"] = _of_engine(url)
    return found


def _of_engine(url: str) -> dict[str, Any]:
    database = migrated(url)
    stock(database)
    by_size: dict[int, dict[str, Any]] = {}
    with worker_on(url) as port:
        connection = HTTPConnection(HOST, port)
        template = _issued(connection, database)
        for before, size in pairwise((1, *SIZES)):
            issued = _multiply(database, template, range(before + 1, size + 1))
            asked = {**_searches(size), "open_issued": [f"/{number}" for number in issued]}
            by_size[size] = _measured(connection, asked)
    database.close()
    growth = {
        name: float(f"{figures['ms']['median'] / by_size[SIZES[0]][name]['ms']['median']:.3g}")
        for name, figures in by_size[SIZES[-1]].items()
    }
    return {"by_size": by_size, "growth": growth}


def _issued(connection: HTTPConnection, database: Database) -> Template:
    """Make and issue one quote; return its rows."""
    # Known beforehand: what issuing costs is no part of this.
    question = TypeAdapter(AssessmentRequest).validate_python(content()["question"])
    Assessor(database=database, run=level_torque).answer(question)
    quote = _write(connection, "", {"content": content()})
    words = {"name": "Demo Customer", "text": quote["declaration_text"]}
    quote = _write(connection, f"/{quote['id']}/declaration", words, quote["version"])
    _write(connection, f"/{quote['id']}/issue", {}, quote["version"])
    with database.reading() as session:
        row = session.exec(select(QuoteRow)).one()
        revision = session.exec(select(QuoteRevisionRow)).one()
    return Template(row.model_dump(), revision.model_dump())


def _multiply(database: Database, template: Template, numbers: range) -> list[int]:
    """Copy it under these numbers, the newest last; return those that have their revision."""
    for start in range(numbers.start, numbers.stop, AT_ONCE):
        some = range(start, min(start + AT_ONCE, numbers.stop))
        _insert(database, QuoteRow, [_copy(template, number) for number in some])
        _insert(database, QuotePartRow, [part for number in some for part in _parts(number)])
    issued = [number for number in numbers if _state(number) is QuoteState.ISSUED]
    kept = issued[:: max(1, len(issued) // REVISIONS)]
    _insert(database, QuoteRevisionRow, [{**template.revision, "quote_id": n} for n in kept])
    if not database.is_embedded:
        # As the server does by itself after a while.
        with database.engine.connect() as connection:
            connection.execution_options(isolation_level="AUTOCOMMIT").exec_driver_sql("ANALYZE")
    return kept


def _insert(database: Database, table: type[SQLModel], rows: list[Json]) -> None:
    with database.writing() as session:
        session.connection().execute(insert(table), rows)


def _copy(template: Template, number: int) -> Json:
    at, state = OLDEST + number * EVERY, _state(number)
    return {
        **template.quote,
        "id": number,
        "state": state.value,
        "issued_state": None if state is QuoteState.DRAFT else state.value,
        "revision": 0 if state is QuoteState.DRAFT else 1,
        "customer_reference": _reference(number),
        "reference_folded": folded(_reference(number)),
        "created_at": at,
        "updated_at": at,
    }


def _state(number: int) -> QuoteState:
    return STATES[number % len(STATES)]


def _reference(number: int) -> str:
    return f"PO-{number // QUOTES_OF_ONE}"


def _parts(number: int) -> Iterator[Json]:
    yield {"sku": HOT_CAM, "quote_id": number}
    for place in range(PARTS_EACH):
        sku = f"DEMO-{(number + place * PARTS_IN_ALL // PARTS_EACH) % PARTS_IN_ALL}"
        yield {"sku": sku, "quote_id": number}


def _searches(size: int) -> dict[str, list[str]]:
    """Return what is asked at a size, each in several ways."""
    some = range(size // 10, size, size // 10)
    days = [{"created_from": day, "created_to": day} for day in map(_day, some)]
    month = {"created_from": _day(0), "created_to": _day(min(size, 4_000))}
    state = {"state": "accepted"}
    searches: dict[str, list[dict[str, str]]] = {
        "list": [{}],
        "list_from_the_middle": [{"cursor": _cursor(size // 2)}],
        "by_reference": [{"customer_reference": _reference(number)} for number in some],
        "by_piece_of_name": [{"customer_name": "CUSTOMER"}],
        "by_absent_reference": [{"customer_reference": "nowhere"}],
        "by_state": [state],
        "by_common_part": [{"part": HOT_CAM}],
        "by_rare_part": [{"part": f"DEMO-{number % PARTS_IN_ALL}"} for number in some],
        "by_absent_part": [{"part": "DEMO-NONE"}],
        "by_day": days,
        "by_first_month": [month],
        "by_state_and_day": [state | day for day in days],
        "by_common_part_and_day": [{"part": HOT_CAM} | day for day in days],
        "by_all": [state | {"part": HOT_CAM, "customer_reference": _reference(size // 2)} | month],
    }
    asked = {name: [f"?{urlencode(each)}" for each in ways] for name, ways in searches.items()}
    return {**asked, "open_draft": [f"/{number + 1}" for number in some]}


def _day(number: int) -> str:
    return (OLDEST + number * EVERY).date().isoformat()


def _cursor(number: int) -> str:
    return write_cursor((number,), key=KNOWN_SECRET.encode(), scope=json.dumps([ADDRESS, []]))


def _measured(connection: HTTPConnection, asked: dict[str, list[str]]) -> dict[str, Any]:
    """Ask everything in turns, and each answer's size of an echo beside it."""
    # The server has closed it meanwhile; it is opened again by itself.
    connection.close()
    answered: dict[str, list[float]] = {name: [] for name in asked}
    echoed: dict[str, list[float]] = {name: [] for name in asked}
    size: dict[str, int] = {}
    for place in range(-WARMING, ROUNDS):
        for name, paths in asked.items():
            path = ADDRESS + paths[place % len(paths)]
            answer = _send(connection, "GET", path)
            ask = partial(_send, connection, "GET", path)
            echo = partial(_send, connection, "POST", "/echo", answer)
            if place >= 0:
                answered[name].append(timed_ms(ask))
                echoed[name].append(timed_ms(echo))
            size[name] = len(answer)
    return {
        name: {
            "ms": spread(answered[name]),
            "echoes": float(f"{median(answered[name]) / median(echoed[name]):.3g}"),
            "answer_bytes": size[name],
        }
        for name in asked
    }


def _write(connection: HTTPConnection, path: str, body: Json, version: int | None = None) -> Json:
    headers = {} if version is None else {"If-Match": f'"{version}"'}
    text = json.dumps({"by": "Demo desk", **body}).encode()
    return dict(json.loads(_send(connection, "POST", ADDRESS + path, text, headers)))


def _send(
    connection: HTTPConnection,
    method: str,
    path: str,
    body: bytes | None = None,
    headers: dict[str, str] | None = None,
) -> bytes:
    typed = {"Content-Type": "application/json", **(headers or {})}
    connection.request(method, path, body, {} if body is None else typed)
    answer = connection.getresponse()
    told = answer.read()
    if not answer.status < HTTPStatus.MULTIPLE_CHOICES:
        raise RuntimeError(told.decode())
    return told
