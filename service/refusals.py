"""Requests that are refused: hiding, imitating a label, swapping for a test, misleading.

The project's own rule. It looks at words alone, so it is never complete: who rewords far enough
gets through, and now and then it holds back what was meant well. That is said again without
the purpose.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from service.errors import FieldProblem

_WHO = (
    r"(?:inspectors?|inspections?|referees?|officers?|officials?|police|examiners?|testers?|"
    r"smog(?: check| test| shop)?|emissions? (?:test|check|inspection)s?|test (?:lane|station)s?|"
    r"authorit(?:y|ies)|mot|sniffers?|roadworthy|periodic tests?)"
)
_LABEL = r"(?:labels?|stickers?|decals?|plates?|certificates?|order numbers?|stamps?|veci)"
_SENSED = r"(?:readiness|monitors?|mil|check engine|oxygen sensors?|o2 sensors?|obd)"
_STOCK = r"(?:stock|factory|original|old)"
_CONTROL = r"(?:catalysts?|catalytic|converters?|cats?|egr|air pump)"
_COMPUTER = r"(?:computers?|ecus?|ecms?|pcms?)"
_PAPER = r"(?:invoices?|receipts?|bills?|quotes?|work orders?|job cards?|forms?)"
_GAP = r"([^.!?\n]{0,60}?)"
"""What may stand between two words; caught, so that a record can leave it out."""
_PURPOSES = {
    "hide_from_inspection": (
        (
            rf"\b(?:hid(?:e|es|den|ing)|conceal\w*|disguis\w*|camouflag\w*|mask(?:s|ed|ing)?|"
            rf"cover(?:s|ed|ing)? up)\b{_GAP}\b{_WHO}\b"
        ),
        (
            rf"\b{_WHO}\b{_GAP}\b(?:does(?: not|n'?t)|wo(?:n'?t)|will not|can(?:not|'?t)|never)\s+"
            r"(?:see|notice|find|spot|tell|know|catch)"
        ),
        rf"\b(?:so|looks?|look)\b{_GAP}\b{_STOCK}\b{_GAP}\b(?:to|for|past)\b{_GAP}\b{_WHO}\b",
    ),
    "imitate_a_label": (
        (
            r"\b(?:fak(?:e|es|ed|ing)|forg(?:e|es|ed|ing)|counterfeit\w*|imitat\w*|replicat\w*|"
            rf"reproduc\w*|reprint\w*|copy|copies|clone\w*|print me|make me)\b{_GAP}"
            rf"\b{_LABEL}\b"
        ),
        (
            rf"\b(?:put|stick|affix|place|attach|apply|print|make)\b{_GAP}\b{_LABEL}\b{_GAP}"
            rf"\b(?:says?|saying|reads?|reading)\b{_GAP}"
            r"\b([dg]-\d+|order|exempt\w*|approv\w*|certif\w*|legal|stock|original|factory)"
        ),
        (
            rf"\b(?:make|print|draw|design)\b{_GAP}\b{_LABEL}\b{_GAP}"
            rf"\b(?:looks?|looking|same as|identical|match\w*)\b{_GAP}\b(?:{_STOCK}|real|genuine)\b"
        ),
    ),
    "swap_for_a_test": (
        (
            r"\b(?:swap\w*|put(?:ting)?|bolt\w*)\b"
            rf"{_GAP}\b{_STOCK}\b{_GAP}\b(?:for|until|during|to pass)\b{_GAP}\b{_WHO}\b"
        ),
        rf"\bswap\w*\b{_GAP}\b{_STOCK}\b{_GAP}\bbefore\b{_GAP}\b{_WHO}\b",
        (
            rf"\b(?:put|bolt)\w*\b(?=[^.!?\n]*\b{_STOCK}\b)(?=[^.!?\n]*\bback\b)"
            rf"{_GAP}\bbefore\b{_GAP}\b{_WHO}\b"
        ),
        (
            r"\b(?:put|fit|bolt|refit|install|reinstall)(?:ting|ing|s)?\b"
            rf"{_GAP}\b(?:{_STOCK}|{_CONTROL})\b{_GAP}\b(?:for|before|until|during|to pass)\b"
            rf"{_GAP}\b(?:{_WHO}|tests?)\b{_GAP}"
            rf"\b(?:tak|remov|pull|swap|chang|unbolt|strip|go)\w*\b{_GAP}"
            r"\b(?:off|out|after|afterwards|again|back)\b"
        ),
        rf"\b(?:for|before|during)\b{_GAP}\b{_WHO}\b{_GAP}\bswap\w*\b",
    ),
    "fake_readiness": (
        (
            r"\b(?:fak(?:e|es|ed|ing)|spoof\w*|forc(?:e|ing)|simulat\w*|trick\w*|fool\w*)\b"
            rf"{_GAP}\b(?:{_SENSED}|{_COMPUTER})\b"
        ),
        (
            r"\b(?:o2|oxygen sensor|o2 sensor|catalyst|rear sensor) "
            r"(?:simulator|emulator|eliminator)s?\b"
        ),
        (
            rf"\b(?:delet|clear|eras|disabl|turn|remov)\w*\b{_GAP}\b(?:codes?|dtcs?|{_SENSED})\b"
            rf"{_GAP}\bso\b{_GAP}\b{_SENSED}\b{_GAP}\b(?:shows?|reads?|reports?|says?|looks?)\b"
        ),
    ),
    "mislead_an_inspector": (
        (
            r"\b(?:fool\w*|trick\w*|mislead\w*|misled|deceiv\w*|cheat\w*|beat(?:ing)?|"
            r"get(?:ting)? (?:it )?(?:past|round|around|through)|sneak\w*|slip\w*)\b"
            rf"{_GAP}\b{_WHO}\b"
        ),
        rf"\b(?:tell|say to|claim to|write for|lie to)\b{_GAP}\b{_WHO}\b{_GAP}\b{_STOCK}\b",
        (
            r"\b(?:word|write|say)\b"
            rf"{_GAP}\bso (?:that )?{_GAP}\b{_WHO}\b{_GAP}\b(?:think|believe|assume)"
        ),
        (
            rf"\b(?:state|say|write|note|put|declare)\b{_GAP}\b{_PAPER}\b{_GAP}"
            r"\b(?:unmodified|unaltered|untouched|not (?:modified|altered|opened)|"
            rf"(?:is|are|was|were) (?:all )?{_STOCK})\b"
        ),
    ),
}
_WORTH_A_LOOK = re.compile(
    rf"\b(?:{_WHO}|{_LABEL}|{_SENSED}|{_CONTROL}|{_COMPUTER}|{_PAPER}|tests?|o2)\b", re.IGNORECASE
)
"""Every pattern holds one of these: most texts are done after one look."""
_PATTERNS = {
    purpose: re.compile("|".join(patterns), re.IGNORECASE)
    for purpose, patterns in _PURPOSES.items()
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedField(FieldProblem):
    """A text that asks for what is refused; its code says for what."""

    words: str
    """The words of our own list that were found; what stood between them is left out."""


def refused_words(text: str) -> tuple[str, str] | None:
    """Return what a text asks for that is refused, and the words that say so; or None."""
    words = text.replace("\u2019", "'").split()
    plain = " ".join(words)
    if len(words) == 1 or not _WORTH_A_LOOK.search(plain):
        return None
    for purpose, pattern in _PATTERNS.items():
        found = pattern.search(plain)
        if found:
            return purpose, _listed_words(found)
    return None


def _listed_words(found: re.Match[str]) -> str:
    """Return a match without its gaps: they may hold a name or an address."""
    text, end, kept = found.string, found.start(), []
    gaps = [found.span(number) for number in range(1, found.re.groups + 1)]
    for start, stop in sorted(gap for gap in gaps if gap[0] >= 0):
        kept.append(text[end:start].strip())
        end = stop
    return " \u2026 ".join((*filter(None, kept), text[end : found.end()].strip())).lower()


def refused_fields(document: object, pointer: str = "") -> Iterator[RefusedField]:
    """Find every text in a document that asks for what is refused."""
    if isinstance(document, str):
        found = refused_words(document)
        if found is not None:
            yield RefusedField(
                pointer=pointer,
                code=found[0],
                words=found[1],
                detail="The text asks to hide, imitate or mislead. This service gives no help "
                "with that, not in part either; the request is logged.",
            )
    elif isinstance(document, Mapping):
        for key, value in document.items():
            step = str(key).replace("~", "~0").replace("/", "~1")
            yield from refused_fields(value, f"{pointer}/{step}")
    elif isinstance(document, list | tuple):
        for place, value in enumerate(document):
            yield from refused_fields(value, f"{pointer}/{place}")
