"""Documents: written and read."""

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime

from pydantic import TypeAdapter
from sqlmodel import Session, col, delete, select

from service.compliance.documents import (
    Document,
    DocumentNotFound,
    DocumentNumberTaken,
    DocumentStatus,
    StoredDocument,
    document_problems,
)
from service.compliance.files import CopyNotFound, DocumentFile, DocumentFileNotFound, FileType
from service.compliance.tables import DocumentFileRow, DocumentReferenceRow, DocumentRow
from service.errors import InvalidInput, StaleVersion
from service.revision import lock_catalog, raise_catalog_revision
from service.stored import Written

VALUES = TypeAdapter(Document)


def load_document(session: Session, number: str) -> StoredDocument:
    """Return the document with this number, or raise `DocumentNotFound`."""
    row = _find_row(session, number)
    if row is None:
        raise DocumentNotFound(number)
    return _stored(row)


def find_documents_about(session: Session, part_references: Collection[str]) -> list[Document]:
    """Return the documents whose scope names one of these parts, by number, as they count.

    A digest whose file was not sent here is no copy on file: it is left out.
    """
    named = select(DocumentReferenceRow.document_id).where(
        col(DocumentReferenceRow.part_reference).in_(part_references)
    )
    rows = session.exec(
        select(DocumentRow).where(col(DocumentRow.id).in_(named)).order_by(col(DocumentRow.number))
    )
    return [_as_it_counts(_stored(row)) for row in rows]


def find_documents(
    session: Session,
    *,
    part_reference: str | None = None,
    status: DocumentStatus | None = None,
    after: str | None = None,
    limit: int | None = None,
) -> list[StoredDocument]:
    """Return the documents after a number, by number."""
    statement = select(DocumentRow).order_by(col(DocumentRow.number)).limit(limit)
    if part_reference is not None:
        named = select(DocumentReferenceRow.document_id).where(
            DocumentReferenceRow.part_reference == part_reference
        )
        statement = statement.where(col(DocumentRow.id).in_(named))
    if status is not None:
        statement = statement.where(DocumentRow.status == status.value)
    if after is not None:
        statement = statement.where(DocumentRow.number > after)
    return [_stored(row) for row in session.exec(statement)]


def add_document(session: Session, document: Document) -> StoredDocument:
    """Take a new document in."""
    lock_catalog(session)
    if _find_row(session, document.number) is not None:
        raise DocumentNumberTaken(document.number)
    return _write(session, document)


def save_document(session: Session, document: Document, *, version: int) -> StoredDocument:
    """Replace a document that is still at `version`."""
    lock_catalog(session)
    current = load_document(session, document.number)
    if current.version != version:
        raise StaleVersion(current.version)
    return _write(session, document)


def put_documents(session: Session, documents: Sequence[Document]) -> Written:
    """Write documents that have been checked."""
    numbers = [document.number for document in documents]
    found = session.exec(select(DocumentRow).where(col(DocumentRow.number).in_(numbers)))
    rows = {row.number: row for row in found}
    created = 0
    changed: list[tuple[DocumentRow, Document]] = []
    for document in documents:
        value = VALUES.dump_python(document, mode="json")
        row = rows.get(document.number)
        if row is None:
            row = DocumentRow(number=document.number, status=document.status.value, value=value)
            session.add(row)
            created += 1
        elif row.keep(value):
            row.status = document.status.value
        else:
            continue
        changed.append((row, document))
    if changed:
        session.flush()
        _link_references(session, changed)
        raise_catalog_revision(session)
    return Written(
        created=created, updated=len(changed) - created, unchanged=len(documents) - len(changed)
    )


def attach_file(
    session: Session, number: str, file: DocumentFile, require: Callable[[int], int]
) -> StoredDocument:
    """Keep a copy of a paper and write its digest into the record."""
    lock_catalog(session)
    current = load_document(session, number)
    require(current.version)
    if session.get(DocumentFileRow, file.sha256) is None:
        session.add(
            DocumentFileRow(
                sha256=file.sha256, media_type=file.media_type.value, content=file.content
            )
        )
        session.flush()
    row = _find_row(session, number)
    if row is None:  # It was there when it was loaded, and the lock is held.
        raise DocumentNotFound(number)
    if row.copy_sha256 == file.sha256 == current.value.file_sha256:
        return current
    row.copy_sha256 = file.sha256
    value = VALUES.dump_python(replace(current.value, file_sha256=file.sha256), mode="json")
    row.take(value)
    session.flush()
    raise_catalog_revision(session)
    return load_document(session, number)


def copy_problems(session: Session) -> Iterator[str]:
    """Yield which copies of papers are no longer the bytes that were sent."""
    statement = select(DocumentFileRow).execution_options(yield_per=1)
    for row in session.exec(statement):
        sent = DocumentFile(media_type=FileType(row.media_type), content=row.content)
        if sent.sha256 != row.sha256:
            yield f"copy {row.sha256}: its bytes have another digest"


def find_copy_digests(session: Session) -> frozenset[str]:
    """Return the digest of every copy that is kept; the copies are not read."""
    return frozenset(session.exec(select(DocumentFileRow.sha256)))


def load_document_file(session: Session, number: str) -> DocumentFile:
    """Return the copy that a paper's record names, or raise `DocumentFileNotFound`."""
    stored = load_document(session, number)
    digest = stored.value.file_sha256 if stored.copy_on_file else None
    row = None if digest is None else session.get(DocumentFileRow, digest)
    if row is None:
        raise DocumentFileNotFound(number)
    return DocumentFile(media_type=FileType(row.media_type), content=row.content)


def load_copy(session: Session, sha256: str) -> DocumentFile:
    """Return the copy with a digest, whichever papers name it now, or raise `CopyNotFound`."""
    row = session.get(DocumentFileRow, sha256)
    if row is None:
        raise CopyNotFound(sha256)
    return DocumentFile(media_type=FileType(row.media_type), content=row.content)


def _stored(row: DocumentRow) -> StoredDocument:
    value = VALUES.validate_python(row.value)
    return StoredDocument(
        value=value,
        version=row.version,
        updated_at=row.updated_at,
        copy_on_file=row.copy_sha256 is not None and row.copy_sha256 == value.file_sha256,
    )


def _as_it_counts(stored: StoredDocument) -> Document:
    return stored.value if stored.copy_on_file else replace(stored.value, file_sha256=None)


def _find_row(session: Session, number: str) -> DocumentRow | None:
    statement = select(DocumentRow).where(DocumentRow.number == number)
    return session.exec(statement.execution_options(populate_existing=True)).first()


def _write(session: Session, document: Document) -> StoredDocument:
    if problems := document_problems(document, datetime.now(UTC).date()):
        raise InvalidInput(*problems)
    put_documents(session, [document])
    return load_document(session, document.number)


def _link_references(session: Session, changed: Sequence[tuple[DocumentRow, Document]]) -> None:
    ids = [row.id for row, _ in changed]
    session.exec(delete(DocumentReferenceRow).where(col(DocumentReferenceRow.document_id).in_(ids)))
    session.add_all(
        DocumentReferenceRow(document_id=row.id or 0, part_reference=reference)
        for row, document in changed
        for reference in {name for line in document.scope for name in line.part_references}
    )
    session.flush()
