"""The page as a PDF."""

from collections.abc import Iterable

from service.papertrails.trail import PaperTrail, TrailSource
from service.typesetting import typeset

TEMPLATE = "papertrails/paper_trail.typ"


def paper_trail_pdf(trail: PaperTrail) -> bytes:
    """Return the page; the same trail is the same bytes."""
    return typeset(TEMPLATE, document(trail))


def document(trail: PaperTrail) -> dict[str, object]:
    """Return every text of the page in its order."""
    return {
        "about": f"{trail.family}, model year {trail.model_year}, use {trail.use.value}, "
        f"{trail.place_title}; as of {trail.assessed_on.isoformat()}",
        "flag": trail.street_use.street_legal_flag.value.replace("_", " "),
        "sentence": trail.street_use.sentence,
        "elsewhere": "; ".join(
            f"{one.title}: {one.street_use.street_legal_flag.value.replace('_', ' ')}"
            for one in trail.street_use_by_place
        ),
        "decided_by": trail.decided_by,
        "parts": [
            [
                part.slot.value.replace("_", " "),
                part.sku,
                part.outcome.value.replace("_", " "),
                "; ".join(part.documents) or "none on file",
            ]
            for part in trail.parts
        ],
        "combination": trail.combination.value.replace("_", " "),
        "devices": _devices(trail),
        "outside": trail.keeps_stock_exterior.value.replace("_", " "),
        "looks": [*trail.differences, *(f"Inside, {text}" for text in trail.declared_inside)],
        "look_caution": trail.appearance_caution,
        "statements": trail.statements,
        "documented": _together(trail.documented),
        "missing": _together(trail.missing),
        "cautions": trail.cautions,
        "sources": "; ".join(_source(source) for source in trail.sources),
        "note": f"Assessment {trail.assessment}. A record of documents, not a finding of "
        "compliance.",
    }


def _devices(trail: PaperTrail) -> list[str]:
    """Return the devices that fare alike together, in the order of their first."""
    alike: dict[str, list[str]] = {}
    for row in trail.devices:
        by = f" by {', '.join(row.by_parts)}" if row.by_parts else ""
        fate = f"{row.state.value}{by}, {row.functional.value}".replace("_", " ")
        alike.setdefault(fate, []).append(row.abbreviation or row.title or row.device.value)
    return [f"{fate}: {', '.join(names)}." for fate, names in alike.items()]


def _together(texts: Iterable[str]) -> list[str]:
    """Return texts that say the same of several subjects as one, in the order of their first."""
    alike: dict[str, list[str]] = {}
    for text in texts:
        subject, colon, rest = text.partition(": ")
        alike.setdefault(rest if colon else "", []).append(subject)
    return [
        text
        for rest, subjects in alike.items()
        for text in ([f"{', '.join(subjects)}: {rest}"] if rest else subjects)
    ]


def _source(source: TrailSource) -> str:
    mark = source.mark.value.replace("_", " ")
    counts = "" if source.confirmed else ", not confirmed"
    return f"{source.citation} [{mark}, checked {source.checked_on.isoformat()}{counts}]"
