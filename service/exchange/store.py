"""A whole file in one step: every line is written, or none.

This store stands on those of the slices below, because a file may hold families, parts,
rules and documents that only make sense together.
"""

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime

from sqlmodel import Session

from service.catalog.search import PartFilter
from service.catalog.store.families import put_families, put_stock_parts
from service.catalog.store.index import load_index
from service.catalog.store.lists import find_families, find_parts, find_rules
from service.catalog.store.parts import put_parts
from service.catalog.store.rules import put_rules
from service.compliance.store import find_documents, put_documents
from service.exchange.batch import Batch, Value
from service.exchange.files import Row
from service.exchange.report import MAX_PROBLEMS_LISTED, ImportReport, Kind, LineProblem
from service.exchange.schemas import read_rows
from service.revision import lock_catalog
from service.stored import Stored, Written


def import_rows(
    session: Session, rows: Iterable[Row | LineProblem], *, dry_run: bool
) -> ImportReport:
    """Write the rows of a file if all of them can be; a dry run takes it back at the end.

    A dry run does everything that a real one does, so that both give the same report.
    """
    lock_catalog(session)
    batch = read_rows(rows)
    today = datetime.now(UTC).date()
    problems = [*batch.problems, *batch.cross_problems(load_index(session), today)]
    if problems:
        return _refusal(problems, dry_run=dry_run)
    with session.begin_nested() as savepoint:
        written = _write(session, batch)
        if dry_run:
            savepoint.rollback()
    return ImportReport(
        dry_run=dry_run,
        created=sum(part.created for part in written),
        updated=sum(part.updated for part in written),
        unchanged=sum(part.unchanged for part in written),
    )


def find_values(session: Session, kind: Kind) -> list[Value]:
    """Return everything of one kind, by key."""
    found: Sequence[Stored[Value]]
    match kind:
        case Kind.FAMILIES:
            found = find_families(session)
        case Kind.PARTS:
            found = find_parts(session, PartFilter())
        case Kind.RULES:
            found = find_rules(session)
        case Kind.DOCUMENTS:
            found = find_documents(session)
    return [stored.value for stored in found]


def _write(session: Session, batch: Batch) -> list[Written]:
    """Write in the order in which the kinds lean on each other."""
    written = [put_families(session, batch.families), put_parts(session, batch.parts)]
    put_stock_parts(session, batch.families)
    written.append(put_rules(session, batch.rules))
    written.append(put_documents(session, batch.documents))
    return written


def _refusal(problems: list[LineProblem], *, dry_run: bool) -> ImportReport:
    problems.sort(key=lambda problem: (problem.file or "", problem.row))
    return ImportReport(
        dry_run=dry_run,
        rejected=len({(problem.file, problem.row) for problem in problems}),
        problem_count=len(problems),
        problems=tuple(problems[:MAX_PROBLEMS_LISTED]),
    )
