"""Simulations over HTTP: taken in as jobs, read as curves."""

import asyncio
import json
from time import monotonic
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Header, Request, Response
from fastapi.concurrency import run_in_threadpool
from pydantic import TypeAdapter

from service.bodies import ApiRoute
from service.conditional import ValidatorsDep, content_etag, version_etag
from service.database import Database, ReadSessionDep
from service.errors import InvalidInput
from service.jobs.api import RETRY_AFTER_S, JobId
from service.jobs.job import FINISHED, Job, JobItem, JobState
from service.jobs.store.jobs import add_finished_job, add_job, find_items, find_job, load_job
from service.kits import api as kits
from service.kits.kit import AssessmentRequest
from service.kits.store import find_assessments, find_kept
from service.paging import DEFAULT_LIMIT, Paging, PagingDep
from service.problems import problem_responses
from service.simulations.prefer import preferences, wait_s
from service.simulations.runner import RESULT_URL, kept_value
from service.simulations.schemas import SimulationRequest, as_list, simulation_order
from service.simulations.simulation import (
    KIND,
    Simulation,
    SimulationNotFound,
    simulated_kit,
)

LOOK_EVERY_S = 0.1
"""How often a job is looked at for a caller who waits."""

router = APIRouter(prefix="/v1/simulations", tags=["simulations"], route_class=ApiRoute)

_JOB = TypeAdapter(Job)


async def read_preferences(
    request: Request,
    prefer: Annotated[
        str, Header(description="RFC 7240: `wait=10` holds the answer for up to so many seconds.")
    ] = "",
) -> dict[str, str]:
    """Read Prefer, which may come in several lines."""
    del prefer  # It is documented as one line; generators of clients know no others.
    return preferences(request.headers.getlist("prefer"))


@router.post(
    "",
    status_code=202,
    response_model=Job,
    responses={
        200: {"model": Simulation, "description": "It is simulated already."},
        **problem_responses(422),
    },
)
async def create_simulation(
    body: SimulationRequest,
    request: Request,
    preferred: Annotated[dict[str, str], Depends(read_preferences)],
) -> Response:
    """Simulate one kit, or a sweep over up to 500 of them, as a job (202).

    What was simulated already is answered at once (200), and so is what is done within
    `Prefer: wait`. The same kits on the same catalogue are one job, however often they are
    asked for. A sweep keeps each kit as it is finished and survives the worker that does it.
    """
    database: Database = request.app.state.database
    job = await run_in_threadpool(take_in, database, body)
    request.app.state.job_taken_in.set()
    headers: dict[str, str] = {}
    if (seconds := wait_s(preferred)) is not None:
        job = await _ended(database, job, seconds)
        headers["Preference-Applied"] = f"wait={seconds}"
    elif "respond-async" in preferred and job.state is not JobState.DONE:
        headers["Preference-Applied"] = "respond-async"
    if job.state is JobState.DONE:
        return await run_in_threadpool(_first_page, request, job, headers)
    headers |= {"Location": f"/v1/jobs/{job.id}", "Retry-After": RETRY_AFTER_S}
    return _answer(202, _JOB.dump_json(job), job, headers)


@router.get(
    "/{simulation_id}", response_model=Simulation, responses=problem_responses(400, 404, 422)
)
def read_simulation(
    simulation_id: JobId, session: ReadSessionDep, paging: PagingDep, validators: ValidatorsDep
) -> Response:
    """Return the curves that are finished, in the order of the request.

    A sweep may be read while it runs, and after it failed or was cancelled.
    """
    job = load_job(session, simulation_id)
    if job.kind != KIND:
        raise SimulationNotFound(simulation_id)
    validators.send(version_etag(job.version))
    return _answer(200, _simulation(session, job, paging), job, _links(paging))


