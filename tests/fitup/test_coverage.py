"""Every row of the reference values for fit-up has a test that names it."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

WHERE = Path(__file__).parent
ROWS = {
    "g": 18,
    "t": 10,
    "u": 10,
    "q": 35,
    "x": 25,
    "l": 7,
    "m": 13,
    "r": 11,
    "c": 17,
    "v": 11,
    "f": 14,
    "i": 8,
    "o": 8,
}
"""Letter of each section, and its last row."""


def names() -> Iterator[str]:
    for file in WHERE.glob("test_*.py"):
        for node in ast.walk(ast.parse(file.read_text())):
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                yield node.name


def rows(name: str) -> set[tuple[str, int]]:
    """The rows in `test_q12_q32_an_` or `test_r1_to_r3_beads`."""
    found = re.match(r"test((?:_(?:(?:and|to)_)?[a-z]\d+)+)(?:_|$)", name)
    named: set[tuple[str, int]] = set()
    for span in re.findall(r"([a-z])(\d+)(?:_to_[a-z](\d+))?", found[1] if found else ""):
        letter, first, last = span
        named |= {(letter, row) for row in range(int(first), int(last or first) + 1)}
    return named


@pytest.mark.parametrize("letter", ROWS)
def test_no_row_is_left_out(letter: str) -> None:
    """Sections 1 to 12, rows G1 to O8."""
    covered = {row for name in names() for of, row in rows(name) if of == letter}

    assert set(range(1, ROWS[letter] + 1)) - covered == set()


def test_a_name_is_read_as_it_is_written() -> None:
    assert rows("test_q12_q32_an_m6_bolt") == {("q", 12), ("q", 32)}
    assert rows("test_r1_to_r3_beads") == {("r", 1), ("r", 2), ("r", 3)}
    assert rows("test_i4_and_i5_injector_size") == {("i", 4), ("i", 5)}
    assert rows("test_a_ledge_is_worse_the_more_area_it_covers") == set()
