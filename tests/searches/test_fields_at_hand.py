"""Fields at hand: who waits for whom, and how much is held."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Event

import numpy as np

from service.searches.api.fields import FieldsAtHand
from service.searches.field import Field
from tests.searches.made import random_field

SECONDS = 10.0
"""Nothing here takes as long, unless it never ends."""


def slow(listed: Field, times: list[int], go_on: Event, begun: Event) -> Callable[[], Field]:
    def list_it() -> Field:
        times.append(1)
        begun.set()
        assert go_on.wait(SECONDS)
        return listed

    return list_it


def test_what_is_at_hand_waits_for_nobody_and_a_cold_one_is_listed_once() -> None:
    hand, warm, cold = FieldsAtHand(), random_field(1), random_field(2)
    hand.get("warm", lambda: warm)
    times: list[int] = []
    go_on, begun = Event(), Event()
    list_it = slow(cold, times, go_on, begun)
    with ThreadPoolExecutor(3) as pool:
        try:
            both = [pool.submit(hand.get, "cold", list_it) for _ in range(2)]
            assert begun.wait(SECONDS)

            hit = pool.submit(hand.get, "warm", list_it).result(SECONDS)
        finally:
            go_on.set()
        found = [one.result(SECONDS) for one in both]

    assert hit is warm
    assert len(times) == 1
    assert found[0] is found[1]


def test_a_listing_that_fails_is_tried_again_by_the_next() -> None:
    hand = FieldsAtHand()

    def fail() -> Field:
        raise ValueError

    with ThreadPoolExecutor(1) as pool:
        assert isinstance(pool.submit(hand.get, "a", fail).exception(SECONDS), ValueError)
        assert pool.submit(hand.get, "a", lambda: random_field(1)).result(SECONDS)


def test_equal_arrays_are_held_once_and_the_bound_lets_the_oldest_go() -> None:
    one = random_field(3)
    copied = replace(
        one,
        cents=one.cents + 1,
        rows=one.rows.copy(),
        curves=replace(one.curves, torque=one.curves.torque.copy()),
    )
    alone = FieldsAtHand()
    alone.get("one", lambda: one)
    bound = alone.held_bytes + one.cents.nbytes
    hand = FieldsAtHand(most_bytes=bound)

    hand.get("one", lambda: one)
    kept = hand.get("copied", lambda: copied)

    assert np.shares_memory(kept.rows, one.rows)
    assert np.shares_memory(kept.curves.torque, one.curves.torque)
    assert kept.cents.tolist() == copied.cents.tolist()
    assert (len(hand), hand.held_bytes) == (2, bound)
    hand.get("other", lambda: random_field(4))
    assert hand.held_bytes <= bound or len(hand) == 1
    assert hand.get("one", lambda: copied).cents.tolist() == copied.cents.tolist()
