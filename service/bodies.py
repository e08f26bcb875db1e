"""How bodies of requests are read: strict JSON, merge patches."""

import json
import logging
from collections.abc import Callable, Coroutine, Iterator, Mapping, Sequence
from email.message import Message
from math import isfinite
from typing import Annotated, Any, TypeVar

from fastapi import Body, HTTPException, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.dependencies.models import Dependant
from fastapi.params import Form
from fastapi.routing import APIRoute
from pydantic import TypeAdapter, ValidationError

from service.errors import FieldProblem, InvalidInput, RequestRefused
from service.pointers import field_problems, pointer
from service.refusals import RefusedField, refused_fields

T = TypeVar("T")
LOG = logging.getLogger(__name__)

MERGE_PATCH = "application/merge-patch+json"
IDEMPOTENCY_KEY = "Idempotency-Key"
KEYED_METHODS = {"POST", "PATCH"}
"""To send a PUT or a DELETE again does no harm (RFC 9110, section 9.2.2)."""

RefusalNoter = Callable[[str, str, Sequence[RefusedField]], None]
"""Records what was refused: method, path, and the places in the request."""

MergePatchBody = Annotated[dict[str, Any], Body(media_type=MERGE_PATCH)]
"""A merge patch (RFC 7396): null removes a field, an array is replaced whole."""


class OnceRoute(APIRoute):
    """A route that takes an Idempotency-Key: what the key names is done once."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Let the application's keeper of keys decide whether the request is worked on."""
        handle = super().get_route_handler()
        if not KEYED_METHODS & (self.methods or set()):
            return handle

        async def handle_once(request: Request) -> Response:
            once = getattr(request.app.state, "once", None)
            if once is None or IDEMPOTENCY_KEY not in request.headers:
                return await handle(request)
            body = await request.body()
            answer: Response = await once.answer(request, body, lambda: handle(request))
            return answer

        return handle_once


