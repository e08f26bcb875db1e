"""How a document stands on the wire."""

from dataclasses import dataclass, fields
from datetime import datetime

from service.compliance.documents import Document, StoredDocument
from service.quantities import Flag


@dataclass(frozen=True, slots=True, kw_only=True)
class DocumentOut(Document):
    """One paper, as the file answers."""

    copy_on_file: Flag
    """Whether the file that `file_sha256` names was sent here."""
    version: int
    """Also in the ETag."""
    updated_at: datetime


def document_out(stored: StoredDocument) -> DocumentOut:
    """Return a document as the file answers."""
    return DocumentOut(
        **{f.name: getattr(stored.value, f.name) for f in fields(Document)},
        copy_on_file=stored.copy_on_file,
        version=stored.version,
        updated_at=stored.updated_at,
    )
