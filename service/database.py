"""The connection to the database: how it is set up, and the only place that commits.

Two kinds of transaction. A *writing* one takes the write lock of SQLite at its start
(`BEGIN IMMEDIATE`), so that what it has read cannot change before it writes. A *reading*
one never takes it, sees one state of the data throughout, and is refused any write, on
both engines. Routes ask for `SessionDep` or `ReadSessionDep`.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import AbstractContextManager, closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Self

from fastapi import Depends, Request
from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import DBAPIError
from sqlmodel import Session, SQLModel

from service.errors import Conflict, Unavailable

BUSY_TIMEOUT_MS = 5000
"""How long a writer waits for the one before it. [ms]"""

TAKEN_OR_IN_USE = {
    "SQLITE_CONSTRAINT_UNIQUE",
    "SQLITE_CONSTRAINT_PRIMARYKEY",
    "SQLITE_CONSTRAINT_FOREIGNKEY",
    "23505",  # PostgreSQL, appendix A of its manual: unique_violation.
    "23503",  # foreign_key_violation.
}
BUSY = {"SQLITE_BUSY", "40001", "40P01"}
"""The last two are PostgreSQL's serialization_failure and deadlock_detected."""

SQLModel.metadata.naming_convention = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Database:
    """One pool of connections for both kinds of transaction, and one connection for peeks."""

    engine: Engine
    read_engine: Engine
    """The same pool; its transactions cannot write."""
    peek_engine: Engine
    """Of its own: the event loop peeks, and connections in use are given back through it."""

    @classmethod
    def open(cls, url: str, *, pool_size: int) -> Self:
        """Prepare a pool; nothing is connected before the first use."""
        engine = build_db_engine(url, pool_size=pool_size)
        options = {"read_only": True}
        if engine.dialect.name == "postgresql":
            options["postgresql_readonly"] = True
            engine_of_readers = engine.execution_options(
                **options, isolation_level="REPEATABLE READ"
            )
        else:
            engine_of_readers = engine.execution_options(**options)
        peek_engine = build_db_engine(url, pool_size=1)
        return cls(engine=engine, read_engine=engine_of_readers, peek_engine=peek_engine)

    def writing(self) -> AbstractContextManager[Session]:
        """Open a session that commits at the end, or rolls back on an error."""
        return _committed(self.engine)

    def reading(self) -> Session:
        """Open a session that can only read."""
        return Session(self.read_engine, expire_on_commit=False)

    @property
    def is_embedded(self) -> bool:
        """Whether it is a file of this process, where a reader never waits."""
        return self.engine.dialect.name == "sqlite"

    def peek(self, query: str) -> int | None:
        """Return one number by one statement, outside any transaction.

        A session costs four statements; under load each makes its thread wait for the
        interpreter. What was peeked at may change before anything else is read.
        """
        with closing(self.peek_engine.raw_connection()) as connection:
            cursor = connection.cursor()
            cursor.execute(query)
            row = cursor.fetchone()
        return None if row is None else int(row[0])

    def answers(self) -> bool:
        """Say whether the database can be reached."""
        try:
            with self.read_engine.connect() as connection:
                connection.exec_driver_sql("SELECT 1")
        except DBAPIError:
            return False
        return True

    def close(self) -> None:
        """Give every connection back."""
        self.engine.dispose()
        self.peek_engine.dispose()


def build_db_engine(url: str, *, pool_size: int) -> Engine:
    """Return an engine whose pool has a connection for every thread that may ask."""
    parsed = make_url(url)
    if parsed.get_backend_name() != "sqlite":
        return create_engine(parsed, pool_size=pool_size, max_overflow=0, pool_pre_ping=True)
    if parsed.database:
        Path(parsed.database).parent.mkdir(parents=True, exist_ok=True)
    engine = create_engine(
        parsed,
        pool_size=pool_size,
        max_overflow=0,
        # A session is opened and closed by whichever thread is free, never used by two at once.
        # Without an isolation level the driver leaves BEGIN to `_begin_on_sqlite`.
        connect_args={"check_same_thread": False, "isolation_level": None},
    )
    event.listen(engine, "connect", _set_up_sqlite)
    event.listen(engine, "begin", _begin_on_sqlite)
    return engine


def open_session(request: Request) -> Iterator[Session]:
    """Give a route a session; its work is committed before the answer is sent."""
    database: Database = request.app.state.database
    with database.writing() as session:
        request.state.session = session
        # What names this request comes first into its transaction, and its answer last.
        if on_session := getattr(request.state, "on_session", None):
            on_session(session)
        yield session


def open_read_session(request: Request) -> Iterator[Session]:
    """Give a route a session that can only read."""
    database: Database = request.app.state.database
    with database.reading() as session:
        yield session


# With the default scope the code after `yield` would run after the answer had been sent:
# a commit that fails would then follow a 201.
SessionDep = Annotated[Session, Depends(open_session, scope="function")]
ReadSessionDep = Annotated[Session, Depends(open_read_session, scope="function")]


@contextmanager
def _committed(engine: Engine) -> Iterator[Session]:
    try:
        with Session(engine, expire_on_commit=False) as session:
            yield session
            session.commit()
    except DBAPIError as error:
        raise _explained(error) from error


def _explained(error: DBAPIError) -> Exception:
    """Return what another request caused as an error of ours; the rest is a bug and stays."""
    cause = error.orig
    code = getattr(cause, "sqlstate", None) or getattr(cause, "sqlite_errorname", None)
    if code in TAKEN_OR_IN_USE:
        return Conflict("A key is taken already, or the item is still in use.")
    if code in BUSY:
        return Unavailable("Too many changes at once; try again.")
    return error


def _set_up_sqlite(connection: sqlite3.Connection, _record: object) -> None:
    # The timeout comes first: the change to WAL has to wait its turn too.
    connection.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
    connection.execute("PRAGMA journal_mode = WAL")
    # With WAL, NORMAL may forget what it committed last when the power fails.
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")


def _begin_on_sqlite(connection: Connection) -> None:
    reads = bool(connection.get_execution_options().get("read_only"))
    connection.exec_driver_sql(f"PRAGMA query_only = {'ON' if reads else 'OFF'}")
    connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")
