"""Safety questions of a vessel: no work sheet is printed while one is open."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from service.catalog.parts import Part
from service.catalog.slots import Slot, UseClass
from service.compliance.application import changed_parts
from service.compliance.documents import DocumentType
from service.compliance.outcomes import Outcome
from service.compliance.paperwork import PaperworkBlock
from service.quantities import EDGE_CONFIG, Name, Text


class Safety(StrEnum):
    """What a vessel needs; more may be added."""

    FLAME_CONTROL = "flame_control"
    IGNITION_PROTECTION = "ignition_protection"


@dataclass(frozen=True, slots=True, kw_only=True)
class SafetyQuestion:
    """One question about one part, answered by safety evidence that names it in full."""

    __pydantic_config__ = EDGE_CONFIG

    code: Safety
    sku: Name
    question: Text
    source: Text
    answered_by: tuple[Name, ...]
    """Numbers of the documents that answer it; empty: it is open."""


_INTAKE = frozenset({Slot.AIR_INLET, Slot.THROTTLE_BODY, Slot.INTAKE_MANIFOLD})
_ELECTRICAL = frozenset({Slot.THROTTLE_BODY, Slot.INJECTORS})
_ASKED = (
    (
        Safety.FLAME_CONTROL,
        _INTAKE,
        (
            "Which backfire flame control, marked to SAE J-1928 or UL 1111 or shown equivalent, "
            "closes flame-tight on this intake? An air filter made for road use is none."
        ),
        "46 CFR 25.35-1",
    ),
    (
        Safety.IGNITION_PROTECTION,
        _ELECTRICAL,
        (
            "Which marking or test shows that its electrical components do not ignite fuel vapour, "
            "or how are they isolated?"
        ),
        "33 CFR 183.410(a)",
    ),
)


def safety_questions(
    parts: Iterable[Part], use: UseClass, paperwork: PaperworkBlock
) -> tuple[SafetyQuestion, ...]:
    """Return what a change of these parts asks again in a vessel; nothing elsewhere."""
    if use is not UseClass.MARINE:
        return ()
    return tuple(
        SafetyQuestion(
            code=code,
            sku=part.sku,
            question=question,
            source=source,
            answered_by=_evidence(paperwork, part.sku),
        )
        for part in sorted(changed_parts(parts), key=lambda part: part.sku)
        for code, slots, question, source in _ASKED
        if part.slot in slots
    )


def open_questions(questions: Iterable[SafetyQuestion]) -> tuple[SafetyQuestion, ...]:
    """Return the questions that hold back the work sheet."""
    return tuple(question for question in questions if not question.answered_by)


def _evidence(paperwork: PaperworkBlock, sku: str) -> tuple[str, ...]:
    return tuple(
        match.number
        for one in paperwork.parts
        if one.sku == sku
        for match in one.documents
        if match.type is DocumentType.SAFETY_EVIDENCE and match.outcome is Outcome.PAPER_MATCHES
    )
