"""What changed from one revision to another, in sentences."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from service.quantities import EDGE_CONFIG

_WHOLE = (
    "currency",
    "valid_until",
    "discount_percent",
    "price_list",
    "customer_note",
    "shop_note",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One thing that is not as it was."""

    __pydantic_config__ = EDGE_CONFIG

    pointer: str
    """Where it stands in the revision."""
    sentence: str
    before: str | None
    after: str | None


def differences(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[Difference, ...]:
    """Return what changed between two revisions, as they were frozen."""
    return tuple(_differences(before, after))


def printed_differences(
    before: Mapping[str, Any], after: Mapping[str, Any]
) -> Iterator[Difference]:
    """Yield which words of the sections of a copy are others, whatever they come from."""
    one, other = (
        {each["heading"]: each for each in document["sections"]} for document in (before, after)
    )
    # The customer's note is told whole.
    headings = (each for each in {**other, **one} if each != "Note")
    for heading in headings:
        old, new = _printed(one.get(heading)), _printed(other.get(heading))
        for text in old:
            if text not in new:
                sentence = f"{heading}, no longer: {text}"
                yield Difference(pointer=f"/{heading}", sentence=sentence, before=text, after=None)
        for text in new:
            if text not in old:
                sentence = f"{heading}, new: {text}"
                yield Difference(pointer=f"/{heading}", sentence=sentence, before=None, after=text)
        if old != new and sorted(old) == sorted(new):
            yield _told(heading, "the same in another order")
        elif old != new and set(old) == set(new):
            yield _told(heading, "the same, said more or less often")
        if (one.get(heading) or {}).get("drawing") != (other.get(heading) or {}).get("drawing"):
            yield _told(heading, "the drawing is another one")


def not_comparable() -> Difference:
    """Return what is said where the words of one copy can no longer be put together."""
    return _told("Printed words", "these two are too far apart in age to be compared word by word")


def _printed(section: Mapping[str, Any] | None) -> list[str]:
    """Return every text of a section: paragraphs, rows of its table, small print."""
    if section is None:
        return []
    table = section["table"]
    rows = [] if table is None else [table["header"], *table["rows"]]
    cells = ["; ".join(cell.replace("\n", ", ") for cell in row if cell) for row in rows]
    return [*section["paragraphs"], *cells, *section["small"]]


def _told(about: str, what: str) -> Difference:
    return Difference(pointer=f"/{about}", sentence=f"{about}: {what}.", before=None, after=None)


def _differences(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[Difference]:
    yield from _lines(before["bill"]["lines"], after["bill"]["lines"])
    one, other = _plain(before), _plain(after)
    for name in sorted(one.keys() | other.keys()):
        if one.get(name) != other.get(name):
            yield _changed(f"/{name}", _words(name), one.get(name), other.get(name))


def _lines(before: list[dict[str, Any]], after: list[dict[str, Any]]) -> Iterator[Difference]:
    one, other = _by_name(before), _by_name(after)
    for name, line in other.items():
        if name not in one:
            text = _line(line)
            yield Difference(
                pointer="/bill/lines", sentence=f"Added: {text}.", before=None, after=text
            )
        elif _line(line) != _line(one[name]):
            yield _changed("/bill/lines", _title(line), _line(one[name]), _line(line))
    for name, line in one.items():
        if name not in other:
            text = _line(line)
            yield Difference(
                pointer="/bill/lines", sentence=f"Removed: {text}.", before=text, after=None
            )
    if [name for name in one if name in other] != [name for name in other if name in one]:
        yield _told("Lines", "the same in another order")


def _by_name(lines: list[dict[str, Any]]) -> dict[tuple[str, str, int], dict[str, Any]]:
    """Return lines by name; those of one name are numbered, so that none hides another."""
    found: dict[tuple[str, str, int], dict[str, Any]] = {}
    for line in lines:
        kind, name = line["kind"], line["sku"] or line["title"].partition(":")[0]
        number = 0
        while (kind, name, number) in found:
            number += 1
        found[kind, name, number] = line
    return found


def _plain(frozen: Mapping[str, Any]) -> dict[str, str]:
    content, assessment = frozen["content"], frozen["assessment"]
    found = {name: str(content[name]) for name in _WHOLE if content[name] is not None}
    found |= {name: str(frozen[name]) for name in ("shop_name", "issued_by", "time_zone")}
    found["total"] = _money(frozen["bill"]["total"])
    found["customer"] = str(content["customer"]["name"])
    found["customer_reference"] = str(content["customer"]["reference"])
    found["address"] = str(content["customer"]["address"])
    asked = _leaves(content["question"])
    found |= {name: str(value) if "parts/" in name else _said(value) for name, value in asked}
    # A place is told by its name, not by the key of its profile.
    found["place"] = str(assessment["jurisdiction_note"]["title"])
    found["tax_rules"] = ", ".join(content["tax_rules"])
    found["estimated_peak_power"] = f"{assessment['peaks']['power']['power_kw']:.0f} kW"
    found["outcome_of_the_papers"] = _said(assessment["jurisdiction_note"]["outcome"])
    if frozen["override"] is not None:
        found["reason_of_the_override"] = str(frozen["override"]["reason"])
    found["model_version"] = str(frozen["versions"]["model"])
    found["profile"] = str(frozen["versions"]["profile"])
    for paper in frozen["documents"]:
        found[f"documents/{paper['number']}"] = f"{paper['status']}, {paper['file_sha256']}"
    return found


def _leaves(value: object, path: str = "") -> Iterator[tuple[str, object]]:
    """Return every plain value of a document with its path; what is absent is left out."""
    if isinstance(value, Mapping):
        for name, each in value.items():
            yield from _leaves(each, f"{path}/{name}" if path else str(name))
    elif value is not None:
        yield path, value


def _said(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value).replace("_", " ")


def _money(kept: Mapping[str, str]) -> str:
    return f"{kept['amount']} {kept['currency']}"


def _changed(pointer: str, name: str, before: str | None, after: str | None) -> Difference:
    sentence = f"{name}: {before or 'nothing'} becomes {after or 'nothing'}."
    return Difference(pointer=pointer, sentence=sentence, before=before, after=after)


def _title(line: Mapping[str, Any]) -> str:
    return str(line["title"])


def _line(line: Mapping[str, Any]) -> str:
    priced = (
        f", {line['quantity']} {line['unit']} at {line['unit_price']['amount']}"
        if line["quantity"]
        else ""
    )
    note = f" ({line['note']})" if line["note"] else ""
    less = f", less {line['discount_percent']} %" if line["discount_percent"] else ""
    return f"{line['title']}{note}{priced}{less}: {line['amount']['amount']}"


def _words(name: str) -> str:
    text = name.replace("_", " ").replace("/", ", ")
    return text[0].upper() + text[1:]


def draft_differences(
    before: Mapping[str, Any], after: Mapping[str, Any]
) -> tuple[Difference, ...]:
    """Return what an edit changed: everything written, and the lines charged for it."""
    one, other = _everything(before["content"]), _everything(after["content"])
    written = (
        _changed(f"/content/{name}", _words(name), one.get(name), other.get(name))
        for name in sorted(one.keys() | other.keys())
        if one.get(name) != other.get(name)
    )
    return (*_lines(before["bill"]["lines"], after["bill"]["lines"]), *written)


def _everything(content: Mapping[str, Any]) -> dict[str, str]:
    """Return all that a draft says, but for what its bill says of each line."""
    whole = {name: value for name, value in content.items() if name != "lines"}
    found = {path: _listed(value) for path, value in _leaves(whole)}
    for line in content["lines"]:
        name = line["sku"] or line["title"] or line["finding"]
        if line["unit_cost"]:
            found[f"{name}/unit_cost"] = _money(line["unit_cost"])
        if line["note"]:
            found[f"{name}/note"] = line["note"]
    return {path: text for path, text in found.items() if text}


def _listed(value: object) -> str:
    if isinstance(value, bool):
        return _said(value)
    return ", ".join(map(_listed, value)) if isinstance(value, list) else str(value)
