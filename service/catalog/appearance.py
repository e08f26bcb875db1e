"""What can be seen from outside, trait by trait, against the factory's description."""

from dataclasses import dataclass
from enum import StrEnum

from service.errors import FieldProblem
from service.quantities import EDGE_CONFIG, Flag, IsoDate, Name, Text


class Trait(StrEnum):
    """Something that a person looking at the engine can see."""

    CASTING_OUTLINE = "casting_outline"
    FINISH = "finish"
    VISIBLE_WELDS = "visible_welds"
    RUNNER_SHAPE = "runner_shape"
    PLENUM_SHAPE = "plenum_shape"
    THROTTLE_SIZE = "throttle_size"
    FASTENERS = "fasteners"
    HOSES = "hoses"
    BRACKETS = "brackets"
    LABELS = "labels"
    AIR_INLET = "air_inlet"
    EXHAUST = "exhaust"


@dataclass(frozen=True, slots=True, kw_only=True)
class TraitDifference:
    """One visible trait that is not as the factory left it."""

    __pydantic_config__ = EDGE_CONFIG

    trait: Trait
    what: Text
    seen_from: Text
    """Where one has to stand to see it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FactoryTrait:
    """How one visible trait left the factory."""

    __pydantic_config__ = EDGE_CONFIG

    trait: Trait
    description: Text
    source: Text
    """On whose word, or what was looked at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """A declaration put right: what stood there, what stands now, why, on whose word."""

    __pydantic_config__ = EDGE_CONFIG

    corrected_on: IsoDate
    was: Text
    now: Text | None = None
    """None: there is no change inside after all."""
    reason: Name
    corrected_by: Name


@dataclass(frozen=True, slots=True, kw_only=True)
class Exterior:
    """What somebody who looked at the part found. Never evidence about emissions."""

    __pydantic_config__ = EDGE_CONFIG

    assessed: Flag
    """Whether anybody compared it with the factory part; if not, nothing is known."""
    differences: tuple[TraitDifference, ...] = ()
    """Empty and assessed: as the factory left it."""
    internal_change: Text | None = None
    """A change inside that cannot be seen, where one is declared. It is taken back or
    reworded only together with a correction that says why."""
    corrections: tuple[Correction, ...] = ()
    """Oldest first; more come, none goes."""


def declaration_problems(before: Exterior, after: Exterior) -> list[FieldProblem]:
    """Return what a change does to declarations that may only be added to or corrected."""
    kept = len(before.corrections)
    added = after.corrections[kept:]
    if after.corrections[:kept] != before.corrections:
        return [
            FieldProblem(
                pointer="/exterior/corrections",
                code="append_only",
                detail="Corrections on record stay as they are; add a new one at the end.",
            )
        ]
    declared = before.internal_change
    for place, correction in enumerate(added):
        if correction.was != declared:
            return [
                FieldProblem(
                    pointer=f"/exterior/corrections/{kept + place}/was",
                    code="not_on_record",
                    detail=f"On record is {declared!r}, not {correction.was!r}.",
                )
            ]
        declared = correction.now
    if declared is None or declared == after.internal_change:
        return []
    return [
        FieldProblem(
            pointer="/exterior/internal_change",
            code="declared",
            detail=f"The change inside {declared!r} is declared; it is taken back or reworded "
            "only with an entry in `corrections` that says why.",
        )
    ]
