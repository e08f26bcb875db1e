"""How a document stands on the wire."""

from dataclasses import dataclass, fields
from datetime import datetime

from service.compliance.documents import Document
from service.stored import Stored


@dataclass(frozen=True, slots=True, kw_only=True)
class DocumentOut(Document):
    """One paper, as the file answers."""

    version: int
    """Also in the ETag."""
    updated_at: datetime


def document_out(stored: Stored[Document]) -> DocumentOut:
    """Return a document as the file answers."""
    return DocumentOut(
        **{f.name: getattr(stored.value, f.name) for f in fields(Document)},
        version=stored.version,
        updated_at=stored.updated_at,
    )
