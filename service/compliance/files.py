"""Copies of papers: which files are taken in, and what makes two of them the same."""

import hashlib
from dataclasses import dataclass
from enum import StrEnum

from service.errors import FieldProblem, InvalidInput, NotFound

MAX_FILE_BYTES = 10_000_000
"""Largest copy of a paper. [byte]"""


class FileType(StrEnum):
    """How a copy is written; more may be added."""

    PDF = "application/pdf"
    PNG = "image/png"
    JPEG = "image/jpeg"


_BEGINS_WITH = {
    FileType.PDF: b"%PDF-",
    FileType.PNG: b"\x89PNG\r\n\x1a\n",
    FileType.JPEG: b"\xff\xd8\xff",
}
"""First bytes: ISO 32000-1, 7.5.2; PNG third edition, 5.2; ITU-T T.81, B.1.1.3."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DocumentFile:
    """One copy of a paper, byte by byte."""

    media_type: FileType
    content: bytes

    @property
    def sha256(self) -> str:
        """Its digest (FIPS 180-4). [hex]."""
        return hashlib.sha256(self.content).hexdigest()


class FileRefused(InvalidInput):
    """The body is no copy of a paper."""

    def __init__(self, code: str, detail: str) -> None:
        super().__init__(FieldProblem(pointer="", code=code, detail=detail))


class DocumentFileNotFound(NotFound):
    """No copy of this paper is kept here."""

    def __init__(self, number: str) -> None:
        super().__init__(f"No copy of the document {number!r} is kept here.")


class CopyNotFound(NotFound):
    """No copy with this digest is kept here."""

    def __init__(self, sha256: str) -> None:
        super().__init__(f"No copy with the digest {sha256} is kept here.")


def document_file(content: bytes, media_type: FileType) -> DocumentFile:
    """Return a copy that is what its media type says, or raise `FileRefused`."""
    if not content:
        raise FileRefused("empty", "The body is empty; send the file itself.")
    if len(content) > MAX_FILE_BYTES:
        raise FileRefused("too_large", f"A copy has at most {MAX_FILE_BYTES} bytes.")
    if not content.startswith(_BEGINS_WITH[media_type]):
        raise FileRefused("wrong_content", f"The body does not begin as {media_type} does.")
    return DocumentFile(media_type=media_type, content=content)
