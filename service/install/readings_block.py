"""The readings of a work sheet as they are printed: limits, and what was found or a blank."""

from collections.abc import Iterable, Mapping, Sequence

from service.install.checks import Check, CheckUnit, Judgement
from service.install.figures import BLANK, Units, length_text, torque_text
from service.install.passes import three_torques
from service.install.printed import Block, Reading

Newest = Mapping[tuple[str, str | None], Reading]
"""The newest reading of each check at each place."""

SHORT = "_____"
HARD_SPACE = "\N{NO-BREAK SPACE}"
SAID = {
    Judgement.ACCEPTED: "accepted",
    Judgement.LOOK_AGAIN: "look again",
    Judgement.OUT_OF_RANGE: "OUT OF RANGE, stop",
}


def newest_of(readings: Iterable[Reading]) -> Newest:
    """Return the newest reading of each check at each place."""
    return {(one.check, one.place): one for one in readings}


def readings_block(checks: Iterable[Check], newest: Newest, units: Units) -> Block:
    """Return the table of readings."""
    return Block(
        heading="Readings",
        lines=(
            "Between accept and reject: measure again, then ask the builder. Past reject: stop.",
        ),
        head=("Reading", "Accept", "Reject", "Found"),
        widths=("1.5", "1", "1", "1.5"),
        rows=tuple(
            (
                f"{check.title}. {check.how} {check.source}",
                accepted(check, units),
                rejected(check, units),
                _found(check, newest),
            )
            for check in checks
        ),
    )


def accepted(check: Check, units: Units) -> str:
    """Return the values that pass."""
    return _limits(check, check.accept_from, check.accept_to, units, ("at least", "up to"))


def rejected(check: Check, units: Units) -> str:
    """Return the values that stop the work."""
    return _limits(check, check.reject_below, check.reject_above, units, ("below", "above"))


def _limits(
    check: Check, low: float | None, high: float | None, units: Units, words: tuple[str, str]
) -> str:
    def told(value: float) -> str:
        if check.unit is CheckUnit.MM:
            return length_text(value, units)
        return torque_text(three_torques(value))

    found = [
        f"{word} {told(value)}"
        for word, value in zip(words, (low, high), strict=True)
        if value is not None
    ]
    return ", ".join(found) or "not known"


def _found(check: Check, newest: Newest) -> str:
    """Return what was found, place by place, and blanks for the rest."""
    whole = newest.get((check.key, None))
    if not check.places:
        return BLANK if whole is None else found_text(whole)
    read = {
        place: newest[check.key, place] for place in check.places if (check.key, place) in newest
    }
    told = [] if whole is None else [found_text(whole)]
    told += [f"{place}: {found_text(one)}" for place, one in read.items()]
    open_ = [place for place in check.places if place not in read]
    if open_ and (read or whole is None):
        told.append(_blanks(open_))
    return "\n".join(told)


def _blanks(places: Sequence[str]) -> str:
    """Return a blank for each place; a word that all begin with is written once."""
    first = {place.partition(" ")[0] for place in places}
    common = f"{first.pop()} " if len(first) == 1 and len(places) > 1 else ""
    # A place and its blank stay on one line.
    blanks = [f"{place.removeprefix(common)} {SHORT}".replace(" ", HARD_SPACE) for place in places]
    return f"{common}{'  '.join(blanks)}"


def found_text(reading: Reading) -> str:
    """Return what was found, what is said of it, by whom and when."""
    said = "" if reading.outcome is None else f": {SAID[reading.outcome]}"
    return f"{reading.value:g} {reading.unit.value}{said}; {reading.by}, {reading.at:%Y-%m-%d}"
