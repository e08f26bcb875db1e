"""The kind of route that every page has: forms of other sites are refused, errors are pages."""

from collections.abc import Callable, Coroutine, Sequence
from typing import Any

from fastapi import HTTPException, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.routing import APIRoute

from service.bodies import refuse_query
from service.errors import FieldProblem, InvalidInput, RequestRefused, ServiceError
from service.pages.api.rendering import not_answered
from service.pages.own_site import HARMLESS, is_from_own_site
from service.pointers import field_problems
from service.problems import kind_of

FORBIDDEN, NOT_FOUND, UNPROCESSABLE = 403, 404, 422
SEE_OTHER = 303
"""After a form was kept: the page it leads to is asked for anew (RFC 9110, 15.4.4)."""


class PageRoute(APIRoute):
    """A route of pages."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Look at the sender first, and answer what goes wrong with a page."""
        handle = super().get_route_handler()

        async def handle_page(request: Request) -> Response:
            if request.method not in HARMLESS and not is_from_own_site(request.headers):
                detail = "This form was not sent by a page of this service; nothing was changed."
                return not_answered(request, (_problem("another_site", detail),), FORBIDDEN)
            try:
                await refuse_query(request)
                return await handle(request)
            except (RequestValidationError, ServiceError) as error:
                return await _told(request, *_what_is_wrong(error), _refused(error))
            except HTTPException as error:
                if error.status_code != NOT_FOUND:
                    raise
                return await _told(request, (_problem("unknown", "No such page."),), NOT_FOUND)

        return handle_page


def _problem(code: str, detail: str) -> FieldProblem:
    return FieldProblem(pointer="", code=code, detail=detail)


def _what_is_wrong(
    error: RequestValidationError | ServiceError,
) -> tuple[tuple[FieldProblem, ...], int]:
    """Return what to say, and the status that says it to a program."""
    if isinstance(error, RequestValidationError):
        told = [{**each, "loc": each["loc"][1:]} for each in error.errors()]
        return field_problems(told, error.body), UNPROCESSABLE
    problems = error.problems if isinstance(error, InvalidInput) else ()
    return problems or (_problem("", error.message),), kind_of(error).status


def _refused(error: Exception) -> list[str]:
    """Return the answers that the way back leaves out: no page takes them."""
    problems = error.problems if isinstance(error, RequestRefused) else ()
    return [one.pointer.removeprefix("/") for one in problems]


async def _told(
    request: Request,
    problems: tuple[FieldProblem, ...],
    status: int,
    refused: Sequence[str] = (),
) -> Response:
    """Say why; a form of our own comes back as it was sent, to be mended and sent again."""
    sent: list[tuple[str, str]] = []
    if request.method not in HARMLESS:
        # Read already by whoever refused it: this does not read it again.
        form = await request.form()
        sent = [(name, text) for name, text in form.multi_items() if isinstance(text, str)]
    return not_answered(request, problems, status, sent, refused)
