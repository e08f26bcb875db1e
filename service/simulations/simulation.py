"""What a simulation is asked for and what it answers: one curve for each kit, in their order."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

from service.catalog.parts import Part
from service.catalog.slots import KIT_SLOTS
from service.errors import NotFound
from service.jobs.job import JobProblem, JobState
from service.kits.assessment import Provenance
from service.kits.figures import Band, Basis, CurvePoint, Peaks
from service.kits.kit import AssessmentRequest
from service.quantities import EDGE_CONFIG

KIND = "simulation"
MOST_KITS = 500
"""In one sweep: each is looked up while the caller waits, and about a second of a core."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SimulatedKit:
    """What the simulation says of one kit; its other blocks stand in the assessment."""

    __pydantic_config__ = EDGE_CONFIG

    request: AssessmentRequest
    fits: bool
    """Whether it bolts together: no finding blocks it."""
    curve: tuple[CurvePoint, ...]
    peaks: Peaks
    band: Band
    basis: Basis
    provenance: Provenance
    assessment_url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SimulationItem:
    """One kit of a sweep: simulated, or told why it cannot be."""

    __pydantic_config__ = EDGE_CONFIG

    position: int
    """From 0, in the order of the request."""
    kit: SimulatedKit | None
    problem: JobProblem | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Simulation:
    """A simulation, with the kits of it that are finished."""

    __pydantic_config__ = EDGE_CONFIG

    id: int
    state: JobState
    """Of its job; until it is done, there may be more kits later."""
    kit_count: int
    """Asked for."""
    job_url: str
    items: list[SimulationItem]
    next_cursor: str | None
    """Ask again with this as `cursor` for what follows; null at the end of what is finished."""


class SimulationNotFound(NotFound):
    """No simulation has this number."""

    def __init__(self, simulation_id: int) -> None:
        super().__init__(f"There is no simulation {simulation_id}; that job is of another kind.")


def simulated_kit(assessment: Mapping[str, Any], assessment_url: str) -> dict[str, Any]:
    """Return the part of an assessment, as it was sent, that is a `SimulatedKit`."""
    blocks = [each.name for each in fields(SimulatedKit)]
    kept = {name: assessment[name] for name in blocks if name in assessment}
    return {**kept, "assessment_url": assessment_url}


def single_swaps(factory: AssessmentRequest, parts: Sequence[Part]) -> list[AssessmentRequest]:
    """Return the factory kit, and after it every kit that differs from it by one part.

    It is the sweep that a desk wants before any other: what does this part bring on an
    engine that is otherwise as it left the factory? It grows with the catalogue and not
    with its combinations, and the parts that it shows to bring something are the ones
    worth combining.
    """
    ordered = sorted(parts, key=lambda part: (list(KIT_SLOTS).index(part.slot), part.sku))
    return [factory, *(replace(factory, parts={part.slot: part.sku}) for part in ordered)]
