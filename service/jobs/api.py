"""Jobs over HTTP: what a poll answers is all there is; the stream of events only saves polls."""

import asyncio
from collections.abc import AsyncIterator
from threading import Event
from typing import Annotated

from fastapi import APIRouter, Depends, Header, HTTPException, Path, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.sse import EventSourceResponse, ServerSentEvent
from pydantic import TypeAdapter

from service.bodies import ApiRoute
from service.conditional import ValidatorsDep, version_etag
from service.database import Database, ReadSessionDep, SessionDep
from service.jobs.job import FINISHED, Job, JobEvent, JobState
from service.jobs.store import jobs as store
from service.paging import Page, PagingDep
from service.problems import problem_responses
from service.quantities import Name

RETRY_AFTER_S = "1"
"""When to ask again for a job that is not over."""
LOOK_EVERY_S = 0.5
"""How often the log of a job is read for those who follow it."""
LARGEST_ID = 2**31 - 1
"""What the column holds."""

router = APIRouter(prefix="/v1/jobs", tags=["jobs"], route_class=ApiRoute)

_EVENT = TypeAdapter(JobEvent)

JobId = Annotated[int, Path(ge=1, le=LARGEST_ID)]


@router.get("", responses=problem_responses(400, 422))
def list_jobs(
    session: ReadSessionDep,
    paging: PagingDep,
    kind: Annotated[Name | None, Query(description="Is of this kind.")] = None,
    state: Annotated[JobState | None, Query(description="Is in this state.")] = None,
) -> Page[Job]:
    """Return the jobs, the newest first."""
    before = int(paging.after[0]) if paging.after else None
    found = store.find_jobs(
        session, kind=kind, state=state, before=before, limit=paging.fetch_count
    )
    return paging.page(found, lambda job: (job.id,))


@router.get("/{job_id}", responses=problem_responses(404, 422))
def read_job(
    job_id: JobId, session: ReadSessionDep, validators: ValidatorsDep, response: Response
) -> Job:
    """Return one job; Retry-After says when to ask again while it is not over."""
    job = store.load_job(session, job_id)
    if job.state not in FINISHED:
        response.headers["Retry-After"] = RETRY_AFTER_S
    validators.send(version_etag(job.version))
    return job


@router.delete(
    "/{job_id}",
    responses={202: {"model": Job, "description": "It stops soon."}, **problem_responses(404, 409)},
)
def cancel_job(job_id: JobId, session: SessionDep, response: Response) -> Job:
    """Cancel a job: one that waits at once (200), one that runs after the piece in hand (202).

    Pieces that are finished stay readable.
    """
    job = store.cancel_job(session, job_id)
    response.headers["ETag"] = version_etag(job.version)
    if job.state not in FINISHED:
        response.status_code = 202
        response.headers["Retry-After"] = RETRY_AFTER_S
    return job


def read_last_number(
    job_id: JobId,
    session: ReadSessionDep,
    last_event_id: Annotated[
        str, Header(description="Number of the last event that you have; a browser sends it.")
    ] = "",
) -> int:
    """Read after which event to go on; end with 204 when nothing will follow it."""
    job = store.load_job(session, job_id)
    known = last_event_id.isascii() and last_event_id.isdecimal()
    number = min(int(last_event_id[:9]), job.version) if known else 0
    if job.state in FINISHED and number == job.version:
        # The HTML standard, section 9.2: 204 tells a browser not to come back.
        raise HTTPException(204)
    return number


@router.get(
    "/{job_id}/events",
    response_class=EventSourceResponse,
    responses={
        204: {"description": "The job is over and you have its last event."},
        **problem_responses(404, 422),
    },
)
async def follow_job(
    job_id: JobId, request: Request, number: Annotated[int, Depends(read_last_number)]
) -> AsyncIterator[ServerSentEvent]:
    """Send every change of a job as it happens, and those that were missed first.

    The stream ends with the job, and when the service stops; come back with Last-Event-ID.
    """
    stopping: Event = request.app.state.stopping
    state = JobState.QUEUED
    while state not in FINISHED:
        for event in await run_in_threadpool(_events, request.app.state.database, job_id, number):
            number, state = event.number, event.state
            # As text, so that a moment is written here as it is everywhere else.
            text = _EVENT.dump_json(event).decode()
            yield ServerSentEvent(raw_data=text, event=state.value, id=str(number))
        if stopping.is_set():
            return
        if state not in FINISHED:
            await asyncio.sleep(LOOK_EVERY_S)


def _events(database: Database, job_id: int, after: int) -> list[JobEvent]:
    with database.reading() as session:
        return store.find_events(session, job_id, after=after)
