"""What a rerun says of what stands around the parts, by names that no part has."""

import pytest

from service.searches.answer import Snapshot
from service.searches.since import SURFACE, since_then

BEFORE: Snapshot = {
    "A": {"price": "1.00 USD"},
    SURFACE: {"fitted": "then"},
    "paper D-1": {"sha256": "a"},
    "profile us-ca": {"sha256": "b"},
}


def said(before: Snapshot, now: Snapshot) -> tuple[str, ...]:
    found = since_then(1, before, now, (), (), model_changed=False, gone=lambda _parts: ())
    return found.catalogue


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, ()),
        ({"A": {"price": "2.00 USD"}}, ("A changed: price 1.00 USD to 2.00 USD.",)),
        ({"paper D-1": {"sha256": "c"}}, ("The paper D-1 changed.",)),
        ({"profile us-ca": {"sha256": "c"}}, ("The profile us-ca changed.",)),
        ({"rule r": {"sha256": "c"}}, ("The rule r is new.",)),
        ({SURFACE: {"fitted": "now"}}, ("The surface changed.",)),
    ],
)
def test_what_changed_is_named(changes: Snapshot, expected: tuple[str, ...]) -> None:
    assert said(BEFORE, {**BEFORE, **changes}) == expected


def test_what_is_gone_is_named() -> None:
    left = {name: told for name, told in BEFORE.items() if name not in ("A", "paper D-1")}

    assert said(BEFORE, left) == ("A is no longer offered.", "The paper D-1 is no longer there.")


def test_nothing_is_called_new_that_earlier_searches_did_not_record() -> None:
    assert said({"A": BEFORE["A"]}, BEFORE) == ()
