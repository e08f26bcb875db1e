"""Ranking, front and smallest sets of limits against looking at every kit."""

from collections.abc import Iterable
from functools import cache
from itertools import combinations

import numpy as np
import pytest

from service.searches.field import Field
from service.searches.question import Aim, Objective, SearchRequest, SpeedRange, Weights
from service.searches.ranking import front, ranked, values_of
from service.searches.relaxing import change_cents, minimal_masks, relaxations, steps
from tests.searches.made import plain_question, random_field

RANKED, FIELDS = 1000, 150
FEW = 40
"""Where each kit is compared with each other by hand."""
RANGE = SpeedRange(low_rpm=2500.0, high_rpm=4800.0)
AIMS = (
    Objective(),
    Objective(aim=Aim.MEAN_TORQUE),
    Objective(aim=Aim.TORQUE_AT_SPEED, speed_rpm=3000.0),
    Objective(aim=Aim.LEAST_PRICE),
    Objective(aim=Aim.WEIGHTED, weights=Weights(peak_power=1.0, price=0.5)),
)


def asked(objective: Objective = AIMS[0]) -> SearchRequest:
    return SearchRequest(question=plain_question(), objective=objective, torque_range=RANGE)


def some_of(seed: int) -> tuple[Field, np.ndarray]:
    """A random field with some of its kits."""
    field = random_field(seed)
    return field, np.flatnonzero(np.random.default_rng(seed).random(len(field.rows)) < 0.6)


@cache
def fields() -> list[tuple[Field, np.ndarray]]:
    """Those with at least one kit."""
    return [one for one in map(some_of, range(FIELDS)) if one[1].size]


def by_hand(field: Field, values: np.ndarray, among: Iterable[int]) -> list[int]:
    """By value, then the lower price, then SKUs in the order of the slots."""

    def place(row: int) -> tuple[float, int, list[str]]:
        parts = field.offer.parts_of(field.rows[row].tolist()).values()
        return -float(values[row]), int(field.cents[row]), [part.sku for part in parts]

    return sorted((int(row) for row in among), key=place)


def test_the_ranking_is_that_of_sorting_every_kit() -> None:
    """One aim after the other, over a thousand catalogues."""
    for seed in range(RANKED):
        field, among = some_of(seed)
        objective = AIMS[seed % len(AIMS)]
        if objective.aim is Aim.WEIGHTED and not field_has_factory(field):
            objective = AIMS[0]
        values = values_of(field, asked(objective))
        everything = by_hand(field, values, among)

        for count in (1, 5, 10**6):
            assert ranked(field, values, among, count, None).tolist() == everything[:count]


def field_has_factory(field: Field) -> bool:
    stock = [
        [part.sku for part in parts].index(field.kit.parts[slot].sku)
        for slot, parts in field.offer.members.items()
    ]
    return bool((field.rows == np.array(stock)).all(axis=1).any())


@pytest.mark.parametrize("most_alike", [1, 2])
def test_near_copies_are_passed_over_from_the_best_on(most_alike: int) -> None:
    for field, among in fields()[:FEW]:
        values = values_of(field, asked())
        expected: list[int] = []
        for row in by_hand(field, values, among):
            apart = [int((field.rows[row] != field.rows[one]).sum()) for one in expected]
            if apart.count(1) < most_alike:
                expected.append(row)

        assert ranked(field, values, among, 7, most_alike).tolist() == expected[:7]


def test_the_front_holds_every_kit_that_no_other_beats() -> None:
    for field, among in fields():
        torque = field.curves.mean_torque(RANGE.low_rpm, RANGE.high_rpm)
        points = {
            int(row): (
                -int(field.cents[row]),
                float(field.curves.peak_power[field.curve_of[row]]),
                float(torque[field.curve_of[row]]),
            )
            for row in among
        }
        unbeaten = {
            row: point
            for row, point in points.items()
            if not any(
                all(a >= b for a, b in zip(other, point, strict=True)) and other != point
                for other in points.values()
            )
        }

        found = front(field, asked(), among)

        assert {points[int(row)] for row in found} == set(unbeaten.values())
        assert found.size == len(set(unbeaten.values()))
        assert np.all(np.diff(field.cents[found]) >= 0)


def test_the_front_of_many_points_is_thinned_without_loss(monkeypatch: pytest.MonkeyPatch) -> None:
    for field, among in fields():
        whole = front(field, asked(), among)
        with monkeypatch.context() as patched:
            patched.setattr("service.searches.ranking.THINNED", 0)
            patched.setattr("service.searches.ranking.STRIDE", 3)
            assert front(field, asked(), among).tolist() == whole.tolist()


def test_smallest_sets_of_limits_are_those_found_by_trying_all() -> None:
    for seed, (field, _) in enumerate(fields()):
        generator = np.random.default_rng(seed)
        limits = int(generator.integers(1, 6))
        bits = generator.integers(1, 2**limits, size=len(field.rows)).astype(np.uint64)
        expected: list[int] = []
        for size in range(1, limits + 1):
            for numbers in combinations(range(limits), size):
                mask = sum(1 << number for number in numbers)
                opens = any((int(one) & ~mask) == 0 for one in bits)
                if opens and not any((other & mask) == other for other in expected):
                    expected.append(mask)

        masks = minimal_masks(np.unique(bits))

        assert {int(mask) for mask in masks} == set(expected)
        values = values_of(field, asked())
        for found, smallest in zip(relaxations(field, bits, values, masks), masks, strict=True):
            opened = [row for row, one in enumerate(bits) if (int(one) & ~int(smallest)) == 0]
            assert found.kits == len(opened)
            assert found.row == by_hand(field, values, opened)[0]


def test_a_ladder_is_that_of_trying_every_change() -> None:
    """Rungs that reach get cheaper, others get nearer; what gains nothing is no rung."""
    rungs = {True: 0, False: 0}
    for seed, (field, _) in enumerate(fields()):
        generator = np.random.default_rng(seed)
        at = int(generator.integers(len(field.rows)))
        hand = field.rows[at].astype(np.intp)
        missing = generator.integers(0, 5, size=len(field.rows)) / 4.0
        values = values_of(field, asked())
        cents = change_cents(field, hand, np.arange(len(field.rows)))
        expected = []
        best = (missing[at], -1.0)
        for changes in (1, 2, 3):
            of_so_many = [
                (missing[row], cents[row], -values[row], row)
                for row in range(len(field.rows))
                if (field.rows[row] != hand).sum() == changes
            ]
            if not of_so_many or missing[at] == 0.0:
                continue
            first = min(of_so_many)
            if first[:2] < best and (first[0] < best[0] or first[0] == 0.0):
                best = first[:2]
                expected.append((changes, first[3], first[0] == 0.0, first[1]))

        found = steps(field, hand, values, missing == 0.0, missing)

        assert [(one.changes, one.row, one.reaches, one.cents) for one in found] == expected
        for one in found:
            rungs[one.reaches] += 1
    assert min(rungs.values()) > len(fields()) // 10
