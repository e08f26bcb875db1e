"""How a family's surface is made: a design, its simulation piece by piece, the fit."""

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from service.engine.cycle import KERNEL_VERSION
from service.engine.design import DesignRange, space_filling
from service.engine.features import FEATURES_VERSION
from service.engine.inputs import FloatArray
from service.engine.model import EngineSpec
from service.engine.parameters import PARAMETERS
from service.engine.study import (
    Study,
    errors_of,
    input_errors,
    simulated,
    study_speeds,
)
from service.engine.surface_fit import FoldRunner, cross_validated, fit_surface
from service.kits.fitted import FittedSurface
from service.surfaces.catalogue import FamilyAirflow, catalogue_engines, engines_between

KIND = "surface_fit"
"""Of the job that fits a surface."""
SEED = 20261125
"""Of every design that nobody asked to be another: the day this file was begun."""
ENGINES = 640
"""Of a design."""
SPEEDS_EACH = 5
PIECE_ENGINES = 8
"""Simulated together, as one piece of a job."""
BOUND_ENGINES = 6
"""On which the simulation's own bounds are worked out."""
AIR = np.array([parameter.name in ("dry_pressure", "temperature") for parameter in PARAMETERS])
"""Parameters that no part decides."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """Which engines of a family are simulated, and at which speeds."""

    airflow: FamilyAirflow
    seed: int
    rows: FloatArray
    angular_speed: FloatArray

    @property
    def piece_count(self) -> int:
        """In how many pieces it is simulated."""
        return piece_count(len(self.rows))


def piece_count(engines: int) -> int:
    """Return in how many pieces a design of so many engines is simulated."""
    return -(-engines // PIECE_ENGINES)


def design_of(airflow: FamilyAirflow, *, engines: int = ENGINES, seed: int = SEED) -> Design:
    """Return the design of a family; the same seed gives the same.

    The first half are engines of catalogue parts, the other half lie between such; the air
    of all of them is evenly spread.
    """
    generator = np.random.default_rng(seed)
    rows = engines_between(airflow, space_filling(airflow.box, engines, generator), generator)
    kits = catalogue_engines(airflow, engines // 2, generator)
    rows[: engines // 2, ~AIR] = kits[:, ~AIR]
    speeds = study_speeds(airflow.box, engines, SPEEDS_EACH, generator)
    return Design(airflow=airflow, seed=seed, rows=rows, angular_speed=speeds)


def simulated_piece(
    base: EngineSpec, rows: FloatArray, angular_speed: FloatArray
) -> list[list[list[float]]]:
    """Simulate some engines of a design, one after another, in whichever process it is."""
    found: list[list[list[float]]] = simulated(base, rows, angular_speed, run=map).tolist()
    return found


def simulated_bounds(base: EngineSpec, rows: FloatArray, box: DesignRange) -> tuple[float, ...]:
    """Work out the simulation's own bounds on some engines of a design."""
    return input_errors(base, rows, box, run=map)


def fitted(
    family: str,
    design: Design,
    response: FloatArray,
    bounds: Sequence[float],
    *,
    run: FoldRunner = map,
) -> FittedSurface:
    """Fit what was simulated, and judge the fit by engines that it has not seen."""
    airflow = design.airflow
    study = Study(rows=design.rows, angular_speed=design.angular_speed, response=response)
    generator = np.random.default_rng(design.seed)
    half = len(design.rows) // 2
    unseen = cross_validated(study, airflow.base, airflow.box, generator, run=run)
    return FittedSurface(
        family=family,
        surface=fit_surface(study, airflow.base, airflow.box, generator),
        errors=errors_of(study, unseen, airflow.box),
        kit_errors=errors_of(study.first(half), unseen[:half], airflow.box),
        input_errors=tuple(bounds),
        model_version=KERNEL_VERSION,
        features_version=FEATURES_VERSION,
        catalog_digest=airflow.digest,
        seed=design.seed,
        fitted_at=datetime.now(UTC),
    )


def fit_family(family: str, design: Design, executor: Executor) -> FittedSurface:
    """Simulate a design and fit it, as fast as an executor can."""
    airflow, run = design.airflow, executor.map
    response = simulated(airflow.base, design.rows, design.angular_speed, run=run)
    bounds = input_errors(airflow.base, design.rows[:BOUND_ENGINES], airflow.box, run=run)
    return fitted(family, design, response, bounds, run=run)
