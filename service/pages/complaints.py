"""What is wrong with a field, as people say it at a counter.

A program is told the validator's own sentence; beside a field stand the same limits in
other words.
"""

from typing import get_args

from service.errors import FieldProblem
from service.exchange.report import LineProblem
from service.quantities import (
    ADDRESSABLE,
    PRINTABLE,
    SHA256_HEX,
    Currency,
    PercentText,
    QuantityText,
)

NEEDED = "Something has to stand here."
SAID_BY_CODE = {
    "no_target": "Say what the kit has to reach for the lowest price: a power, a pull at a speed, "
    "or the speeds between which it has to pull well.",
}
"""Whole sentences in place of those that speak of fields of the API."""
BY_CODE = {"missing": NEEDED, "string_too_short": NEEDED, **SAID_BY_CODE}
STARTS = {
    "Value error, money is decimal text": "Write an amount",
    "Value error, ": "",
    "Input should be": "It has to be",
    "String should have": "Write",
}
"""How the validator's sentences begin, and ours."""
TO_PROGRAMS = "; never a number"
"""What is said of money to those who could send one; all that people write is text."""


def _pattern(of: object) -> str:
    return next(str(one.pattern) for one in get_args(of) if getattr(one, "pattern", None))


WRITTEN = {
    _pattern(PercentText): "a share from 0 to 100, such as 7.5",
    _pattern(QuantityText): "a number above 0, such as 2 or 2.5",
    _pattern(Currency): "a currency by its three letters, such as USD",
    str(ADDRESSABLE.pattern): "letters, figures, points and dashes, the first no point or dash",
    str(PRINTABLE.pattern): "one line",
    str(SHA256_HEX.pattern): "64 figures and letters from a to f",
}
"""By the pattern that a text was held to."""


def complaint(problem: FieldProblem | LineProblem) -> str:
    """Return what to write instead.

    >>> complaint(FieldProblem(pointer="/x", code="greater_than", detail="Input should be > 0"))
    'It has to be > 0.'
    """
    if problem.code == "string_pattern_mismatch":
        found = (said for pattern, said in WRITTEN.items() if pattern in problem.detail)
        return f"Write {next(found, 'it in another way')}."
    detail = BY_CODE.get(problem.code, problem.detail).removesuffix(TO_PROGRAMS)
    for start, ours in STARTS.items():
        if detail.startswith(start):
            detail = f"{ours}{detail.removeprefix(start)}"
            detail = detail[:1].upper() + detail[1:]
    return detail if detail.endswith(".") else f"{detail}."
