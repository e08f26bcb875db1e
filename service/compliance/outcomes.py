"""The outcomes of the jurisdiction note: how they combine, and in which words."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from service.quantities import EDGE_CONFIG, Name, Text


class Outcome(StrEnum):
    """What can be said of the papers, worst first; the last two are equally good."""

    CONFLICT_DESCRIBED = "conflict_described"
    DEVICE_QUESTION = "device_question"
    NO_PAPER = "no_paper"
    PAPER_DOES_NOT_MATCH = "paper_does_not_match"
    PAPER_PARTIAL = "paper_partial"
    IDENTITY_CLAIMED = "identity_claimed"
    AUTHORITY_MUST_DECIDE = "authority_must_decide"
    NOT_COVERED = "not_covered"
    NO_RULE_IN_PROFILE = "no_rule_in_profile"
    IDENTITY_SHOWN = "identity_shown"
    PAPER_MATCHES = "paper_matches"


_WORST_FIRST = tuple(Outcome)
_ALWAYS_SHOWN = (Outcome.AUTHORITY_MUST_DECIDE, Outcome.NOT_COVERED)

_SENTENCES = {
    Outcome.CONFLICT_DESCRIBED: "What is described stands on a published list of prohibited "
    "acts, or the record contradicts itself.",
    Outcome.DEVICE_QUESTION: "A device that the factory fitted is missing, changed, disconnected, "
    "untested or not accounted for.",
    Outcome.NO_PAPER: "There is no paper on file for this application.",
    Outcome.PAPER_DOES_NOT_MATCH: "The paper on file is for something else.",
    Outcome.PAPER_PARTIAL: "There is paper on file, but some of it is unproven.",
    Outcome.IDENTITY_CLAIMED: "A part is said to be identical to the original; nothing on file "
    "shows it.",
    Outcome.AUTHORITY_MUST_DECIDE: "The rules for this use are disputed, or ask for a named "
    "official.",
    Outcome.NOT_COVERED: "No profile covers this, or its rows are not confirmed.",
    Outcome.NO_RULE_IN_PROFILE: "No emission rule for this vehicle or engine was found in this "
    "profile; local rules may differ.",
    Outcome.IDENTITY_SHOWN: "The file holds evidence that each part is identical to the original.",
    Outcome.PAPER_MATCHES: "The paper on file names exactly this application.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """One outcome in words."""

    __pydantic_config__ = EDGE_CONFIG

    outcome: Outcome
    sentence: Text
    decided_by: Name


def worst(outcomes: Iterable[Outcome]) -> Outcome:
    """Return the worst of one or more outcomes."""
    return min(outcomes, key=_WORST_FIRST.index)


def best(outcomes: Iterable[Outcome]) -> Outcome:
    """Return the best of one or more outcomes."""
    return max(outcomes, key=_WORST_FIRST.index)


def no_better_than(outcome: Outcome, other: Outcome) -> bool:
    """Return whether `outcome` is as bad as `other`, or worse."""
    equal = {Outcome.IDENTITY_SHOWN, Outcome.PAPER_MATCHES}
    if {outcome, other} <= equal:
        return True
    return _WORST_FIRST.index(outcome) <= _WORST_FIRST.index(other)


def shown(outcomes: Iterable[Outcome]) -> tuple[Outcome, ...]:
    """Return what is shown: the worst, and beside it those that always are."""
    found = set(outcomes)
    first = worst(found)
    return (first, *(one for one in _ALWAYS_SHOWN if one in found and one is not first))


def statement(outcome: Outcome, authority: str) -> Statement:
    """Return an outcome in words; each ends with who decides and what this is not."""
    return Statement(
        outcome=outcome,
        sentence=f"{_SENTENCES[outcome]} {closing(authority)}",
        decided_by=authority,
    )


def closing(authority: str) -> str:
    """Return the end of every sentence about papers."""
    return f"{authority} decides; this is a record of documents and not a finding of compliance."
