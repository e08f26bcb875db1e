"""Response surfaces over HTTP."""

import logging
from threading import Event, Lock

from fastapi import APIRouter, BackgroundTasks, Request, Response

from service.bodies import ApiRoute
from service.catalog.store.shelves import read_shelf
from service.conditional import ValidatorsDep, content_etag, version_etag
from service.database import Database, ReadSessionDep
from service.engine.cycle import KERNEL_VERSION
from service.engine.design import is_inside
from service.engine.features import FEATURES_VERSION
from service.jobs.job import FINISHED, Job, JobOrder
from service.jobs.store.jobs import add_job
from service.problems import problem_responses
from service.quantities import Key
from service.surfaces.catalogue import FamilyAirflow, family_airflow
from service.surfaces.fitting import ENGINES, KIND, SEED, piece_count
from service.surfaces.schemas import SurfaceOut, surface_out
from service.surfaces.store import find_surface, find_surface_facts, load_surface_facts

RETRY_AFTER_S = "5"
"""When to ask again for a refit: it takes half a minute or more."""

LOG = logging.getLogger(__name__)

router = APIRouter(prefix="/v1/surfaces", tags=["surfaces"], route_class=ApiRoute)


@router.get("")
def list_surfaces(session: ReadSessionDep) -> list[SurfaceOut]:
    """Return the fitted surface of every family that has one: its errors and its range."""
    return [surface_out(stored) for stored in find_surface_facts(session)]


@router.get("/{family}", responses=problem_responses(404, 422))
def read_surface(family: Key, session: ReadSessionDep, validators: ValidatorsDep) -> SurfaceOut:
    """Return how far a family's surface is off, and over which range it holds."""
    found = surface_out(load_surface_facts(session, family))
    validators.send(version_etag(found.version, str(found.is_of_this_version)))
    return found


@router.post("/{family}/refits", status_code=202, responses=problem_responses(404, 422))
def create_surface_refit(family: Key, request: Request, response: Response) -> Job:
    """Simulate and fit a family's surface again, as a job.

    The same parts under the same model are one job, even when it is done: a refit would
    give the same surface.
    """
    job = take_in(request.app.state.database, family)
    response.headers["Location"] = f"/v1/jobs/{job.id}"
    if job.state not in FINISHED:
        response.headers["Retry-After"] = RETRY_AFTER_S
    request.app.state.job_taken_in.set()
    return job


def take_in(database: Database, family: str) -> Job:
    """Take in a refit; the same parts under the same model are one job."""
    with database.reading() as session:
        order = refit_order(family, load_airflow(session, family))
    # Reading the catalogue takes a second; meanwhile other writers are not held up.
    with database.writing() as session:
        return add_job(session, order)


def refit_if_due(database: Database, family: str) -> Job | None:
    """Take in a refit where the model has changed, or a part has left the surface's range."""
    with database.reading() as session:
        known = find_surface(session, family)
        if known is None:
            return None
        airflow = load_airflow(session, family)
    if known.is_of_this_version and is_inside(known.surface.box, airflow.rows).all():
        return None
    with database.writing() as session:
        return add_job(session, refit_order(family, airflow))


class CatalogueWatch:
    """Looks, after the catalogue was written to, which surfaces no longer cover it.

    Reading a family takes a second: one look waits at most, whatever comes meanwhile.
    """

    def __init__(self, database: Database, wake: Event) -> None:
        self._database = database
        self._wake = wake
        self._looking, self._waiting = Lock(), Lock()

    def look(self) -> None:
        """Take in the refits that are due; what goes wrong is for the log, nobody waits."""
        try:
            self._look()
        except Exception:
            LOG.exception("It could not be seen whether a refit is due.")

    def _look(self) -> None:
        if not self._waiting.acquire(blocking=False):
            return
        with self._looking:
            self._waiting.release()
            with self._database.reading() as session:
                known = [stored.value.family for stored in find_surface_facts(session)]
            due = [refit_if_due(self._database, family) for family in known]
            if any(due):
                self._wake.set()


def watch_catalogue(request: Request, background: BackgroundTasks) -> None:
    """Have the surfaces looked at when a request that writes has been answered."""
    if request.method != "GET":
        background.add_task(request.app.state.catalogue_watch.look)


def refit_order(family: str, airflow: FamilyAirflow, *, engines: int = ENGINES) -> JobOrder:
    """Return the order of a refit, under a key made from everything that decides it."""
    made_of = KIND, family, engines, airflow.digest, KERNEL_VERSION, FEATURES_VERSION
    return JobOrder(
        kind=KIND,
        payload={"family": family, "engines": engines, "seed": SEED, "digest": airflow.digest},
        key=content_etag(*made_of)[1:-1],
        item_count=piece_count(engines) + 1,
    )


def load_airflow(session: ReadSessionDep, key: str) -> FamilyAirflow:
    """Return what of a family's current parts decides its surface."""
    shelf = read_shelf(session, key)
    return family_airflow(shelf.family, shelf.by_slot)
