"""What is wrong with a database as a whole: its file, rows that point nowhere, its guards."""

from collections.abc import Iterator

from sqlalchemy import Connection, and_, func, select, text
from sqlalchemy.exc import DBAPIError
from sqlmodel import Session

from service.upkeep.store.snapshot import reflected

NEVER_CHANGED = ("quote_revision", "quote_event", "refusal", "work_sheet", "work_sheet_reading")
"""Tables whose rows the database itself guards."""


def file_problems(session: Session) -> Iterator[str]:
    """Yield what SQLite finds wrong with its own file, and amcheck with a server's indexes."""
    connection = session.connection()
    if connection.dialect.name != "sqlite":
        if not why_file_is_not_read(session):
            yield from _index_problems(connection)
        return
    for (found,) in connection.execute(text("PRAGMA integrity_check")):
        if found != "ok":
            yield f"the file: {found}"


def why_file_is_not_read(session: Session) -> str:
    """Say why nothing is known of the file; empty where it is looked at."""
    connection = session.connection()
    if connection.dialect.name == "sqlite":
        return ""
    may = (
        "SELECT has_function_privilege("
        "to_regprocedure('bt_index_check(regclass, boolean)')::oid, 'execute')"
    )
    why = {
        None: "it is the server's own, and its extension amcheck is not there to look with",
        False: "it is the server's own, and this user may not run bt_index_check",
        True: "",
    }
    return why[connection.execute(text(may)).scalar_one()]


def _index_problems(connection: Connection) -> Iterator[str]:
    """Compare every index with the rows of its table."""
    trees = text(
        "SELECT c.oid::regclass::text FROM pg_class c JOIN pg_am a ON a.oid = c.relam "
        "WHERE c.relkind = 'i' AND a.amname = 'btree' AND c.relnamespace = "
        "current_schema()::regnamespace ORDER BY 1"
    )
    for (index,) in connection.execute(trees).all():
        try:
            with connection.begin_nested():
                connection.execute(
                    text("SELECT bt_index_check(CAST(:index AS regclass), true)"), {"index": index}
                )
        except DBAPIError as error:
            yield f"the index {index}: {str(error.orig).splitlines()[0]}"


def orphan_problems(session: Session) -> Iterator[str]:
    """Yield which rows point at rows that are not there."""
    connection = session.connection()
    for table in reflected(connection).sorted_tables:
        for key in table.foreign_key_constraints:
            pairs = [(element.parent, element.column) for element in key.elements]
            parent = key.referred_table.alias()
            meets = and_(*(child == parent.c[other.name] for child, other in pairs))
            points = and_(*(child.is_not(None) for child, _ in pairs))
            first = parent.c[pairs[0][1].name]
            statement = (
                select(func.count())
                .select_from(table.outerjoin(parent, meets))
                .where(points, first.is_(None))
            )
            if count := connection.execute(statement).scalar_one():
                yield f"{count} rows of {table.name} point at no row of {key.referred_table.name}"


def guard_problems(session: Session) -> Iterator[str]:
    """Yield which tables have lost the triggers that keep their rows from being changed."""
    connection = session.connection()
    if connection.dialect.name == "sqlite":
        query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ends: tuple[str, ...] = ("no_update", "no_delete", "no_replace")
    else:
        query = (
            "SELECT t.tgname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
            "WHERE NOT t.tgisinternal AND t.tgenabled <> 'D' "
            "AND c.relnamespace = current_schema()::regnamespace"
        )
        ends = ("never_changed", "never_emptied")
    there = {name for (name,) in connection.execute(text(query))}
    for table in NEVER_CHANGED:
        if missing := [end for end in ends if f"{table}_{end}" not in there]:
            gone = ", ".join(missing)
            yield f"{table}: nothing keeps its rows as they are any longer ({gone})"
