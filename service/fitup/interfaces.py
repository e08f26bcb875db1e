"""Do the parts meet: need against offer, opening against opening.

Where they do not meet, the finding names the smallest change that would make them.
"""

from collections.abc import Iterable

from service.catalog.parts import Part
from service.catalog.rules import RuleSeverity
from service.catalog.supplies import AdaptersSpec
from service.fitup.adapting import Bridged, bridged_needs
from service.fitup.changes import (
    MOST_SWAPS,
    Alternatives,
    OpenNeed,
    change_in_words,
    need_key,
    offers,
    open_needs,
    smallest_change,
)
from service.fitup.findings import Finding
from service.fitup.openings import joints, step_finding, step_severity
from service.fitup.subject import FitSubject

CATALOGUE = "Interfaces recorded in the catalogue: both sides must say the same."


def interface_findings(
    subject: FitSubject, alternatives: Alternatives, supplies: Iterable[Part] = ()
) -> tuple[Finding, ...]:
    """Return one finding for every need that finds no partner, or only by an adapter."""
    bridged = {
        each.open_need: each for each in bridged_needs(subject.family, subject.parts, supplies)
    }
    return tuple(
        _bridged_finding(subject, bridged[one])
        if one in bridged
        else _open_need_finding(subject, alternatives, one)
        for one in open_needs(subject.family, subject.parts)
    )


def opening_findings(subject: FitSubject, alternatives: Alternatives) -> tuple[Finding, ...]:
    """Return one finding for every step between openings that is worth a word."""
    found = []
    for joint in joints(subject.parts):
        change = None
        if step_severity(joint) is RuleSeverity.BLOCKS:
            swaps = smallest_change(subject.family, subject.parts, alternatives, joint.code)
            change = change_in_words(swaps) if swaps else None
        found.append(step_finding(joint, subject.parts, change))
    return tuple(finding for finding in found if finding is not None)


def _bridged_finding(subject: FitSubject, bridged: Bridged) -> Finding:
    need, adapter = bridged.open_need.need, bridged.adapters[0]
    kind = need.kind.value.replace("_", " ")
    owner = bridged.open_need.owner
    asking = (subject.parts[owner].sku,) if owner else ()
    others = ", ".join(f"{one.kind.value.replace('_', ' ')} {one.code}" for one in adapter.needs)
    rise = ""
    if isinstance(adapter.spec, AdaptersSpec):
        rise = f" It is {adapter.spec.thickness_mm:g} mm thick: see that what stands on it clears "
        rise += "hood, linkage and ducts, and that both of its faces are sealed."
    return Finding(
        code=f"interface.{need.kind.value}.adapter",
        severity=RuleSeverity.WARNS,
        parts=tuple(sorted({*asking, adapter.sku})),
        reason=f"{asking[0] if asking else 'The engine'} needs the {kind} {need.code}, which no "
        f"part here offers; {adapter.sku} ({adapter.title}) offers it on the {others}.",
        remedy=f"Fit {adapter.sku}; it stands on the parts list with its price.{rise}",
        source=CATALOGUE,
    )


def _open_need_finding(subject: FitSubject, alternatives: Alternatives, one: OpenNeed) -> Finding:
    kind = one.need.kind.value.replace("_", " ")
    owner = subject.parts[one.owner].sku if one.owner else "The engine"
    others = sorted(
        {
            offer.code
            for offer in offers(subject.family, subject.parts, but_not=one.owner)
            if offer.kind is one.need.kind
        }
    )
    instead = f"offered is only {', '.join(others)}" if others else "nothing of the kind is offered"
    return Finding(
        code=f"interface.{one.need.kind.value}",
        severity=RuleSeverity.NOTES if one.need.optional else RuleSeverity.BLOCKS,
        parts=(owner,) if one.owner else (),
        reason=f"{owner} needs the {kind} {one.need.code}; {instead}.",
        remedy=_remedy(subject, alternatives, one, others),
        source=CATALOGUE,
    )


def _remedy(
    subject: FitSubject, alternatives: Alternatives, one: OpenNeed, others: list[str]
) -> str:
    if one.need.optional:
        return "None needed: the part works without this connection."
    swaps = smallest_change(subject.family, subject.parts, alternatives, need_key(one))
    if swaps:
        return change_in_words(swaps)
    none = f"No change of up to {MOST_SWAPS} catalogue parts closes it."
    kind = one.need.kind.value.replace("_", " ")
    if others:
        return f"{none} An adapter from the {kind} {others[0]} to {one.need.code} has to be made."
    return f"{none} Choose a part that offers the {kind} {one.need.code}."
