"""Every row of the decision table and every trap has a test that names it."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

TESTS = Path(__file__).parent.parent
WHERE = [*TESTS.glob("compliance/test_*.py"), TESTS / "test_refusals.py"]


def names() -> Iterator[str]:
    for file in WHERE:
        for node in ast.walk(ast.parse(file.read_text())):
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                yield node.name


def numbers(name: str, word: str, before: str) -> set[int]:
    """The numbers in `rows_18_and_19_` or `traps_t1_t26_`."""
    found = re.search(rf"{word}s?((?:_(?:and_)?{before}\d+)+)_", name)
    return {int(number) for number in re.findall(r"\d+", found[1])} if found else set()


@pytest.mark.parametrize(("word", "before", "last"), [("row", "", 34), ("trap", "t", 34)])
def test_none_is_left_out(word: str, before: str, last: int) -> None:
    """Public law, 11.1 and 12: rows 1 to 34, traps T1 to T34."""
    covered = {number for name in names() for number in numbers(name, word, before)}

    assert set(range(1, last + 1)) - covered == set()
