"""The header Prefer, by the grammar and the examples of RFC 7240, sections 2 and 4."""

import pytest

from service.simulations.prefer import LONGEST_WAIT_S, preferences, wait_s


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        # Section 2: three ways to say the same.
        (["foo; bar"], {"foo": ""}),
        (['foo; bar=""'], {"foo": ""}),
        (["foo=; bar"], {"foo": ""}),
        # Section 4.1 and 4.3.
        (["respond-async, wait=10"], {"respond-async": "", "wait": "10"}),
        (["respond-async", "wait=10"], {"respond-async": "", "wait": "10"}),
        (['Wait="7"; a=b; c'], {"wait": "7"}),
        # Section 2: the first of a name counts; names are compared without regard to case.
        (["wait=1, WAIT=2"], {"wait": "1"}),
        ([r'note="a, \"b\"", wait=3'], {"note": 'a, "b"', "wait": "3"}),
        (["", "=, ;"], {}),
        (["wait=5, ??, handling=strict"], {"wait": "5"}),
    ],
)
def test_preferences_are_read_as_the_standard_writes_them(
    lines: list[str], expected: dict[str, str]
) -> None:
    assert preferences(lines) == expected


@pytest.mark.parametrize("value", ["", "-1", "1.5", "soon", "٣"])
def test_a_wait_that_is_no_number_of_seconds_is_ignored(value: str) -> None:
    assert wait_s({"wait": value}) is None


def test_no_connection_is_held_longer_than_the_limit() -> None:
    assert wait_s({"wait": "86400"}) == LONGEST_WAIT_S
    assert wait_s({"wait": "9" * 400}) == LONGEST_WAIT_S
    assert wait_s({}) is None


def test_a_long_header_that_cannot_be_read_costs_no_time() -> None:
    """Every blank could belong to two parts of a careless pattern."""
    for part in ("; ", ";a= ", ' ; a = "b" '):
        assert preferences(["x" + part * 5000 + "?", "wait=1"]) == {"wait": "1"}
