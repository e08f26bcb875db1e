from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta, timezone
from threading import Barrier

import pytest
from fastapi import APIRouter
from fastapi.testclient import TestClient
from sqlalchemy import MetaData, inspect, text
from sqlalchemy.exc import DBAPIError, StatementError
from sqlmodel import Field, SQLModel, func, select

from service.app import create_app
from service.bodies import ApiRoute
from service.columns import UtcDateTime
from service.database import Database, ReadSessionDep, SessionDep
from service.errors import Conflict, Unavailable
from service.settings import Settings

THREADS = 4
TURNS = 30


class TrialBase(SQLModel):
    """Tables of these tests alone; they stay out of the service's metadata."""

    metadata = MetaData(naming_convention=SQLModel.metadata.naming_convention)


class TrialRow(TrialBase, table=True):
    __tablename__ = "trial"

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(unique=True)
    count: int = 0
    seen_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class TrialChildRow(TrialBase, table=True):
    __tablename__ = "trial_child"

    id: int | None = Field(default=None, primary_key=True)
    trial_id: int = Field(foreign_key="trial.id")


router = APIRouter(prefix="/trial", route_class=ApiRoute)


@router.post("/rows/{name}", status_code=201)
def create_trial_row(name: str, session: SessionDep) -> str:
    """Leave the insert to the commit."""
    session.add(TrialRow(name=name))
    return name


@router.get("/rows")
def list_trial_rows(session: ReadSessionDep) -> list[str]:
    return list(session.exec(select(TrialRow.name)))


@router.get("/writes")
def write_while_reading(session: ReadSessionDep) -> None:
    session.add(TrialRow(name="unwanted"))
    session.flush()


@pytest.fixture
def trial(database: Database) -> Iterator[Database]:
    TrialBase.metadata.create_all(database.engine)
    yield database
    TrialBase.metadata.drop_all(database.engine)


@pytest.fixture
def trial_client(trial: Database, database_url: str) -> Iterator[TestClient]:
    del trial
    app = create_app(Settings(_env_file=None, database_url=database_url), [router])
    with TestClient(app, raise_server_exceptions=False) as client:
        yield client


def count_rows(database: Database) -> int:
    with database.reading() as session:
        return session.exec(select(func.count()).select_from(TrialRow)).one()


def test_no_update_is_lost_between_threads_that_read_change_and_write(trial: Database) -> None:
    """The starting order is forced by a barrier; the row lock is what PostgreSQL needs."""
    with trial.writing() as session:
        session.add(TrialRow(name="counter"))
    start = Barrier(THREADS)

    def count_up() -> None:
        start.wait()
        for _ in range(TURNS):
            with trial.writing() as session:
                row = session.exec(select(TrialRow).with_for_update()).one()
                row.count += 1

    with ThreadPoolExecutor(THREADS) as threads:
        for outcome in [threads.submit(count_up) for _ in range(THREADS)]:
            outcome.result()

    with trial.reading() as session:
        assert session.exec(select(TrialRow.count)).one() == THREADS * TURNS


def test_an_insert_that_fails_at_commit_is_an_error_and_leaves_one_row(
    trial_client: TestClient, trial: Database
) -> None:
    first = trial_client.post("/trial/rows/heron")
    second = trial_client.post("/trial/rows/heron")

    assert (first.status_code, second.status_code) == (201, 409)
    assert count_rows(trial) == 1


def test_a_reading_route_answers_while_a_writer_is_at_work(
    trial_client: TestClient, trial: Database
) -> None:
    with trial.writing() as session:
        session.add(TrialRow(name="unfinished"))
        session.flush()

        assert trial_client.get("/trial/rows").json() == []

    assert trial_client.get("/trial/rows").json() == ["unfinished"]


def test_a_reading_route_cannot_write(trial_client: TestClient, trial: Database) -> None:
    answer = trial_client.get("/trial/writes")

    assert answer.status_code == 500
    assert count_rows(trial) == 0


