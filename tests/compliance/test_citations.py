"""Every row of the newest profiles against the project's reading of the law.

`tests/reference/law_marks.csv` holds, citation by citation, how well the law was read (public
law as read up to November 2026): A read, A~ read in part, S a secondary text, M from memory.
"""

import csv
from datetime import date
from pathlib import Path

import pytest

from service.compliance.jurisdictions import Mark, ProfileRow
from service.compliance.profiles.store import find_profile_versions
from tests.compliance.cases import PROFILES, TODAY

REFERENCE = Path(__file__).parent.parent / "reference" / "law_marks.csv"
BEST_FIRST = ("A", "A~", "S", "M")
LETTER = {Mark.READ: "A", Mark.READ_IN_PART: "A~", Mark.SECONDARY: "S", Mark.MEMORY: "M"}
ROWS = [(key, row) for key, profile in sorted(PROFILES.items()) for row in profile.rows]


def reference() -> dict[str, str]:
    with REFERENCE.open(newline="") as file:
        return {line["citation"]: line["mark"] for line in csv.DictReader(file)}


def test_every_citation_was_held_against_the_reading_and_none_is_left_over() -> None:
    assert {row.citation for _, row in ROWS} == set(reference())


@pytest.mark.parametrize(("key", "row"), ROWS, ids=lambda value: getattr(value, "citation", value))
def test_no_row_is_told_as_better_known_than_it_is(key: str, row: ProfileRow) -> None:
    del key
    told, known = LETTER[row.mark], reference()[row.citation]

    assert BEST_FIRST.index(told) >= BEST_FIRST.index(known)


def test_where_sources_differ_the_row_says_so_and_decides_nothing() -> None:
    differing = [row for _, row in ROWS if row.sources_differ]

    assert {row.citation for row in differing} >= {
        "States under 42 USC 7507, by a list",
        "MOT manual (older edition)",
        "HSC 44017.4 (SB 100, 2001)",
        "Agency statement of 2016; testimony to Congress, 15 Mar 2016",
    }
    for row in differing:
        doubt = row.doubt(TODAY)
        assert doubt is not None
        assert doubt.startswith("not confirmed")


def test_a_version_that_was_used_is_left_as_it_was() -> None:
    """What was in the first versions is read back on a day before the second were issued."""
    held = {(one.key, one.version): one for one in find_profile_versions()}

    first, second = held["us-ca", 1], held["us-ca", 2]
    assert first.issued_on == date(2026, 11, 1)
    assert second.issued_on == date(2026, 11, 25)
    assert not any(row.sources_differ for row in first.rows)
    assert "13 CCR 1900, 2220-2225" in {row.citation for row in first.rows}
    assert "13 CCR 1900, 2220-2225" not in {row.citation for row in second.rows}
