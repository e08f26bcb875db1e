"""The figures of a comparison, with their units: what the second kit makes more or less."""

from dataclasses import dataclass
from enum import StrEnum

from service.catalog.slots import Slot
from service.comparisons.question import ComparisonRequest
from service.kits.figures import Basis
from service.quantities import EDGE_CONFIG


class Verdict(StrEnum):
    """Whether the second kit is better than the first."""

    BETTER = "better"
    WORSE = "worse"
    NOT_TOLD_APART = "not_told_apart"


@dataclass(frozen=True, slots=True, kw_only=True)
class TorqueDifference:
    """Torque of the second kit less that of the first."""

    __pydantic_config__ = EDGE_CONFIG

    a_nm: float
    b_nm: float
    difference_nm: float
    low_nm: float
    high_nm: float
    difference_lbft: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerDifference:
    """Power of the second kit less that of the first."""

    __pydantic_config__ = EDGE_CONFIG

    a_kw: float
    b_kw: float
    difference_kw: float
    low_kw: float
    high_kw: float
    difference_hp: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedSpeed:
    """One speed of both curves."""

    __pydantic_config__ = EDGE_CONFIG

    speed_rpm: float
    torque: TorqueDifference
    power: PowerDifference
    verdict: Verdict
    """`better` or `worse`: the whole interval lies on that side of zero."""
    probability_b_better: float
    """Of a difference above zero, where errors are normal. [-]"""
    converged: bool
    """Whether both points repeated themselves; one that did not tells nothing apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedTorque:
    """Torque over the band, or at both peaks."""

    __pydantic_config__ = EDGE_CONFIG

    torque: TorqueDifference
    a_speed_rpm: float | None
    """Where the first kit's peak stands; null: a mean."""
    b_speed_rpm: float | None
    verdict: Verdict
    probability_b_better: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedPower:
    """Power over the band, or at both peaks."""

    __pydantic_config__ = EDGE_CONFIG

    power: PowerDifference
    a_speed_rpm: float | None
    b_speed_rpm: float | None
    verdict: Verdict
    probability_b_better: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedBand:
    """Means over the speeds between two ends."""

    __pydantic_config__ = EDGE_CONFIG

    low_rpm: float
    high_rpm: float
    torque: ComparedTorque
    power: ComparedPower


@dataclass(frozen=True, slots=True, kw_only=True)
class Peaks:
    """The highest points of both curves, each at its own speed."""

    __pydantic_config__ = EDGE_CONFIG

    torque: ComparedTorque
    power: ComparedPower


class Treatment(StrEnum):
    """What became of an error in the difference."""

    SHARED = "shared"
    """Both kits have it, so that it cancels but for what it does to one more than the other."""
    OWN = "own"
    """Each kit has its own, and they add."""
    PARTLY_SHARED = "partly_shared"


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """One thing that is not known exactly, and what it does to the difference."""

    __pydantic_config__ = EDGE_CONFIG

    name: str
    size: str
    """One standard deviation."""
    source: str
    treatment: Treatment
    own_to: tuple[Slot, ...]
    """Slots in which the kits hold other parts, whose errors do not cancel."""
    share_of_variance: float
    """Of the mean torque over the band; 0 throughout where the kits are the same. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedPart:
    """A slot in which the kits differ."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Slot
    a_sku: str
    b_sku: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparisonProvenance:
    """What the answer was worked out from."""

    __pydantic_config__ = EDGE_CONFIG

    model_version: str
    bounds_version: str
    catalog_revision: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """The answer: the second kit less the first, and how sure that is."""

    __pydantic_config__ = EDGE_CONFIG

    request: ComparisonRequest
    changed: tuple[ChangedPart, ...]
    speeds: tuple[ComparedSpeed, ...]
    peaks: Peaks
    band: ComparedBand
    basis_a: Basis
    basis_b: Basis
    interval: str
    """What low and high enclose."""
    assumptions: tuple[Assumption, ...]
    cautions: tuple[str, ...]
    provenance: ComparisonProvenance
