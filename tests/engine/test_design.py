"""Space-filling designs and the range that they fill."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import qmc

from service.catalog.slots import Slot
from service.engine.design import THROAT, is_inside, outside, range_of, space_filling, spread_of
from service.engine.inputs import NonPhysicalInput
from service.engine.parameters import INDEX, PARAMETERS, engine_at, parameters_of
from service.kits.translation import engine_spec
from tests.engine.made_studies import BASE, example_box, example_row, names
from tests.kits.assembled import STANDARD_AIR, assembled
from tests.seed import QUAY_BIG, of

POINTS = 256
FOLDED = ("throat_resistance", "gallery_share", "roller_tappets")


def places() -> tuple[list[int], np.ndarray]:
    """Where the points of a design lie between the ends of each axis that is not folded."""
    box = example_box()
    rows = space_filling(box, POINTS, np.random.default_rng(3))
    axes = [at for at, name in enumerate(names()) if name not in FOLDED]
    is_log = np.array([PARAMETERS[at].is_log for at in axes])
    low, high, found = box.low[axes], box.high[axes], rows[:, axes]
    scaled = [np.where(is_log, np.log(np.where(is_log, x, 1.0)), x) for x in (low, high, found)]
    return axes, (scaled[2] - scaled[0]) / (scaled[1] - scaled[0])


def test_every_axis_has_one_point_in_each_of_as_many_strips() -> None:
    """I. M. Sobol, 1967: each axis of 2^m points is a (0, m, 1)-net (property from memory)."""
    axes, unit = places()

    for place in range(len(axes)):
        strips = np.floor(np.clip(unit[:, place], 0.0, 1.0 - 1e-12) * POINTS)
        assert np.unique(strips).size == POINTS


def test_a_design_is_more_even_than_chance() -> None:
    """Centred discrepancy of independent points: ((5/4)^d - (13/12)^d)/n on the mean.

    F. J. Hickernell, "A generalized discrepancy and quadrature error bound", Math. Comp.
    67 (1998) 299-322 (formula from memory). In many dimensions no design is much more
    even than chance as a whole, so the axes are judged four at a time.
    """
    _, unit = places()
    count = 4
    chance = ((5.0 / 4.0) ** count - (13.0 / 12.0) ** count) / POINTS

    for start in range(0, unit.shape[1] - count, count):
        part = np.clip(unit[:, start : start + count], 0.0, 1.0)
        assert qmc.discrepancy(part, method="CD") < 0.25 * chance


def test_the_same_seed_gives_the_same_engines() -> None:
    one, other = (space_filling(example_box(), 8, np.random.default_rng(1)) for _ in range(2))

    assert np.array_equal(one, other)


def test_every_engine_of_a_design_lies_inside_and_can_be_built() -> None:
    box = example_box()

    rows = space_filling(box, 64, np.random.default_rng(2))

    assert is_inside(box, rows).all()
    for row in rows:
        assert parameters_of(*engine_at(BASE, row)) == pytest.approx(row, rel=1e-9)


def test_half_of_the_engines_have_a_throat_where_the_catalogue_has_both() -> None:
    open_row, narrow_row = example_row(), example_row()
    narrow_row[THROAT] = 1.2e5
    box = range_of(np.array([open_row, narrow_row]), 150.0, 600.0)

    throats = space_filling(box, POINTS, np.random.default_rng(4))[:, THROAT]

    assert (throats == 0.0).sum() == POINTS // 2
    assert throats[throats > 0.0].min() >= box.least_throat


def test_the_range_around_a_catalogue_holds_every_part_of_it() -> None:
    rows = np.array(
        [
            parameters_of(engine_spec(assembled(QUAY_BIG, {part.slot: part.sku})), STANDARD_AIR)
            for slot in (Slot.INTAKE_MANIFOLD, Slot.CAMSHAFT, Slot.CYLINDER_HEADS)
            for part in of(QUAY_BIG, slot)
        ]
    )

    assert is_inside(range_of(rows, 150.0, 600.0), rows).all()


@given(name=st.sampled_from(names()), side=st.sampled_from([-1.0, 1.0]))
def test_whatever_leaves_the_range_is_named_with_its_limits(name: str, side: float) -> None:
    box, row = example_box(), example_row()
    at = INDEX[name]
    row[at] = (box.high if side > 0.0 else box.low)[at] + side * (0.1 + abs(box.high[at]))

    (found,) = outside(box, row)

    assert (found.name, found.value) == (name, row[at])
    assert (found.low, found.high) == (box.low[at], box.high[at])
    assert not is_inside(box, row[None, :])[0]


@given(
    pull=st.lists(st.floats(0.0, 1.0), min_size=6, max_size=6).filter(any),
    push=st.floats(2.0, 9.0),
    seed=st.integers(0, 99),
)
def test_what_lies_between_engines_is_inside_with_them(
    pull: list[float], push: float, seed: int
) -> None:
    """An ellipsoid is convex; past the outermost engine it ends."""
    own = np.isin(np.arange(len(PARAMETERS)), range(4, 8))
    rows = np.repeat(example_row()[None, :], 6, axis=0)
    rows[:, own] *= np.random.default_rng(seed).uniform(0.8, 1.25, (6, 4))
    spread = spread_of(own, rows)
    share = np.array(pull) / sum(pull)
    places = spread.places(rows)

    mixed = spread.middle + spread.span * (share @ places)
    far = spread.middle + push * spread.span * places[spread.distance(rows).argmax()]

    is_log = np.array([PARAMETERS[at].is_log for at in spread.columns])
    row = example_row()
    row[spread.columns] = np.where(is_log, np.exp(np.where(is_log, mixed, 0.0)), mixed)
    assert spread.distance(row) <= spread.farthest * (1.0 + 1e-9)
    row[spread.columns] = np.where(is_log, np.exp(np.where(is_log, far, 0.0)), far)
    assert spread.distance(row) > spread.farthest


def test_a_design_without_engines_is_refused() -> None:
    with pytest.raises(NonPhysicalInput, match="count"):
        space_filling(example_box(), 0, np.random.default_rng(1))
