"""The table in the package's docstring names every number that a public function asks for."""

import importlib
import inspect
import pkgutil
import typing
from collections import defaultdict
from collections.abc import Callable, Iterator

import numpy as np

from service import engine

NUMBERS = {float, int, np.float64, complex}
"""The last stands in for all scalars in numpy's `ArrayLike`."""
COMPILED = "kernels"
"""Private to the slice; its arguments are named after the functions that call it."""


def leaves(annotation: object) -> Iterator[object]:
    """Types that an annotation is built from; what a callable takes is its own affair."""
    parts = typing.get_args(annotation)
    if typing.get_origin(annotation) is Callable:
        return
    if not parts:
        yield annotation
    for part in parts:
        yield from leaves(part)


def numbers_asked_for() -> dict[str, set[str]]:
    """Names of numeric parameters of public functions, with the files they are found in."""
    found: dict[str, set[str]] = defaultdict(set)
    for file in pkgutil.iter_modules(engine.__path__):
        if file.name == COMPILED:
            continue
        module = importlib.import_module(f"{engine.__name__}.{file.name}")
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if name.startswith("_") or function.__module__ != module.__name__:
                continue
            for parameter in inspect.signature(function).parameters.values():
                if NUMBERS & set(leaves(parameter.annotation)):
                    found[parameter.name].add(file.name)
    return found


def table() -> dict[str, list[str]]:
    """Rows of the docstring by name: symbol, unit, where used."""
    lines = (engine.__doc__ or "").splitlines()
    cells = [[cell.strip() for cell in line.split("|")] for line in lines if "|" in line]
    return {name: rest for name, *rest in cells[1:]}


def test_every_number_that_a_public_function_asks_for_is_in_the_table() -> None:
    asked = numbers_asked_for()

    missing = {name: files for name, files in asked.items() if name not in table()}

    assert not missing
    assert len(asked) > 50  # The search itself found the functions.


def test_the_table_names_nothing_that_no_function_asks_for() -> None:
    asked = numbers_asked_for()

    stale = {
        name: where
        for name, (_, _, where) in table().items()
        if not set(where.split(", ")) <= asked.get(name, set())
    }

    assert not stale


def test_every_row_of_the_table_is_complete_and_the_rows_are_in_order() -> None:
    rows = table()

    assert all(len(row) == 3 and all(row) for row in rows.values())
    assert list(rows) == sorted(rows)