def test_a_connection_that_read_can_write_when_it_is_used_again(database_url: str) -> None:
    single = Database.open(database_url, pool_size=1)
    TrialBase.metadata.create_all(single.engine)

    count_rows(single)
    with single.writing() as session:
        session.add(TrialRow(name="after"))

    assert count_rows(single) == 1
    TrialBase.metadata.drop_all(single.engine)
    single.close()


def test_a_reader_sees_one_state_of_the_data_throughout(trial: Database) -> None:
    with trial.reading() as reader:
        before = reader.exec(select(func.count()).select_from(TrialRow)).one()
        with trial.writing() as writer:
            writer.add(TrialRow(name="new"))

        assert reader.exec(select(func.count()).select_from(TrialRow)).one() == before == 0


def test_a_peek_does_not_wait_for_a_connection_that_is_in_use(database_url: str) -> None:
    """The event loop peeks; a connection in use is given back by way of the event loop."""
    database = Database.open(database_url, pool_size=1)

    with database.reading() as session:
        session.connection()
        number = database.peek("SELECT 7")

    database.close()
    assert number == 7


def test_what_is_committed_is_on_the_disk(trial: Database) -> None:
    """Pages "PRAGMA synchronous" (2 is FULL) and "Asynchronous Commit" of the two manuals."""
    asked = "PRAGMA synchronous" if trial.is_embedded else "SHOW synchronous_commit"

    with trial.writing() as session:
        told = session.connection().exec_driver_sql(asked).scalar()

    assert told == (2 if trial.is_embedded else "on")


def test_an_error_undoes_the_whole_transaction(trial: Database) -> None:
    def fail_halfway() -> None:
        with trial.writing() as session:
            session.add(TrialRow(name="half"))
            session.flush()
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail_halfway()

    assert count_rows(trial) == 0


def test_a_row_that_points_nowhere_is_a_conflict(trial: Database) -> None:
    with pytest.raises(Conflict), trial.writing() as session:
        session.add(TrialChildRow(trial_id=41))


def test_a_missing_value_is_our_own_fault_and_no_conflict(trial: Database) -> None:
    with pytest.raises(DBAPIError), trial.writing() as session:
        session.connection().execute(text("INSERT INTO trial (count) VALUES (1)"))


def test_a_writer_that_waits_too_long_is_told_to_try_again(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """SQLite lets in one writer; PostgreSQL has no such wait."""
    url = f"sqlite:///{tmp_path_factory.mktemp('busy') / 'busy.db'}"
    database = Database.open(url, pool_size=2)
    TrialBase.metadata.create_all(database.engine)

    with database.writing() as first:
        first.add(TrialRow(name="first"))
        first.flush()
        with pytest.raises(Unavailable), database.writing() as second:
            second.connection().exec_driver_sql("SELECT 1")

    database.close()


def test_moments_come_back_in_utc_whatever_zone_they_had(trial: Database) -> None:
    noon = datetime(2026, 11, 25, 12, tzinfo=timezone(timedelta(hours=-6)))
    with trial.writing() as session:
        session.add(TrialRow(name="noon", seen_at=noon))

    with trial.reading() as session:
        seen = session.exec(select(TrialRow.seen_at)).one()
    assert seen == noon
    assert seen is not None
    assert seen.tzinfo is UTC or seen.utcoffset() == timedelta(0)


def test_a_moment_without_a_zone_is_refused(trial: Database) -> None:
    naive = datetime(2026, 11, 25, 12)  # noqa: DTZ001 - That it has no zone is the point.
    with pytest.raises(StatementError, match="time zone"), trial.writing() as session:
        session.add(TrialRow(name="noon", seen_at=naive))


def test_every_constraint_has_a_name_to_drop_it_by(trial: Database) -> None:
    found = inspect(trial.engine)

    assert [c["name"] for c in found.get_unique_constraints("trial")] == ["uq_trial_name"]
    (foreign,) = found.get_foreign_keys("trial_child")
    assert foreign["name"] == "fk_trial_child_trial_id_trial"
