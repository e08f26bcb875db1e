"""Papers on file: what they say, of which parts, for which use and place.

A record of documents; nothing here finds that anything may be done.
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Annotated

from annotated_types import Ge, Le, MaxLen, MinLen

from service.catalog.slots import Fuel, UseClass
from service.compliance.days import to_come
from service.errors import Conflict, FieldProblem, NotFound
from service.quantities import (
    EDGE_CONFIG,
    PRINTABLE,
    SHA256_HEX,
    STRICT,
    Flag,
    IsoDate,
    Name,
    Text,
    Year,
)
from service.stored import Stored

DocumentNumber = Annotated[str, STRICT, MinLen(1), MaxLen(60), PRINTABLE]


class EmissionCertification(StrEnum):
    """Which rules the vehicle was certified to when new, as its label says; more may come."""

    CALIFORNIA = "california"
    FEDERAL = "federal"


GrossWeightKg = Annotated[int, STRICT, Ge(1), Le(100_000)]
"""Gross vehicle weight rating. [kg]"""


class DocumentType(StrEnum):
    """What kind of paper it is."""

    EXEMPTION_ORDER = "exemption_order"
    CERTIFICATION = "certification"
    IDENTITY_EVIDENCE = "identity_evidence"
    TEST_REPORT = "test_report"
    ENGINEER_CERTIFICATE = "engineer_certificate"
    OTHER_APPROVAL = "other_approval"
    SAFETY_EVIDENCE = "safety_evidence"
    PERIODIC_TEST = "periodic_test"
    """A pass in a periodic test of the vehicle: an inspection, and no paper for a part."""


class IdentityPiece(StrEnum):
    """What evidence of identity holds; more may be added."""

    MAKER_SPECIFICATION = "maker_specification"
    MEASUREMENT_RECORD = "measurement_record"


class DocumentStatus(StrEnum):
    """Whether its issuer still stands by it."""

    IN_FORCE = "in_force"
    SUPERSEDED = "superseded"
    WITHDRAWN = "withdrawn"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class ScopeLine:
    """One application that the paper names: exactly this, nothing near it."""

    __pydantic_config__ = EDGE_CONFIG

    part_references: Annotated[tuple[Name, ...], MinLen(1)]
    """Maker references of all the parts that the line names together."""
    revisions: tuple[Name, ...] = ()
    """Part revisions; empty: the paper does not say."""
    family: Name
    first_model_year: Year
    last_model_year: Year
    use: UseClass
    jurisdictions: Annotated[tuple[Name, ...], MinLen(1)]
    """Keys of the profiles whose authority issued or accepts it."""
    fuel: Fuel | None = None
    """None, here and below: the paper does not restrict it."""
    certification: EmissionCertification | None = None
    max_gross_weight_kg: GrossWeightKg | None = None
    """Gross vehicle weight rating up to which it holds. [kg]"""
    vehicle_id: Name | None = None
    """Identification of the one vehicle or vessel that it is for, as it writes it."""
    engine_serial: Name | None = None
    """Serial number of the one engine that it is for."""
    covers_internal_change: Flag = False
    """Whether the paper itself speaks of the change inside that the part declares."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """One paper."""

    __pydantic_config__ = EDGE_CONFIG

    number: DocumentNumber
    """As printed on it; unique in the file."""
    type: DocumentType
    issuer: Name
    issued_on: IsoDate
    scope: tuple[ScopeLine, ...] = ()
    identity_pieces: tuple[IdentityPiece, ...] = ()
    """What evidence of identity holds: it shows identity only with both."""
    conditions: tuple[Text, ...] = ()
    conditions_met: Flag | None = None
    """Whether somebody checked the conditions; unknown until then."""
    status: DocumentStatus = DocumentStatus.UNKNOWN
    superseded_by: Name | None = None
    file_sha256: Annotated[str, STRICT, SHA256_HEX] | None = None
    """Digest that the record names. It counts as a copy on file only when that very file was
    sent to the address of the copy, which writes it. [hex]"""
    checked_on: IsoDate | None = None
    checked_by: Name | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredDocument(Stored[Document]):
    """One kept paper."""

    copy_on_file: bool
    """Whether the file that its record names was sent here."""


class DocumentNotFound(NotFound):
    """No document has this number."""

    def __init__(self, number: str) -> None:
        super().__init__(f"No document has the number {number!r}.")


class DocumentNumberTaken(Conflict):
    """Another document already has this number."""

    def __init__(self, number: str) -> None:
        super().__init__(f"A document with the number {number!r} is on file already.")


def document_problems(document: Document, today: date) -> list[FieldProblem]:
    """Return what is wrong inside a document that is filed today."""
    problems = [
        FieldProblem(
            pointer=f"/scope/{place}/last_model_year",
            code="out_of_order",
            detail=f"The last model year {line.last_model_year} is before the first, "
            f"{line.first_model_year}.",
        )
        for place, line in enumerate(document.scope)
        if line.first_model_year > line.last_model_year
    ]
    problems += to_come("/issued_on", document.issued_on, today)
    problems += to_come("/checked_on", document.checked_on, today)
    if document.number.endswith("/file"):
        problems.append(
            FieldProblem(
                pointer="/number",
                code="reserved",
                detail="A number cannot end with /file: the copy of a paper has that address.",
            )
        )
    if document.superseded_by == document.number:
        problems.append(
            FieldProblem(
                pointer="/superseded_by",
                code="own_successor",
                detail="A document cannot supersede itself.",
            )
        )
    return problems