class ApiRoute(OnceRoute):
    """A route that reads its body strictly; every router of the API is made with it.

    - A body of another media type than the one declared is a 415.
    - Text that is not JSON is a 400 that says where.
    - NaN, infinities, numbers too large for a float and broken Unicode are a 422.
    - A text that asks to hide, imitate or mislead is refused and logged, in body and query.
    """

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Read the body before the fields are looked at."""
        handle = super().get_route_handler()
        info = self.body_field.field_info if self.body_field else None
        if info is None or isinstance(info, Form):

            async def handle_query(request: Request) -> Response:
                await refuse_query(request)
                return await handle(request)

            return handle_query
        expected: str = getattr(info, "media_type", "application/json")

        async def handle_strictly(request: Request) -> Response:
            strict = _StrictRequest(request.scope, request.receive)
            if await strict.body():
                _require_media_type(request, expected)
                await _refuse(refused_fields(await strict.json()), request)
            await refuse_query(request)
            return await handle(strict)

        return handle_strictly


async def refuse_query(request: Request) -> None:
    """Refuse an address that asks for help to mislead."""
    for name, text in request.query_params.multi_items():
        await refuse_text(text, name, request)


def refuse_unknown_parameters(request: Request) -> None:
    """Refuse what the address would not look at: a filter that is not read is no answer."""
    known = _parameters(request.scope["route"].dependant)
    if unknown := [name for name in request.query_params if name not in known]:
        raise InvalidInput(
            *(
                FieldProblem(
                    pointer=name,
                    code="unknown_field",
                    detail=f"This address reads no parameter {name!r}.",
                )
                for name in unknown
            )
        )


def _parameters(dependant: Dependant) -> set[str]:
    """Return the names of all that an address reads from its query."""
    below = (_parameters(one) for one in dependant.dependencies)
    return {field.alias for field in dependant.query_params}.union(*below)


async def refuse_text(text: str, name: str, request: Request) -> None:
    """Refuse a text, of a field of this name, that asks for help to mislead."""
    await _refuse(refused_fields(text, name), request)


async def _refuse(found: Iterator[RefusedField], request: Request) -> None:
    """Refuse and record what asks for help to mislead; the text itself is not kept."""
    problems = tuple(found)
    if not problems:
        return
    what = ", ".join(f"{problem.code} at {problem.pointer}" for problem in problems)
    LOG.warning("Refused %s %s: %s.", request.method, request.url.path, what)
    note: RefusalNoter | None = getattr(request.app.state, "note_refusal", None)
    if note is not None:
        try:
            await run_in_threadpool(note, request.method, request.url.path, problems)
        except Exception:
            # Refused it is all the same, and the log of the process holds it.
            LOG.exception("The refusal could not be recorded.")
    raise RequestRefused(*problems)


def read_request(adapter: TypeAdapter[T], text: bytes) -> T:
    """Return the request that a file holds, read as strictly as a body is.

    Raises
    ------
    RequestRefused
        If a text in it asks to hide, imitate or mislead.
    """
    document = parse_json(text)
    if refused := tuple(refused_fields(document)):
        raise RequestRefused(*refused)
    return read_document(adapter, document)


class _StrictRequest(Request):
    async def json(self) -> Any:  # noqa: ANN401 - It is what the base class says.
        """Parse the body once."""
        if not hasattr(self, "_json"):
            self._json = parse_json(await self.body())
        return self._json


def parse_json(text: bytes) -> Any:  # noqa: ANN401 - JSON holds anything.
    """Return what strict JSON (RFC 8259) says; refuse what only Python would accept."""
    try:
        document = json.loads(text.decode())
        problems = tuple(_unspeakable(document))
    except json.JSONDecodeError as error:
        detail = f"The body is not JSON: line {error.lineno}, column {error.colno}: {error.msg}."
        raise HTTPException(400, detail) from error
    except UnicodeDecodeError as error:
        raise HTTPException(400, f"The body is not UTF-8: byte {error.start}.") from error
    except RecursionError as error:
        raise HTTPException(400, "The body is nested too deeply.") from error
    except ValueError as error:
        # Python refuses to read integers of more than 4300 digits.
        raise HTTPException(400, "The body holds a number that is too long.") from error
    if problems:
        raise InvalidInput(*problems)
    return document


def merge_patch(target: object, patch: object) -> Any:  # noqa: ANN401 - JSON holds anything.
    """Return `target` changed by `patch` after RFC 7396, section 2; both stay as they are."""
    if not isinstance(patch, Mapping):
        return patch
    merged = dict(target) if isinstance(target, Mapping) else {}
    for key, value in patch.items():
        if value is None:
            merged.pop(key, None)
        else:
            merged[key] = merge_patch(merged.get(key), value)
    return merged


def patched(adapter: TypeAdapter[T], current: T, patch: Mapping[str, Any], *, key: str) -> T:
    """Return `current` changed by a merge patch; the field `key` names it and has to stay."""
    value = read_document(adapter, merge_patch(adapter.dump_python(current, mode="json"), patch))
    if getattr(value, key) != getattr(current, key):
        detail = f"The {key} of an item never changes; make a new item."
        raise InvalidInput(FieldProblem(pointer=f"/{key}", code="fixed", detail=detail))
    return value


def read_document(adapter: TypeAdapter[T], document: object) -> T:
    """Return the value that a merged document means, or raise `InvalidInput`."""
    try:
        return adapter.validate_python(document)
    except ValidationError as error:
        found = error.errors(include_url=False, include_context=False, include_input=False)
        raise InvalidInput(*field_problems(found, document)) from error


def _require_media_type(request: Request, expected: str) -> None:
    header = Message()
    header["content-type"] = request.headers.get("content-type", "")
    if "content-type" in request.headers and header.get_content_type() == expected:
        return
    accept = "Accept-Patch" if request.method == "PATCH" else "Accept"
    raise HTTPException(415, f"Send the body as {expected}.", headers={accept: expected})


def _unspeakable(document: object, path: tuple[str | int, ...] = ()) -> Iterator[FieldProblem]:
    """Find what JSON or UTF-8 cannot carry back."""
    if isinstance(document, dict):
        for key, value in document.items():
            if not _is_unicode(key):
                yield _broken_text(path)
            else:
                yield from _unspeakable(value, (*path, key))
    elif isinstance(document, list):
        for place, value in enumerate(document):
            yield from _unspeakable(value, (*path, place))
    elif isinstance(document, float) and not isfinite(document):
        detail = "A number has to be finite and smaller in size than 1.8e308."
        yield FieldProblem(pointer=pointer(path), code="finite_number", detail=detail)
    elif isinstance(document, str) and not _is_unicode(document):
        yield _broken_text(path)


def _broken_text(path: tuple[str | int, ...]) -> FieldProblem:
    detail = "Text has to be Unicode; half of a surrogate pair stands alone here."
    return FieldProblem(pointer=pointer(path), code="string_unicode", detail=detail)


def _is_unicode(text: str) -> bool:
    return text.isascii() or not any("\ud800" <= character <= "\udfff" for character in text)
