"""No write is lost and none is done twice, whenever a server is killed; on both databases."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from random import Random
from threading import Event

import pytest
from pydantic import TypeAdapter

from service.commands.upkeep import CHECKS
from service.database import Database
from service.kits.api import Assessor
from service.kits.kit import AssessmentRequest
from tests.kits.assembled import level_torque
from tests.quotes.desks import Desk, Written, seeded, total_of
from tests.quotes.killable import Killable, started
from tests.quotes.made import HOT_CAM_CENTS, Json, content, stock

pytestmark = pytest.mark.xdist_group("servers that are killed")
"""So that the application is built for them once."""

SERVERS = 2
"""On one database: what one did not answer is asked of the other too."""
DEATHS = 5
"""Of each."""
SEED = 7
"""Of amounts and of moments of death; what happens between is never the same twice."""


@pytest.mark.parametrize(("desk_count", "begin"), [(2, False), (20, True)])
def test_every_acknowledged_write_is_there_once_although_servers_are_killed(
    database: Database, database_url: str, tmp_path: Path, desk_count: int, *, begin: bool
) -> None:
    """Two desks on one quote; twenty on many, which they begin themselves."""
    stock(database)
    # Known, so that a server that has just started issues without a simulation.
    question = TypeAdapter(AssessmentRequest).validate_python(content()["question"])
    Assessor(database=database, run=level_torque).answer(question)
    random, quotes = seeded(SEED), list[int]()

    with started(database_url, SERVERS, tmp_path) as servers:
        ports = [server.port for server in servers]
        desks = [
            Desk(f"Desk {n}", ports, seeded(random.random()), quotes, begins=begin)
            for n in range(desk_count)
        ]
        desks[0].begin()
        _work_while_servers_die(desks, servers, random)
        listed = _listed(desks[0])
        histories = {each: desks[0].read(f"/{each}/history") for each in listed}
        bodies = {each: desks[0].read(f"/{each}") for each in listed}

    seen = sum((desk.seen for desk in desks), Counter())
    written = _by_quote(one for desk in desks for one in desk.written)
    assert listed.keys() == written.keys()
    for quote_id, writes in written.items():
        assert [(e["number"], e["kind"]) for e in histories[quote_id]] == [
            (one.version, one.event) for one in writes
        ]
        lines = [line for one in writes for line in one.lines]
        kept = bodies[quote_id]
        assert [line["title"] for line in kept["content"]["lines"]] == [x.title for x in lines]
        total = {"amount": total_of(lines, HOT_CAM_CENTS), "currency": "USD"}
        assert kept["bill"]["total"] == listed[quote_id]["total"] == total
    for check in CHECKS.values():
        with database.reading() as session:
            assert list(check(session)) == []
    # Otherwise nothing was shown. Two desks may be lucky, twenty are not.
    assert seen["lost"], "no answer was lost"
    assert seen["replayed"] or not begin, "no work outlived its answer"


def _work_while_servers_die(desks: list[Desk], servers: list[Killable], random: Random) -> None:
    """Have all desks write until every server has died often enough and lives again."""
    over = Event()
    with ThreadPoolExecutor(len(desks) + len(servers)) as threads:
        writing = [threads.submit(desk.work, over) for desk in desks]
        dying = [
            threads.submit(server.die_often, DEATHS, seeded(random.random())) for server in servers
        ]
        try:
            for each in dying:
                each.result()
        finally:
            over.set()
        for each in writing:
            each.result()


def _listed(desk: Desk) -> dict[int, Json]:
    """Return every quote as the list shows it."""
    found: dict[int, Json] = {}
    query = "?limit=100"
    while query:
        page = desk.read(query)
        found |= {each["id"]: each for each in page["items"]}
        query = f"?limit=100&cursor={page['next_cursor']}" if page["next_cursor"] else ""
    return found


def _by_quote(written: Iterable[Written]) -> dict[int, list[Written]]:
    found = defaultdict(list)
    for one in written:
        found[one.quote_id].append(one)
    return {key: sorted(each, key=lambda one: one.version) for key, each in found.items()}
