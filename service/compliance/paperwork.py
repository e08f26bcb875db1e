"""Block 3: which paper names which part for exactly this application.

A part has the outcome of its best paper; the kit has that of its worst part, and a paper
for each part is not yet a paper for the combination.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from service.catalog.parts import Part
from service.compliance.application import Application, as_altered, changed_parts, is_original
from service.compliance.documents import Document, DocumentType, IdentityPiece
from service.compliance.jurisdictions import PaperRule, Profile, Topic
from service.compliance.matching import (
    NOT_FOR_A_KIT,
    Case,
    DocumentMatch,
    Match,
    document_match,
    lines_naming,
)
from service.compliance.outcomes import Outcome, best, worst
from service.quantities import EDGE_CONFIG, Flag, Name, Text


class Combination(StrEnum):
    """Whether a paper names the changed parts together."""

    NOT_NEEDED = "not_needed"
    DOCUMENTED = "documented"
    NOT_DOCUMENTED = "not_documented"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartPaperwork:
    """What is on file for one part."""

    __pydantic_config__ = EDGE_CONFIG

    sku: Name
    original: Flag
    """Whether the catalogue records it as the factory's own, with nothing changed inside."""
    outcome: Outcome
    reasons: tuple[Text, ...]
    documents: tuple[DocumentMatch, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperworkBlock:
    """Block 3 of the report."""

    __pydantic_config__ = EDGE_CONFIG

    outcome: Outcome
    """Of the kit as a whole: the worst of its parts and of their combination."""
    combination: Combination
    parts: tuple[PartPaperwork, ...]
    unknowns: tuple[Text, ...]
    """What is not known and keeps any paper from matching in full."""


def paperwork_block(
    parts: Iterable[Part],
    documents: Iterable[Document],
    application: Application,
    profile: Profile | None,
    today: date,
) -> PaperworkBlock:
    """Return what is on file for each part, by SKU, and for the kit."""
    kit = sorted(as_altered(parts, application), key=lambda part: part.sku)
    changed = changed_parts(kit)
    case = Case(
        application=application,
        profile=profile,
        unknowns=unknowns(application, profile, today),
        all_references=frozenset(part.maker_reference for part in kit),
        changed_references=frozenset(part.maker_reference for part in changed),
        today=today,
    )
    papers = sorted(documents, key=lambda document: document.number)
    found = tuple(_part_paperwork(part, papers, case) for part in kit)
    combination = _combination(changed, found, case.rule)
    outcomes = [one.outcome for one in found]
    if combination is Combination.NOT_DOCUMENTED and case.without_papers is None:
        outcomes.append(Outcome.PAPER_PARTIAL)
    return PaperworkBlock(
        outcome=worst(outcomes) if outcomes else Outcome.NOT_COVERED,
        combination=combination,
        parts=found,
        unknowns=case.unknowns,
    )


def best_part_outcome(
    part: Part,
    documents: Iterable[Document],
    application: Application,
    profile: Profile | None,
    today: date,
) -> Outcome:
    """Return the best outcome that a part can have in any kit: no kit with it has a better one.

    Papers that name several parts together are taken as if the kit held just those.
    """
    papers = sorted(documents, key=lambda document: document.number)
    named = {name for paper in papers for line in paper.scope for name in line.part_references}
    case = Case(
        application=application,
        profile=profile,
        unknowns=unknowns(application, profile, today),
        all_references=frozenset(named),
        changed_references=frozenset(),
        today=today,
    )
    (as_it_stands,) = as_altered((part,), application)
    return _part_paperwork(as_it_stands, papers, case).outcome


def unknowns(application: Application, profile: Profile | None, today: date) -> tuple[str, ...]:
    """Return what keeps any paper from matching in full."""
    unconfirmed = profile is not None and not profile.is_confirmed(
        Topic.PAPERS, application.use, today
    )
    return application.unknowns + (
        ("whether the profile's rows on papers still hold",) if unconfirmed else ()
    )


def _part_paperwork(part: Part, documents: list[Document], case: Case) -> PartPaperwork:
    matches = tuple(
        document_match(document, part, case)
        for document in documents
        if document.number in part.documents or lines_naming(document, part)
    )
    on_file = {document.number for document in documents}
    reasons = [
        f"The catalogue names the paper {number}; it is not on file."
        for number in sorted(part.documents)
        if number not in on_file
    ]
    outcome, because = _part_outcome(part, matches, case)
    return PartPaperwork(
        sku=part.sku,
        original=is_original(part),
        outcome=outcome,
        reasons=(*because, *reasons),
        documents=matches,
    )


def _part_outcome(
    part: Part, matches: tuple[DocumentMatch, ...], case: Case
) -> tuple[Outcome, tuple[str, ...]]:
    claimed = "the factory's own part" if part.factory_part else "a replacement"
    if _is_claimed(part) and part.exterior.internal_change is not None:
        return Outcome.CONFLICT_DESCRIBED, (
            f"It is recorded as {claimed} and as changed inside; both cannot be.",
        )
    if case.rule is None or case.without_papers is not None:
        return case.without_papers or Outcome.NOT_COVERED, ()
    outcome = best((_order_outcome(matches, case.rule), _identity_outcome(part, matches)))
    reasons = _open_points(matches)
    if outcome in (Outcome.PAPER_MATCHES, Outcome.IDENTITY_SHOWN):
        if not case.unknowns:
            return outcome, ()
        matched = outcome is Outcome.PAPER_MATCHES
        outcome = Outcome.PAPER_PARTIAL if matched else Outcome.IDENTITY_CLAIMED
        reasons = ()
    reasons += tuple(f"It is not known {unknown}." for unknown in case.unknowns)
    if outcome is Outcome.IDENTITY_CLAIMED:
        reasons += _missing_pieces(matches)
    if outcome is Outcome.NO_PAPER:
        reasons = ("No paper on file names this part.", *reasons)
    return outcome, reasons


def _order_outcome(matches: tuple[DocumentMatch, ...], rule: PaperRule) -> Outcome:
    """Outcome of the papers that the profile asks for: of each group the best."""
    return worst(_group_outcome(matches, group, rule.unconfirmed) for group in rule.groups)


def _group_outcome(
    matches: tuple[DocumentMatch, ...],
    group: tuple[DocumentType, ...],
    unconfirmed: tuple[DocumentType, ...],
) -> Outcome:
    found = [Outcome.NO_PAPER]
    for match in matches:
        if match.type in group:
            found.append(match.outcome)
        elif match.type in unconfirmed:
            found.append(worst((match.outcome, Outcome.PAPER_PARTIAL)))
        elif match.type not in NOT_FOR_A_KIT:
            found.append(Outcome.PAPER_DOES_NOT_MATCH)
    return best(found)


def _identity_outcome(part: Part, matches: tuple[DocumentMatch, ...]) -> Outcome:
    """Outcome of the claim that the part is identical to the original."""
    evidence = [match for match in matches if match.type is DocumentType.IDENTITY_EVIDENCE]
    found = [Outcome.IDENTITY_CLAIMED if _is_claimed(part) else Outcome.NO_PAPER]
    found += [
        Outcome.IDENTITY_CLAIMED if match.outcome in _NAMES_IT else match.outcome
        for match in evidence
    ]
    if _pieces(evidence) == frozenset(IdentityPiece):
        found.append(Outcome.IDENTITY_SHOWN)
    return best(found)


_NAMES_IT = (Outcome.PAPER_MATCHES, Outcome.PAPER_PARTIAL)


def _is_claimed(part: Part) -> bool:
    """Whether somebody says that the part is the original, or identical to it."""
    return part.factory_part or part.replacement_claim


def _pieces(evidence: Iterable[DocumentMatch]) -> frozenset[IdentityPiece]:
    """Return what papers that match in every field hold together."""
    return frozenset(
        piece
        for match in evidence
        if match.outcome is Outcome.PAPER_MATCHES
        for piece in match.identity_pieces
    )


def _missing_pieces(matches: Iterable[DocumentMatch]) -> tuple[str, ...]:
    evidence = [match for match in matches if match.type is DocumentType.IDENTITY_EVIDENCE]
    if not evidence:
        return ()
    missing = [piece for piece in IdentityPiece if piece not in _pieces(evidence)]
    names = " and ".join(piece.value.replace("_", " ") for piece in missing)
    return (f"Evidence of identity lacks: {names}.",) if missing else ()


def _open_points(matches: tuple[DocumentMatch, ...]) -> tuple[str, ...]:
    return tuple(
        f"{match.number}: {check.field.replace('_', ' ')} {check.match.value}; {check.says}"
        for match in matches
        for check in match.checks
        if check.match is not Match.MATCHES
    )


def _combination(
    changed: tuple[Part, ...], found: tuple[PartPaperwork, ...], rule: PaperRule | None
) -> Combination:
    """Return whether the parts are named together, by a paper of each kind that is asked for.

    What the profile does not take as paper for a part is none for several either.
    """
    by_sku = {one.sku: one for one in found}
    asked = [part for part in changed if by_sku[part.sku].outcome is not Outcome.IDENTITY_SHOWN]
    if len(asked) < 2:  # noqa: PLR2004 - a combination is two.
        return Combination.NOT_NEEDED
    together = {part.maker_reference for part in asked}
    naming = {
        match.type
        for part in asked
        for match in by_sku[part.sku].documents
        if match.outcome is Outcome.PAPER_MATCHES and together <= set(match.names_together)
    }
    named = rule is not None and all(naming & set(group) for group in rule.groups)
    return Combination.DOCUMENTED if named else Combination.NOT_DOCUMENTED
