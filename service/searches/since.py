"""What changed between two runs of one search, and why."""

from collections.abc import Iterable, Mapping, Sequence

from service.catalog.parts import Part
from service.catalog.slots import Slot
from service.searches.answer import Moved, RankedKit, SinceThen, Snapshot

Key = tuple[tuple[Slot, str], ...]
NOT_FIRST_PAGE = "It is behind the first page now: other kits rank above it."


def snapshot(parts: Iterable[Part]) -> Snapshot:
    """Return of every part what a ranking rests on."""
    return {
        part.sku: {
            "price": f"{part.price_cents / 100:.2f} {part.currency}",
            "in stock": bool(part.stock_count),
            "lead time": f"{part.lead_time_days} days",
            "revision": part.revision,
            "figures": repr(part.spec),
            "joints": repr((part.provides, part.needs)),
            "outside": repr(part.exterior),
            "papers": repr((part.documents, part.device_changes, *_claims(part))),
        }
        for part in parts
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
) -> SinceThen:
    """Compare two first pages; `was` is the earlier one."""
    changes = _changes(before, now)
    if model_changed:
        changes[""] = "The model that kits are read off is another one."
    old = {_key(kit.parts): kit.position for kit in was}
    new = {_key(kit.parts): kit.position for kit in ranking}
    moved = [
        Moved(
            parts=dict(key),
            was=old.get(key),
            now=new.get(key),
            because=_because(key, changes, gone=key not in new),
        )
        for key in {**new, **old}
        if old.get(key) != new.get(key)
    ]
    return SinceThen(repeats=repeats, catalogue=tuple(changes.values()), moved=tuple(moved))


def _changes(before: Snapshot, now: Snapshot) -> dict[str, str]:
    found = {}
    for sku in sorted({*before, *now}):
        if sku not in now:
            found[sku] = f"{sku} is no longer offered."
        elif sku not in before:
            found[sku] = f"{sku} is new."
        elif before[sku] != now[sku]:
            fields = [name for name in now[sku] if before[sku].get(name) != now[sku][name]]
            told = [
                f"{name} {before[sku].get(name)} to {now[sku][name]}"
                if name in ("price", "lead time", "revision", "in stock")
                else name
                for name in fields
            ]
            found[sku] = f"{sku} changed: {', '.join(told)}."
    return found


def _because(key: Key, changes: Mapping[str, str], *, gone: bool) -> tuple[str, ...]:
    own = tuple(changes[sku] for _, sku in key if sku in changes)
    if own:
        return own
    if gone:
        return (NOT_FIRST_PAGE,)
    return ("No part of it changed; kits around it did.",)


def _key(parts: Mapping[Slot, str]) -> Key:
    return tuple(parts.items())