def take_in(database: Database, body: AssessmentRequest | list[AssessmentRequest]) -> Job:
    """Return the job of a request: a new one, the one that does it already, or a done one."""
    questions = as_list(body)
    with database.reading() as session:
        keys = kits.assessment_keys(session, questions)
        order = simulation_order(questions, content_etag(KIND, *keys)[1:-1])
        found = find_job(session, order.key or "")
        if found is not None:
            return found
        is_kept = find_kept(session, keys).issuperset(keys)
        if not is_kept:
            _check(session, body)
    with database.writing() as session:
        if is_kept:
            return add_finished_job(session, order, [kept_value(key) for key in keys], RESULT_URL)
        return add_job(session, order)


def simulation_items(
    session: ReadSessionDep, job_id: int, *, after: int = -1, limit: int | None = None
) -> list[dict[str, Any]]:
    """Return the finished kits after a position, as they were answered then.

    They are taken from the kept answers as they stand: a later version may know more
    fields, and what an earlier one found stays readable.
    """
    found = find_items(session, job_id, after=after, limit=limit)
    keys = [item.value["assessment"] for item in found if "assessment" in item.value]
    bodies = find_assessments(session, keys)
    return [_item(item, bodies) for item in found]


def simulation_body(job: Job, items: list[dict[str, Any]], next_cursor: str | None) -> bytes:
    """Return a `Simulation` as it goes over the wire."""
    document = {
        "id": job.id,
        "state": job.state.value,
        "kit_count": job.item_count,
        "job_url": f"/v1/jobs/{job.id}",
        "items": items,
        "next_cursor": next_cursor,
    }
    return json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode()


def _item(item: JobItem, bodies: dict[str, bytes]) -> dict[str, Any]:
    key = item.value.get("assessment")
    if key is None:
        return {"position": item.position, "kit": None, "problem": item.value["problem"]}
    kit = simulated_kit(json.loads(bodies[key]), f"{kits.router.prefix}/{key}")
    return {"position": item.position, "kit": kit, "problem": None}


def _simulation(session: ReadSessionDep, job: Job, paging: Paging) -> bytes:
    after = int(paging.after[0]) if paging.after else -1
    found = simulation_items(session, job.id, after=after, limit=paging.fetch_count)
    page = paging.page(found, lambda item: (item["position"],))
    return simulation_body(job, page.items, page.next_cursor)


def _check(session: ReadSessionDep, body: AssessmentRequest | list[AssessmentRequest]) -> None:
    """Refuse a kit that cannot be put together before anything is taken in."""
    if not isinstance(body, list):
        kits.look_up_kit(session, body)
        return
    for position, question in enumerate(body):
        try:
            kits.look_up_kit(session, question)
        except InvalidInput as error:
            raise error.below(f"/{position}") from error


async def _ended(database: Database, job: Job, seconds: int) -> Job:
    """Return the job when it is over or the time is; no thread is held meanwhile."""
    give_up = monotonic() + seconds
    while job.state not in FINISHED and monotonic() < give_up:
        await asyncio.sleep(LOOK_EVERY_S)
        job = await run_in_threadpool(_loaded, database, job.id)
    return job


def _loaded(database: Database, job_id: int) -> Job:
    with database.reading() as session:
        return load_job(session, job_id)


def _first_page(request: Request, job: Job, headers: dict[str, str]) -> Response:
    """Answer what reading the simulation would; its cursors belong to that address."""
    address = f"{router.prefix}/{job.id}"
    reading = Request({**request.scope, "path": address, "query_string": b""})
    paging = Paging(limit=DEFAULT_LIMIT, after=None, request=reading, response=Response())
    database: Database = request.app.state.database
    with database.reading() as session:
        body = _simulation(session, job, paging)
    return _answer(200, body, job, {**headers, **_links(paging), "Content-Location": address})


def _links(paging: Paging) -> dict[str, str]:
    link = paging.response.headers.get("Link")
    return {} if link is None else {"Link": link}


def _answer(status: int, body: bytes, job: Job, headers: dict[str, str]) -> Response:
    tagged = {**headers, "ETag": version_etag(job.version)}
    return Response(body, status, tagged, media_type="application/json")
