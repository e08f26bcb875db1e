"""Safety evidence of a vessel's part, filed from the page that asks for it.

Filing a paper is the shop's: a key of the desk alone is refused here by the gate.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import RedirectResponse
from pydantic import TypeAdapter
from starlette.datastructures import UploadFile

from service.bodies import read_document, refuse_text
from service.catalog.parts import Part
from service.catalog.store.parts import load_part
from service.compliance.documents import Document, DocumentStatus, DocumentType
from service.compliance.files import MAX_FILE_BYTES, DocumentFile, FileType, document_file
from service.compliance.store import add_document, attach_file
from service.database import Database
from service.errors import FieldProblem, InvalidInput
from service.pages.api.asking import attempt
from service.pages.api.page_route import SEE_OTHER, PageRoute
from service.pages.api.rendering import query
from service.pages.api.sheets import ask_for_sheet, kit_of_form

_FORM_BYTES = 100_000
"""For the texts beside the file."""
_DOCUMENT = TypeAdapter(Document)

router = APIRouter(prefix="/shop", include_in_schema=False, route_class=PageRoute)


@dataclass(frozen=True, slots=True, kw_only=True)
class SentEvidence:
    """What was typed, and the copy that was chosen."""

    fields: Mapping[str, str]
    content: bytes
    media_type: str


async def read_sent_evidence(request: Request) -> SentEvidence:
    """Read the form with its file; a text that asks to hide or mislead is refused."""
    async with request.form(max_part_size=MAX_FILE_BYTES) as form:
        fields = {name: text for name, text in form.multi_items() if isinstance(text, str)}
        chosen = form.get("copy")
        upload = chosen if isinstance(chosen, UploadFile) and chosen.filename else None
        content = await upload.read() if upload else b""
        kind = (upload.content_type or "") if upload else ""
    for name, text in fields.items():
        await refuse_text(text, name, request)
    return SentEvidence(fields=fields, content=content, media_type=kind)


SentEvidenceDep = Annotated[SentEvidence, Depends(read_sent_evidence)]


@router.post("/safety-evidence", max_body_size=MAX_FILE_BYTES + _FORM_BYTES)
def file_evidence(request: Request, sent: SentEvidenceDep) -> Response:
    """Put the evidence on file with its copy, and go back to what asked for it."""
    done, problems = attempt(lambda: _filed(request, sent))
    if done:
        address = "/desk/sheets/new" + query({**kit_of_form(sent.fields), "units": _units(sent)})
        return RedirectResponse(address, SEE_OTHER)
    return ask_for_sheet(request, sent.fields, problems)


def _units(sent: SentEvidence) -> str:
    return sent.fields.get("units", "us")


def _filed(request: Request, sent: SentEvidence) -> bool:
    copy = _copy(sent)
    database: Database = request.app.state.database
    with database.writing() as session:
        part: Part = load_part(session, sent.fields.get("sku", "")).value
        document = read_document(_DOCUMENT, _document(part, sent.fields))
        stored = add_document(session, document)
        attach_file(session, stored.value.number, copy, lambda version: version)
    return True


def _copy(sent: SentEvidence) -> DocumentFile:
    """Return the copy, or say that none was sent that a printer would know."""
    kinds = {kind.value: kind for kind in FileType}
    if sent.media_type not in kinds:
        detail = "Choose a copy of the evidence: PDF, PNG or JPEG."
        raise InvalidInput(FieldProblem(pointer="/copy", code="missing", detail=detail))
    return document_file(sent.content, kinds[sent.media_type])


def _document(part: Part, fields: Mapping[str, str]) -> dict[str, Any]:
    """Return the paper as the API takes it: for this part as it is, this engine, this place."""
    year = fields.get("model_year", "")
    model_year = int(year) if year.isascii() and year.isdigit() else 0
    today: date = datetime.now(UTC).date()
    line = {
        "part_references": [part.maker_reference],
        "revisions": [part.revision],
        "family": fields.get("family", ""),
        "first_model_year": model_year,
        "last_model_year": model_year,
        "use": fields.get("use", ""),
        "jurisdictions": [fields.get("place", "")],
        "covers_internal_change": "covers_internal_change" in fields,
    }
    return {
        "number": fields.get("number", "").strip(),
        "type": DocumentType.SAFETY_EVIDENCE.value,
        "issuer": fields.get("issuer", "").strip(),
        "issued_on": fields.get("issued_on", "").strip(),
        "scope": [line],
        "conditions": [fields.get("shows", "").strip() or _nothing_shown()],
        "conditions_met": True,
        "status": DocumentStatus.IN_FORCE.value,
        "checked_on": today.isoformat(),
        "checked_by": fields.get("checked_by", "").strip(),
    }


def _nothing_shown() -> str:
    detail = "Say what answers the question: the marking, the test, or how it is isolated."
    raise InvalidInput(FieldProblem(pointer="/shows", code="missing", detail=detail))
