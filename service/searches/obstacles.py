"""What is in the way where no kit of a catalogue goes together on an engine."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from service.errors import FieldProblem, InvalidInput
from service.kits.kit import Kit
from service.searches.field import DUTY, kit_with
from service.searches.joining import Screen, passing_count
from service.searches.reasons import blocking_findings
from service.searches.screens import Offer
from service.searches.task import Task, skus_of
from service.searches.why import Obstacle

ENGINE_VALUES = ("rev_limit_rpm", "compression_ratio", "bore_mm", "stroke_mm")
"""What a caller may state of an engine that is a figure with a limit."""


def obstacles_of(task: Task) -> tuple[Obstacle, ...]:
    """Return what would have to go, or refuse a value of the engine that nothing goes with."""
    field = task.field
    if len(field.rows):
        return ()
    sizes, screens = field.offer.sizes, field.screens
    # Where the screens let kits through, the injectors held all of them back.
    sets = [(DUTY,)] if passing_count(sizes, screens) else smallest_sets(sizes, screens)
    found = tuple(_obstacle(task, names) for names in sets[: task.asked.relaxations])
    problems = [each for one in found for each in _values_at_fault(task, one)]
    if problems:
        raise InvalidInput(*dict.fromkeys(problems))
    return found


def smallest_sets(sizes: Sequence[int], screens: Sequence[Screen]) -> list[tuple[str, ...]]:
    """Return the smallest sets of names without whose screens something passes.

    All of one name, else all of two; past that, one set that none of its names can leave.
    """
    names = list(dict.fromkeys(screen.name for screen in screens))
    for count in (1, 2):
        found = [one for one in combinations(names, count) if _passing(sizes, screens, one)]
        if found:
            return found
    gone = names
    for name in names:
        fewer = [one for one in gone if one != name]
        if _passing(sizes, screens, fewer):
            gone = fewer
    return [tuple(gone)]


def _passing(sizes: Sequence[int], screens: Sequence[Screen], gone: Iterable[str]) -> int:
    without = set(gone)
    return passing_count(sizes, [one for one in screens if one.name not in without])


def _obstacle(task: Task, names: tuple[str, ...]) -> Obstacle:
    field = task.field
    left = [screen for screen in field.screens if screen.name not in names]
    kit = kit_with(field.kit, field.offer.parts_of(_nearest_to_stock(field.kit, field.offer, left)))
    return Obstacle(
        rules=names,
        combinations=passing_count(field.offer.sizes, left),
        parts=skus_of(kit.parts),
        fit=blocking_findings(task, kit),
    )


def _nearest_to_stock(factory: Kit, offer: Offer, screens: Sequence[Screen]) -> list[int]:
    """Return a choice that passes, with the factory's part wherever one goes on so far."""
    chosen: list[Screen] = []
    row = []
    for place, slot in enumerate(offer.slots):
        stock = [part.sku for part in offer.members[slot]].index(factory.parts[slot].sku)
        for member in sorted(range(offer.sizes[place]), key=lambda one: (one != stock, one)):
            only = np.arange(offer.sizes[place]) == member
            here = Screen(name="", places=(place,), allowed=only)
            if passing_count(offer.sizes, [*screens, *chosen, here]):
                chosen.append(here)
                row.append(member)
                break
    return row


def _values_at_fault(task: Task, obstacle: Obstacle) -> Iterator[FieldProblem]:
    """Yield the values of the engine without which the rules in the way say nothing."""
    factory = task.field.kit
    parts = {
        slot: next(part for part in task.field.offer.members[slot] if part.sku == sku)
        for slot, sku in obstacle.parts.items()
    }
    engine = factory.request.engine
    for name in ENGINE_VALUES:
        if getattr(engine, name) is None:
            continue
        as_built = replace(factory.request, engine=replace(engine, **{name: None}))
        left = {
            each.code
            for each in blocking_findings(task, kit_with(replace(factory, request=as_built), parts))
        }
        for each in obstacle.fit:
            if each.code in obstacle.rules and each.code not in left:
                yield FieldProblem(
                    pointer=f"/question/engine/{name}",
                    code=each.code,
                    detail=f"No kit of this catalogue goes with it. {each.reason} {each.remedy}",
                )
