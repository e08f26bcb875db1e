"""What changed between two runs of one search, and why."""

import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from service.catalog.parts import Part
from service.catalog.slots import Slot
from service.kits.assessment import Surroundings
from service.kits.fitted import FittedSurface
from service.searches.answer import Moved, RankedKit, SinceThen, Snapshot

SURFACE = "surface "
"""No SKU holds a space, so that what stands around the parts is told from them."""
AROUND_IT = "No part of it changed; kits around it did."
AROUND_IT_TOO = "No part of it changed; the kits, rules, papers or profiles around it did."
Key = tuple[tuple[Slot, str], ...]
NOT_FIRST_PAGE = "It is behind the first page now: other kits rank above it."


def snapshot(
    parts: Iterable[Part], around: Surroundings, places: Iterable[str], fitted: FittedSurface
) -> Snapshot:
    """Return of every part, and of what stands around them, what a ranking rests on."""
    papers = defaultdict(list)
    for document in around.documents:
        papers[document.number].append(document)
    return {
        **{part.sku: _of_part(part) for part in parts},
        **{f"rule {rule.key}": _digest(rule) for rule in around.rules},
        **{f"paper {number}": _digest(found) for number, found in papers.items()},
        **{f"profile {place}": _digest(around.profiles.get(place)) for place in places},
        SURFACE: {"fitted": fitted.fitted_at.isoformat()},
    }


def _digest(what: object) -> dict[str, Any]:
    return {"sha256": hashlib.sha256(repr(what).encode()).hexdigest()}


def _of_part(part: Part) -> dict[str, Any]:
    return {
        "price": f"{part.price_cents / 100:.2f} {part.currency}",
        "in stock": bool(part.stock_count),
        "lead time": f"{part.lead_time_days} days",
        "revision": part.revision,
        "figures": repr(part.spec),
        "joints": repr((part.provides, part.needs)),
        "outside": repr(part.exterior),
        "papers": repr((part.documents, part.device_changes, *_claims(part))),
    }


def _claims(part: Part) -> tuple[str, ...]:
    """Told only where it is made: snapshots taken before it was recorded stay the same."""
    return ("replacement",) if part.replacement_claim else ()


def since_then(
    repeats: int,
    before: Snapshot,
    now: Snapshot,
    was: Sequence[RankedKit],
    ranking: Sequence[RankedKit],
    *,
    model_changed: bool,
    gone: Callable[[Mapping[Slot, str]], tuple[str, ...]],
) -> SinceThen:
    """Compare two first pages; `was` is the earlier one, `gone` tells what keeps a kit out."""
    changes = _changes(before, now)
    if model_changed:
        changes[SURFACE] = "The model that kits are read off is another one."
    old = {_key(kit.parts): kit.position for kit in was}
    new = {_key(kit.parts): kit.position for kit in ranking}
    moved = [
        Moved(
            parts=dict(key),
            was=old.get(key),
            now=new.get(key),
            because=(
                _because(key, changes)
                if key in new
                else (_own(key, changes) + gone(dict(key)) or (NOT_FIRST_PAGE,))
            ),
        )
        for key in {**new, **old}
        if old.get(key) != new.get(key)
    ]
    return SinceThen(repeats=repeats, catalogue=tuple(changes.values()), moved=tuple(moved))


def _changes(before: Snapshot, now: Snapshot) -> dict[str, str]:
    """Return what changed in words: what stands around the parts only where it was recorded."""
    recorded = SURFACE in before
    found = {}
    for name in sorted({*before, *now}, key=lambda one: (" " in one, one)):
        if " " in name and not recorded:
            continue
        called = name if " " not in name else f"The {name.strip()}"
        if name not in now:
            found[name] = f"{called} is no longer {'there' if ' ' in name else 'offered'}."
        elif name not in before:
            found[name] = f"{called} is new."
        elif before[name] != now[name]:
            told = "" if " " in name else f": {', '.join(_fields(before[name], now[name]))}"
            found[name] = f"{called} changed{told}."
    return found


def _fields(before: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    return [
        f"{name} {before.get(name)} to {now[name]}"
        if name in ("price", "lead time", "revision", "in stock")
        else name
        for name in now
        if before.get(name) != now[name]
    ]


def _because(key: Key, changes: Mapping[str, str]) -> tuple[str, ...]:
    around = any(" " in name for name in changes)
    return _own(key, changes) or (AROUND_IT_TOO if around else AROUND_IT,)


def _own(key: Key, changes: Mapping[str, str]) -> tuple[str, ...]:
    """Return the changes of a kit's own parts, and of the surface, which is everyone's."""
    return tuple(changes[name] for name in (*dict(key).values(), SURFACE) if name in changes)


def _key(parts: Mapping[Slot, str]) -> Key:
    # What is read back from a database may come in another order.
    return tuple((slot, parts[slot]) for slot in Slot if slot in parts)
