"""What a search says of kits that are not first, and of what is in the way."""

from dataclasses import dataclass

from service.catalog.slots import Slot
from service.fitup.findings import Finding, Reading
from service.kits.ladder import Rung
from service.kits.money import PriceBlock
from service.quantities import EDGE_CONFIG


@dataclass(frozen=True, slots=True, kw_only=True)
class MissedLimit:
    """A limit that a kit does not keep."""

    __pydantic_config__ = EDGE_CONFIG

    limit: str
    """Name of its field in the request."""
    parts: tuple[str, ...]
    """SKUs of those that break it by themselves."""
    measured: Reading | None
    """Null: it is no figure."""
    wanted: Reading | None
    reason: str
    remedy: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacle:
    """Rules without which something would go together, where nothing does."""

    __pydantic_config__ = EDGE_CONFIG

    rules: tuple[str, ...]
    """Codes, as in `proof.rules`; none of them can stay."""
    combinations: int
    """How many would go together."""
    parts: dict[Slot, str]
    """One of them, with the factory's parts as far as they go on."""
    fit: tuple[Finding, ...]
    """What keeps it apart, with measured value, limit and remedy."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rise:
    """A rung of the ladder from the kit in hand: the cheapest change of so many parts."""

    __pydantic_config__ = EDGE_CONFIG

    changes: dict[Slot, str]
    reaches_limits: bool
    """False: no change of so many parts keeps every limit. Then this one comes nearest: of what
    each limit asks for, the share that it misses, added up, is the smallest; and it is nearer
    than any change of fewer parts."""
    cost: PriceBlock
    """Of the new parts."""
    peak_power_kw: float
    power_gain_kw: float | None
    """Null: the kit in hand does not go together, so that it has no power of its own."""
    mean_torque_gain_nm: float | None
    largest_loss: Rung
    """What holds the air up then, by simulation."""
    missed: tuple[MissedLimit, ...] = ()
    """What is still missing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyNot:
    """Why a kit named by the caller is not first."""

    __pydantic_config__ = EDGE_CONFIG

    parts: dict[Slot, str]
    goes_together: bool
    fit: tuple[Finding, ...]
    """What blocks it, with measured value, limit and remedy."""
    outside_fitted_range: bool
    """Whether it is not in the ranking because its curve cannot be read off the surface."""
    broken_limits: tuple[str, ...]
    """Of a kit that does not go together, those that can be told without a curve where it
    has none."""
    position: int | None
    """In the whole ranking, near copies counted; null: it is not in it."""
    missed: tuple[MissedLimit, ...] = ()
    """The broken limits, with what was measured and what would help."""
