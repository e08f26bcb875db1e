"""Counting and listing against looking at every choice, and against a constraint solver."""

import numpy as np
import pytest

from service.searches.field import fit_removals
from service.searches.joining import Screen, listing, passing_count, raw_count
from tests.searches.made import passing_by_hand, random_screens
from tests.searches.solver import solved

CATALOGUES = 2000


def random_case(seed: int) -> tuple[tuple[int, ...], list[Screen]]:
    generator = np.random.default_rng(seed)
    sizes = tuple(generator.integers(1, 5, size=int(generator.integers(1, 6))).tolist())
    return sizes, random_screens(sizes, generator)


def test_what_is_listed_and_counted_is_what_passes_one_by_one() -> None:
    for seed in range(CATALOGUES):
        sizes, screens = random_case(seed)

        expected = passing_by_hand(sizes, screens)

        assert [tuple(row) for row in listing(sizes, screens, 10**6).rows.tolist()] == expected
        assert passing_count(sizes, screens) == len(expected)


def test_an_independent_solver_finds_as_many() -> None:
    for seed in range(0, CATALOGUES, 10):
        sizes, screens = random_case(seed)

        assert passing_count(sizes, screens) == solved(sizes, screens).count


def test_each_name_removes_in_order_and_alone_what_counting_by_hand_says() -> None:
    for seed in range(0, CATALOGUES, 10):
        sizes, screens = random_case(seed)
        left, before = raw_count(sizes), list[Screen]()

        for removal in fit_removals(sizes, screens):
            own = [screen for screen in screens if screen.name == removal.name]
            before += own
            now = len(passing_by_hand(sizes, before))
            assert removal.in_order == left - now
            assert removal.alone == raw_count(sizes) - len(passing_by_hand(sizes, own))
            left = now


@pytest.mark.parametrize("most", [0, 3, 20])
def test_a_spent_budget_says_whose_kits_are_all_there(most: int) -> None:
    for seed in range(100):
        sizes, screens = random_case(seed)

        found = listing(sizes, screens, most)

        everything = passing_by_hand(sizes, screens)
        assert len(found.rows) <= max(most, 0) or found.complete
        assert found.complete == (len(everything) <= most)
        assert [tuple(row) for row in found.rows.tolist()] == [
            choice for choice in everything if choice[0] in found.proven
        ]


def test_many_places_are_counted_without_being_listed() -> None:
    """20 to the 9th, half a billion times a thousand, in pairs that must be equal or follow."""
    size = 20
    follows = np.eye(size, dtype=bool) | np.eye(size, k=1, dtype=bool)
    screens = [
        Screen(name="pair", places=(place, place + 1), allowed=follows) for place in range(8)
    ]
    paths = np.ones(size)
    for _ in range(8):
        paths = follows.astype(float) @ paths

    assert passing_count((size,) * 9, screens) == int(paths.sum())
