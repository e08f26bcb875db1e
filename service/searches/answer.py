"""What a search answers."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from service.catalog.rules import RuleSeverity
from service.catalog.slots import Slot
from service.compliance.outcomes import Outcome
from service.kits.assessment import Score
from service.kits.kit import AssessmentRequest
from service.kits.money import LeadTime, PriceBlock
from service.kits.parts_list import ListedPart, MachiningWork
from service.quantities import EDGE_CONFIG
from service.searches.field import Removal
from service.searches.question import SearchRequest
from service.searches.why import MissedLimit, Obstacle, Rise, WhyNot


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortFinding:
    """A finding without its words; the assessment has them."""

    __pydantic_config__ = EDGE_CONFIG

    code: str
    severity: RuleSeverity
    parts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RankedKit:
    """One kit of a ranking: an assessment's blocks in short."""

    __pydantic_config__ = EDGE_CONFIG

    position: int
    """From 1."""
    value: float
    """What it is ranked by; the greater, the better."""
    score: Score
    mean_torque_nm: float
    peak_torque_nm: float | None = None
    """Null in searches of a time when it was not told."""
    parts: dict[Slot, str]
    fit: tuple[ShortFinding, ...]
    """None of them blocks."""
    differing_traits: int
    """Of the outside; for the owner's interest, and evidence of nothing."""
    devices_not_kept: tuple[str, ...]
    paperwork: Outcome
    combination_documented: str
    jurisdiction_outcome: Outcome | None = None
    """The worst of the note on the place; who decides there stands in `score`. Null in searches
    of a time when it was not told."""
    price: PriceBlock
    lead_time: LeadTime
    machining: tuple[MachiningWork, ...]
    """Work that it needs on this engine before it goes on; not in `price`."""
    adapters: tuple[ListedPart, ...]
    """What joins parts of it that do not meet by themselves; not in `price`."""
    assessment: AssessmentRequest
    """Send it to `/v1/assessments` for every block in full."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TradedKit:
    """One kit that no other beats in price, peak power and mean torque at once."""

    __pydantic_config__ = EDGE_CONFIG

    price: PriceBlock
    peak_power_kw: float
    peak_power_rpm: float
    mean_torque_nm: float
    parts: dict[Slot, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A smallest set of limits that keeps everything out, and the best kit without it."""

    __pydantic_config__ = EDGE_CONFIG

    limits: tuple[str, ...]
    kits: int
    """How many kits would fit."""
    best: RankedKit


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What was looked at, and so what the answer stands for."""

    __pydantic_config__ = EDGE_CONFIG

    complete: bool
    """Whether every combination was looked at: then nothing better was missed, as far as the
    surface that kits are read off can tell."""
    looked_at: tuple[str, ...]
    """Where not: the parts of the first slot all of whose kits were."""
    combinations: int
    rules: tuple[Removal, ...]
    """What takes combinations away, whatever is asked for."""
    limits: tuple[Removal, ...]
    """What takes kits away that go together; `alone` counts only those, too."""
    fitting: int
    surface_peak_power_error_p95: float
    """Of kits that the surface was not fitted to. [-]"""


class Confirming(StrEnum):
    """How far the simulation of the first kits is."""

    NOT_ASKED = "not_asked"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmedKit:
    """One of the first kits by surface and by simulation."""

    __pydantic_config__ = EDGE_CONFIG

    position: int
    simulated_position: int
    """Among those that were simulated; those that miss a limit come last."""
    value: float
    simulated_value: float
    assessment_url: str
    missed: tuple[MissedLimit, ...] = ()
    """Limits that it keeps by the surface and does not keep by simulation."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirmation:
    """The first kits of the ranking, simulated."""

    __pydantic_config__ = EDGE_CONFIG

    state: Confirming
    simulation_url: str | None
    kits: tuple[ConfirmedKit, ...]
    swapped: bool
    """Whether the simulation ranks them otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchResult:
    """What was found, as long as the catalogue stands."""

    __pydantic_config__ = EDGE_CONFIG

    proof: Proof
    ranking: tuple[RankedKit, ...]
    """Its first page."""
    front: tuple[TradedKit, ...]
    """From the cheapest on."""
    openings: tuple[Opening, ...]
    """When nothing fits: smallest sets first, as many as were asked for."""
    openings_count: int
    """How many smallest sets there are."""
    what_it_takes: tuple[Rise, ...]
    compared: WhyNot | None
    cautions: tuple[str, ...]
    milliseconds: dict[str, float]
    """Where the time went."""
    in_hand_misses: tuple[MissedLimit, ...] | None = None
    """Of the kit in hand; empty: it is where the ladder would lead. Null: no ladder was asked
    for, or the kit does not go together."""
    obstacles: tuple[Obstacle, ...] = ()
    """When nothing of the catalogue goes together on this engine, whatever the limits: the
    rules that are in the way, the fewest first, as many sets as were asked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A kit whose place in the ranking is another than in the search before."""

    __pydantic_config__ = EDGE_CONFIG

    parts: dict[Slot, str]
    was: int | None
    """Null: it was not on the first page."""
    now: int | None
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SinceThen:
    """What changed since the search that this one repeats."""

    __pydantic_config__ = EDGE_CONFIG

    repeats: int
    """That search's number."""
    catalogue: tuple[str, ...]
    """Parts that changed, and how; then papers, profiles, rules and the surface."""
    moved: tuple[Moved, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """A search as it is kept."""

    __pydantic_config__ = EDGE_CONFIG

    id: int
    created_at: datetime
    request: SearchRequest
    catalog_revision: int
    model_version: str
    result: SearchResult
    confirmation: Confirmation
    since_then: SinceThen | None
    """There when it repeats another."""
    ranking_url: str
    """The whole ranking, piece by piece."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RankingPage:
    """More of a ranking."""

    __pydantic_config__ = EDGE_CONFIG

    items: list[RankedKit]
    next_cursor: str | None


Snapshot = dict[str, dict[str, Any]]
"""Of every part that was offered, and of what stands around them, what the ranking rests on."""
