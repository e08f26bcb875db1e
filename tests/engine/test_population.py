"""The model against what production engines were rated at.

Gate B4 of the project's table of reference values. The data say nothing of valves, cams
or pipes: a default engine stands in, proportioned for its rated speed (`population`).
The yardstick is the null model, one brake mean effective pressure for all engines: with
breathing proportioned alike, the simulation can at best tie with it.
"""

import csv
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from service.engine.uncertainty import MODEL_ERROR
from service.units import hp_to_w, in3_to_m3
from tests.engine.population import Rated, predicted_over_rated

REFERENCE = Path(__file__).parent.parent / "reference"
NULL_PRESSURE = 9.2e5
"""Median brake mean effective pressure at rated power of the 1993 set. [Pa]"""


def rows(name: str) -> Iterator[dict[str, float]]:
    text = (REFERENCE / f"{name}.csv").read_text("utf-8").splitlines()
    for row in csv.DictReader(line for line in text if not line.startswith("#")):
        yield {key: float(value) for key, value in row.items()}


def engines_of_1993() -> list[Rated]:
    return [
        Rated(row["displacement_l"], row["power_hp"], row["speed_rpm"], int(row["cylinders"]))
        for row in rows("ratings_1993")
    ]


def engines_of_1985() -> list[Rated]:
    return [
        Rated(
            float(in3_to_m3(row["displacement_in3"])) * 1e3,
            row["power_hp"],
            row["speed_rpm"],
            int(row["cylinders"]),
            row["compression_ratio"],
        )
        for row in rows("ratings_1985")
    ]


class Spread(NamedTuple):
    """How predictions lie about ratings."""

    median: float
    mean_absolute_error: float
    within_a_quarter: float

    @classmethod
    def of(cls, ratios: list[float]) -> "Spread":
        errors = np.abs(np.array(ratios) - 1.0)
        return cls(float(np.median(ratios)), float(errors.mean()), float((errors < 0.25).mean()))


def null_ratio(rated: Rated) -> float:
    """One mean effective pressure for all, over the rating."""
    per_second = rated.speed_rpm / 120.0
    power = NULL_PRESSURE * rated.displacement_l * 1e-3 * per_second
    return power / float(hp_to_w(rated.power_hp))


def test_the_data_are_those_that_the_yardstick_was_worked_out_on() -> None:
    """92 engines; null model: median error 0.4 %, mean absolute error 8.6 %, 96 % within 25 %."""
    engines = engines_of_1993()

    null = Spread.of([null_ratio(rated) for rated in engines])

    assert len(engines) == 92
    assert null == pytest.approx((1.004, 0.086, 0.957), abs=6e-4)


def test_the_engines_of_1985_have_the_spread_that_was_published_of_them() -> None:
    """66 rows; brake mean effective pressure 7.34 to 9.88 bar from 5 to 95 %, median 8.41."""
    pressures = [NULL_PRESSURE / null_ratio(rated) for rated in engines_of_1985()]

    found = np.percentile(pressures, [5, 50, 95])

    assert len(pressures) == 66
    np.testing.assert_allclose(found, [7.34e5, 8.41e5, 9.88e5], rtol=2e-3)


@pytest.mark.parametrize("engines", [engines_of_1993(), engines_of_1985()], ids=["1993", "1985"])
def test_rated_power_of_production_engines_is_met_without_tuning(engines: list[Rated]) -> None:
    """B4: median within 10 %, nine engines of ten within 25 %."""
    found = Spread.of([predicted_over_rated(rated) for rated in engines])

    assert abs(found.median - 1.0) < 0.10
    assert found.within_a_quarter >= 0.90


def test_the_model_does_not_fall_far_behind_the_yardstick() -> None:
    """It does not beat it on the 1993 set, 10.6 % against 8.6 %, and does on that of 1985,
    9.6 % against 11.7 %. The guard against getting worse was set after this was seen.

    All engines get one Mach index at rated speed, so that what tells a good port from a
    bad one is not there to be predicted; and friction takes more from fast engines than
    their makers, who tune for that speed, let it.
    """
    engines = engines_of_1993()

    model = Spread.of([predicted_over_rated(rated) for rated in engines])
    null = Spread.of([null_ratio(rated) for rated in engines])

    assert model.mean_absolute_error < null.mean_absolute_error + 0.025


def test_the_stated_error_of_the_model_is_what_it_misses_beyond_the_engines_own_spread() -> None:
    """Mean square of predicted over rated power, less the variance of the rated mean effective
    pressures in each set: from size and speed alone that spread cannot be known. In logarithms.
    """
    sets = engines_of_1993(), engines_of_1985()

    missed = [np.log([predicted_over_rated(rated) for rated in engines]) for engines in sets]
    spread = [np.log([null_ratio(rated) for rated in engines]) for engines in sets]

    own = np.concatenate([each - each.mean() for each in spread])
    square = (np.concatenate(missed) ** 2).mean() - (own**2).mean()
    assert np.sqrt(square) == pytest.approx(MODEL_ERROR, abs=0.015)
