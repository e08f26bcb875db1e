"""What can be seen from outside, trait by trait, against the factory's description."""

from dataclasses import dataclass
from enum import StrEnum

from service.quantities import EDGE_CONFIG, Flag, Text


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
class Exterior:
    """What somebody who looked at the part found. Never evidence about emissions."""

    __pydantic_config__ = EDGE_CONFIG

    assessed: Flag
    """Whether anybody compared it with the factory part; if not, nothing is known."""
    differences: tuple[TraitDifference, ...] = ()
    """Empty and assessed: as the factory left it."""
    internal_change: Text | None = None
    """A change inside that cannot be seen, where one is declared."""
