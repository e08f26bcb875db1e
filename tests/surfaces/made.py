"""A fitted surface of the builders' family, without a simulation: its torque is a formula."""

from dataclasses import replace
from datetime import UTC, datetime
from functools import cache
from typing import Any

import numpy as np

from service.catalog.parts import Part
from service.catalog.slots import Slot
from service.engine.cycle import KERNEL_VERSION
from service.engine.features import FEATURES_VERSION
from service.engine.study import Study, errors_of
from service.engine.surface_fit import cross_validated, fit_surface
from service.kits.fitted import FittedSurface
from service.surfaces.catalogue import FamilyAirflow, family_airflow
from service.surfaces.fitting import design_of
from tests.engine.made_studies import formula
from tests.factories import FAMILY_KEY, make_family, make_kit_parts, make_part

LONG_RUNNERS, HOT_CAM = "MANIFOLD-LONG", "CAM-HOT"
ENGINES = 32


def with_spec(slot: Slot, sku: str, **changes: Any) -> Part:  # noqa: ANN401 - any field of a spec.
    """The factory part of a slot under another SKU, with other figures."""
    stock: Any = make_part(slot)
    part: Part = replace(stock, sku=sku, spec=replace(stock.spec, **changes), factory_part=False)
    return part


def catalogue() -> dict[Slot, tuple[Part, ...]]:
    """The factory parts, a manifold with long runners, and a later camshaft."""
    parts: dict[Slot, tuple[Part, ...]] = {slot: (part,) for slot, part in make_kit_parts().items()}
    long_runners = with_spec(Slot.INTAKE_MANIFOLD, LONG_RUNNERS, runner_length_mm=430.0)
    hot_cam = with_spec(Slot.CAMSHAFT, HOT_CAM, intake_centreline_deg=106.0)
    parts[Slot.INTAKE_MANIFOLD] += (long_runners,)
    parts[Slot.CAMSHAFT] += (hot_cam,)
    return parts


def all_parts() -> list[Part]:
    return [part for members in catalogue().values() for part in members]


@cache
def airflow() -> FamilyAirflow:
    return family_airflow(make_family(), catalogue())


@cache
def made_surface() -> FittedSurface:
    design = design_of(airflow(), engines=ENGINES)
    base, box = airflow().base, airflow().box
    response = formula(design.rows, design.angular_speed)
    study = Study(rows=design.rows, angular_speed=design.angular_speed, response=response)
    unseen = cross_validated(study, base, box, np.random.default_rng(0))
    return FittedSurface(
        family=FAMILY_KEY,
        surface=fit_surface(study, base, box, np.random.default_rng(0)),
        errors=errors_of(study, unseen, box),
        kit_errors=errors_of(study.first(ENGINES // 2), unseen[: ENGINES // 2], box),
        input_errors=(0.16, 0.15, 0.17),
        model_version=KERNEL_VERSION,
        features_version=FEATURES_VERSION,
        catalog_digest=airflow().digest,
        seed=design.seed,
        fitted_at=datetime(2026, 11, 25, 12, 0, tzinfo=UTC),
    )
