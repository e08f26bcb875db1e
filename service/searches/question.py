"""What a search is asked: which kits, within which limits, best by what."""

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Annotated

from annotated_types import Ge, Le, MaxLen

from service.catalog.devices import Device
from service.catalog.slots import Slot
from service.catalog.specs import ThrottleDrive
from service.compliance.outcomes import Outcome
from service.kits.kit import AssessmentRequest
from service.money import Price
from service.quantities import (
    EDGE_CONFIG,
    STRICT,
    Count,
    Flag,
    Name,
    SpeedRpm,
)

MOST_RANKED = 100
Positive = Annotated[float, STRICT, Ge(0), Le(1e6)]


@dataclass(frozen=True, slots=True, kw_only=True)
class TorqueAt:
    """A torque that has to be there at a speed."""

    __pydantic_config__ = EDGE_CONFIG

    speed_rpm: SpeedRpm
    torque_at_least_nm: Positive


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedRange:
    """From one speed to another."""

    __pydantic_config__ = EDGE_CONFIG

    low_rpm: SpeedRpm
    high_rpm: SpeedRpm


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What every kit in the ranking has to keep; what is left out limits nothing."""

    __pydantic_config__ = EDGE_CONFIG

    keeps_stock_exterior: Flag = False
    """For the owner's interest; evidence of nothing."""
    devices_kept: tuple[Device, ...] = ()
    """Each has to be recorded as fitted for this family, year and use."""
    paperwork_at_worst: Outcome | None = None
    """Worst outcome of the paperwork block that is taken, in every one of `places`."""
    places: Annotated[tuple[Name, ...], MaxLen(12)] = ()
    """Jurisdiction profiles to ask; empty: the question's own place."""
    price_at_most: Price | None = None
    lead_time_at_most_days: Count | None = None
    in_stock: Flag = False
    octane_aki_at_most: Annotated[float, STRICT, Ge(60), Le(130)] | None = None
    """(R+M)/2 of the fuel that will be bought; the calibration must ask for no more."""
    rev_limit_at_least_rpm: SpeedRpm | None = None
    throttle_drive: ThrottleDrive | None = None
    torque_at: Annotated[tuple[TorqueAt, ...], MaxLen(8)] = ()
    band_covers: SpeedRange | None = None
    power_at_least_kw: Positive | None = None


class Aim(StrEnum):
    """What makes one kit better than another; more may be added."""

    PEAK_POWER = "peak_power"
    MEAN_TORQUE = "mean_torque"
    TORQUE_AT_SPEED = "torque_at_speed"
    LEAST_PRICE = "least_price"
    POWER_PER_MONEY = "power_per_money"
    WEIGHTED = "weighted"


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """What a mix counts: power and torque as shares of the factory kit's, price by its size."""

    __pydantic_config__ = EDGE_CONFIG

    peak_power: Positive = 0.0
    mean_torque: Positive = 0.0
    price: Positive = 0.0
    """For each 10,000 of the currency, taken off."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Objective:
    """By what kits are ranked."""

    __pydantic_config__ = EDGE_CONFIG

    aim: Aim = Aim.PEAK_POWER
    speed_rpm: SpeedRpm | None = None
    """For `torque_at_speed`."""
    weights: Weights | None = None
    """For `weighted`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchRequest:
    """One search over the catalogue of one engine family."""

    __pydantic_config__ = EDGE_CONFIG

    question: AssessmentRequest
    """Engine, weather, use and place; its parts are the kit in hand, for `what_it_takes`."""
    fixed: dict[Slot, Name] = field(default_factory=dict)
    """The only part for a slot."""
    allowed: dict[Slot, Annotated[tuple[Name, ...], MaxLen(256)]] = field(default_factory=dict)
    """The only parts for a slot."""
    excluded: Annotated[tuple[Name, ...], MaxLen(256)] = ()
    """Parts that are in no kit."""
    limits: Limits = field(default_factory=Limits)
    objective: Objective = field(default_factory=Objective)
    torque_range: SpeedRange | None = None
    """Over which mean torque is taken; by default from 2,000 rev/min to the family's limit."""
    count: Annotated[int, STRICT, Ge(1), Le(MOST_RANKED)] = 10
    """Of kits on a page."""
    most_alike: Annotated[int, STRICT, Ge(1), Le(MOST_RANKED)] | None = None
    """A kit is passed over when so many before it differ from it in one slot only."""
    relaxations: Annotated[int, STRICT, Ge(1), Le(20)] = 5
    """When nothing fits: how many sets of limits to name whose removal would help."""
    confirmed: Annotated[int, STRICT, Ge(0), Le(20)] = 3
    """How many kits of the ranking are simulated."""
    what_it_takes: Flag = False
    """Whether to tell the cheapest changes of one, two and three parts that lead from the kit in
    hand to one that keeps every limit."""
    compared: dict[Slot, Name] | None = None
    """A kit to tell of why it is not first; slots left out are the factory's."""
