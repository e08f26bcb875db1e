"""The shop's own rules about parts, as data; `fitup` evaluates them."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from service.catalog.slots import Slot
from service.errors import Conflict, NotFound
from service.quantities import EDGE_CONFIG, STRICT, Key, Name, Text


class RuleKind(StrEnum):
    """How a rule ties a part to the rest of the kit."""

    NEEDS = "needs"
    EXCLUDES = "excludes"
    LIMITS = "limits"


class RuleSeverity(StrEnum):
    """What breaking a rule means."""

    BLOCKS = "blocks"
    WARNS = "warns"
    NOTES = "notes"


class RuleQuantity(StrEnum):
    """What a limit is put on."""

    VALVE_LIFT_MM = "valve_lift_mm"
    COMPRESSION_RATIO = "compression_ratio"
    REV_LIMIT_RPM = "rev_limit_rpm"
    THROTTLE_BORE_MM = "throttle_bore_mm"
    SEAT_DURATION_DEG = "seat_duration_deg"
    OVERLAP_DEG = "overlap_deg"
    PRIMARY_BORE_MM = "primary_bore_mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Selector:
    """Which parts are meant; an empty selector means none."""

    __pydantic_config__ = EDGE_CONFIG

    skus: tuple[Name, ...] = ()
    slot: Slot | None = None
    """Any part of this slot, unless `skus` names some."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopRule:
    """One rule with its reason and what to do about it."""

    __pydantic_config__ = EDGE_CONFIG

    key: Key
    families: tuple[Name, ...] = ()
    """Empty: all."""
    kind: RuleKind
    severity: RuleSeverity
    when: Selector
    """The rule speaks when the kit holds such a part."""
    other: Selector | None = None
    """The part that is needed or excluded."""
    quantity: RuleQuantity | None = None
    at_least: Annotated[float, STRICT] | None = None
    at_most: Annotated[float, STRICT] | None = None
    reason: Text
    remedy: Text


class RuleNotFound(NotFound):
    """No rule has this key."""

    def __init__(self, key: str) -> None:
        super().__init__(f"No shop rule has the key {key!r}.")


class RuleKeyTaken(Conflict):
    """Another rule already has this key."""

    def __init__(self, key: str) -> None:
        super().__init__(f"A shop rule with the key {key!r} is in the catalogue already.")
