"""The page as a PDF: what is said of several is said once, so that it stays legible."""

import re
from collections.abc import Hashable, Iterable, Sequence
from typing import TypeVar

from service.compliance.devices import DeviceRow
from service.papertrails.trail import PaperTrail, TrailSource
from service.typesetting import typeset

TEMPLATE = "papertrails/paper_trail.typ"
Said = TypeVar("Said", bound=Hashable)
_NEXT_SENTENCE = re.compile(r"(?<=[.;]) (?=[A-Z])")
_UNTESTED = "A test on the vehicle of each of these devices: "
UNTESTED_ABOVE = "A test on the vehicle of each device that is not tested, as named under Devices."


def paper_trail_pdf(trail: PaperTrail) -> bytes:
    """Return the page; the same trail is the same bytes."""
    return typeset(TEMPLATE, document(trail))


def document(trail: PaperTrail) -> dict[str, object]:
    """Return every text of the page in its order."""
    return {
        "about": f"{trail.family_title or trail.family}, model year {trail.model_year}, "
        f"{trail.use.value} use, {trail.place_title}; as of {trail.assessed_on.isoformat()}",
        "flag": trail.street_use.street_legal_flag.value.replace("_", " "),
        "sentence": trail.street_use.sentence,
        "elsewhere": _elsewhere(trail),
        "decided_by": trail.decided_by,
        "parts": _parts(trail),
        "combination": trail.combination.value.replace("_", " "),
        "devices": _devices(trail),
        "outside": trail.keeps_stock_exterior.value.replace("_", " "),
        "looks": [
            *_looks(trail.differences),
            *(f"Inside, {text}" for text in trail.declared_inside),
        ],
        "look_caution": trail.appearance_caution,
        "statements": trail.statements,
        "documented": _together(trail, trail.documented),
        "missing": _missing(trail),
        "cautions": trail.cautions,
        "sources": _sources(trail.sources),
        "note": f"Assessment {trail.assessment}. A record of documents, not a finding of "
        "compliance.",
    }


def _alike(said: Iterable[tuple[Said, str]]) -> dict[Said, list[str]]:
    """Return the subjects of which the same is said, in the order of their first."""
    alike: dict[Said, list[str]] = {}
    for what, subject in said:
        alike.setdefault(what, []).append(subject)
    return alike


def _elsewhere(trail: PaperTrail) -> str:
    said = (
        (one.street_use.street_legal_flag.value.replace("_", " "), one.title)
        for one in trail.street_use_by_place
    )
    return " ".join(
        f"{flag.capitalize()}: {'; '.join(places)}." for flag, places in _alike(said).items()
    )


def _parts(trail: PaperTrail) -> list[list[str]]:
    said = (
        (
            (part.outcome.value.replace("_", " "), "; ".join(part.documents) or "none on file"),
            f"{part.title} ({part.sku})",
        )
        for part in trail.parts
    )
    return [
        [outcome, papers, "; ".join(parts)] for (outcome, papers), parts in _alike(said).items()
    ]


def _devices(trail: PaperTrail) -> list[str]:
    said = (
        (
            f"{row.state.value}{_by(row)}, {row.functional.value}".replace("_", " "),
            _device(row),
        )
        for row in trail.devices
    )
    return [f"{fate}: {'; '.join(names)}." for fate, names in _alike(said).items()]


def _device(row: DeviceRow) -> str:
    name = row.title or row.device.value.replace("_", " ")
    return f"{name} ({row.abbreviation})" if row.abbreviation else name


def _by(row: DeviceRow) -> str:
    return f" by {', '.join(row.by_parts)}" if row.by_parts else ""


def _missing(trail: PaperTrail) -> list[str]:
    """Return what is missing; devices without a test stand by their names above already."""
    return [
        UNTESTED_ABOVE if text.startswith(_UNTESTED) else text
        for text in _together(trail, trail.missing)
    ]


def _together(trail: PaperTrail, texts: Sequence[str]) -> list[str]:
    """Return sentences that are said of several subjects once."""
    parted = [text.partition(": ") for text in texts]
    said = (
        (sentence, subject)
        for subject, _, rest in parted
        if _names_a_part(subject, rest)
        for sentence in _NEXT_SENTENCE.split(rest)
    )
    of_parts = _alike((tuple(subjects), sentence) for sentence, subjects in _alike(said).items())
    return [
        *(f"{_named(trail, subjects)}: {' '.join(told)}" for subjects, told in of_parts.items()),
        *("".join(parts) for parts in parted if not _names_a_part(subject=parts[0], rest=parts[2])),
    ]


def _names_a_part(subject: str, rest: str) -> bool:
    """Whether a text is about a part: its number, which has no blank in it, and a colon."""
    return bool(rest) and " " not in subject


def _named(trail: PaperTrail, subjects: Sequence[str]) -> str:
    every = {part.sku for part in trail.parts}
    if len(every) > 1 and every <= set(subjects):
        return "Each of the parts above"
    return ", ".join(subjects)


def _looks(texts: Iterable[str]) -> list[str]:
    """Return what differs outside, a line for each part, with where one sees it from."""
    said = ((subject, rest) for subject, _, rest in (text.partition(": ") for text in texts))
    return [
        f"{subject}: {' '.join(_seen(one) for one in told)}"
        for subject, told in _alike(said).items()
    ]


def _seen(text: str) -> str:
    what, seen, place = text.partition(" Seen from: ")
    return f"{what} (Seen from: {place}.)" if seen else text


def _sources(sources: Iterable[TrailSource]) -> str:
    said = (
        (
            (
                f"{one.mark.value.replace('_', ' ')}, checked {one.checked_on.isoformat()}"
                f"{'' if one.confirmed else ', not confirmed'}"
            ),
            one.citation,
        )
        for one in sources
    )
    return " ".join(f"[{how}] {'; '.join(cited)}." for how, cited in _alike(said).items())
