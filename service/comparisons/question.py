"""What a comparison is asked: one kit as in an assessment, and what the other has instead."""

from dataclasses import dataclass, field, replace

from service.catalog.slots import Slot
from service.errors import FieldProblem, InvalidInput
from service.kits.kit import AssessmentRequest, EngineAsItStands, Weather
from service.quantities import EDGE_CONFIG, Name, SpeedRpm


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherKit:
    """The kit that is compared; family, use, place and year are the first one's."""

    __pydantic_config__ = EDGE_CONFIG

    parts: dict[Slot, Name] = field(default_factory=dict)
    """SKU for each slot that changes from the factory's; as in an assessment, not from `a`."""
    engine: EngineAsItStands | None = None
    """Null: the same engine."""
    weather: Weather | None = None
    """Null: the same weather."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparisonRequest:
    """One question: whether `b` is better than `a`."""

    __pydantic_config__ = EDGE_CONFIG

    a: AssessmentRequest
    b: OtherKit
    band_low_rpm: SpeedRpm | None = None
    """Lower end of the speeds that means are taken over; null: the slowest compared."""
    band_high_rpm: SpeedRpm | None = None
    """Upper end; null: the highest that both kits may use."""

    @property
    def questions(self) -> tuple[AssessmentRequest, AssessmentRequest]:
        """Both kits, each as in an assessment."""
        other, first = self.b, self.a
        second = replace(
            first,
            parts=other.parts,
            engine=first.engine if other.engine is None else other.engine,
            weather=first.weather if other.weather is None else other.weather,
        )
        return first, second


def comparison_of(first: AssessmentRequest, second: AssessmentRequest) -> ComparisonRequest:
    """Return the question that compares two kits of one family."""
    if first.family != second.family:
        detail = f"Kits of one family are compared; the first is of {first.family}."
        raise InvalidInput(FieldProblem(pointer="/family", code="other_family", detail=detail))
    return ComparisonRequest(
        a=first, b=OtherKit(parts=second.parts, engine=second.engine, weather=second.weather)
    )


def band_of(request: ComparisonRequest, slowest: float, fastest: float) -> tuple[float, float]:
    """Return the ends of the band in rev/min, or say which field lies outside what is compared."""
    low = slowest if request.band_low_rpm is None else request.band_low_rpm
    high = fastest if request.band_high_rpm is None else request.band_high_rpm
    limits = f"{slowest:.0f} to {fastest:.0f} rev/min are compared"
    if not slowest <= low < fastest:
        raise _outside("/band_low_rpm", f"{limits}; the band has to begin there.")
    if not low < high <= fastest:
        raise _outside("/band_high_rpm", f"{limits}; the band has to end there, above {low:.0f}.")
    return low, high


def _outside(pointer: str, detail: str) -> InvalidInput:
    return InvalidInput(FieldProblem(pointer=pointer, code="outside_compared", detail=detail))
