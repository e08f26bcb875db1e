"""Studies of engines whose response is a formula: as good as simulated, and known exactly."""

from functools import cache

import numpy as np

from service.engine.design import THROAT, DesignRange, range_of, space_filling
from service.engine.example import STANDARD_AIR, example_engine
from service.engine.inputs import FloatArray
from service.engine.parameters import INDEX, PARAMETERS, parameters_of
from service.engine.study import Study, study_speeds

SLOWEST, FASTEST = 160.0, 640.0
BASE = example_engine()


def example_row() -> FloatArray:
    return parameters_of(BASE, STANDARD_AIR)


@cache
def example_box() -> DesignRange:
    """A range around the example engine: every parameter a tenth either way."""
    row = example_row()
    signed = np.where(row == 0.0, 1e-6, row)
    signed[THROAT] = 0.0
    rows = np.array([0.9 * signed, row, 1.1 * signed])
    rows[:, INDEX["roller_tappets"]] = 0.0, 1.0, 1.0
    return range_of(rows, SLOWEST, FASTEST)


def formula(rows: FloatArray, angular_speed: FloatArray) -> FloatArray:
    """Torque that peaks at a speed set by runner and cam, as no simulation would give it."""
    length = np.log(rows[:, INDEX["runner_length"]] / 0.4)[:, None]
    duration = (rows[:, INDEX["intake_duration"]] / 250.0 - 1.0)[:, None]
    area = np.log(rows[:, INDEX["intake_flow_area"]] / 1e-3)[:, None]
    hump = (angular_speed / 400.0 - 1.0 + length - duration) / 0.6
    work = 1.2 + 0.1 * area + 0.2 * np.exp(-(hump**2))
    filling = 0.8 * work / 1.2
    friction = 0.6 + 1e-3 * angular_speed
    return np.stack([work, filling, np.broadcast_to(friction, work.shape)], axis=-1)


@cache
def made_study(engines: int = 96, each: int = 5) -> Study:
    generator = np.random.default_rng(5)
    rows = space_filling(example_box(), engines, generator)
    speeds = study_speeds(example_box(), engines, each, generator)
    return Study(rows=rows, angular_speed=speeds, response=formula(rows, speeds))


def names() -> list[str]:
    return [parameter.name for parameter in PARAMETERS]
