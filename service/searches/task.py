"""One search with everything that it looks at."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from service.catalog.parts import Part
from service.catalog.slots import Slot
from service.engine.curve import PointRunner
from service.engine.inputs import FloatArray
from service.fitup.findings import Finding
from service.kits.assessment import Surroundings
from service.kits.fitted import FittedSurface
from service.searches.answer import ShortFinding
from service.searches.field import Field
from service.searches.limits import Papers
from service.searches.question import SearchRequest
from service.searches.ranking import Rows, torque_range


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One request with everything that it looks at."""

    field: Field
    asked: SearchRequest
    around: Surroundings
    fitted: FittedSurface
    run: PointRunner
    """For the few kits of a ladder."""

    @property
    def places(self) -> tuple[str, ...]:
        """Return the places whose profiles are asked."""
        return tuple(dict.fromkeys((self.asked.question.place, *self.asked.limits.places)))

    @property
    def papers(self) -> Papers:
        """Return what papers are looked up in."""
        around = self.around
        return Papers(documents=around.documents, profiles=around.profiles, today=around.today)


def skus_of(parts: Mapping[Slot, Part]) -> dict[Slot, str]:
    """Return the SKU in every slot."""
    return {slot: part.sku for slot, part in parts.items()}


def short(findings: Sequence[Finding]) -> tuple[ShortFinding, ...]:
    """Return findings without their words."""
    return tuple(
        ShortFinding(code=each.code, severity=each.severity, parts=each.parts) for each in findings
    )


def mean_torques(field: Field, asked: SearchRequest, rows: Rows) -> FloatArray:
    """Return the mean torque of some kits over the range that was asked for."""
    return field.curves.only(field.curve_of[rows]).mean_torque(*torque_range(field, asked))
