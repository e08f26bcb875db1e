"""Hypothesis strategies for catalogue values, read off the limits in their annotations."""

import types
from collections.abc import Iterable
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from annotated_types import Ge, Gt, Le, MaxLen, MinLen
from hypothesis import strategies as st
from pydantic import StringConstraints

from service.quantities import (
    ADDRESSABLE,
    FIRST_DAY,
    LAST_DAY,
    PRINTABLE,
    SHA256_HEX,
    WITHOUT_NUL,
)

TROUBLE = ("=1+1", "-3", "+x", "@a", "'=b", "''=c", '"quoted"', '"', "a,b;c", "[1]", "null", "1")
"""Texts that a careless file format takes for something else."""


SIMPLE: dict[Any, st.SearchStrategy[Any]] = {
    types.NoneType: st.none(),
    bool: st.booleans(),
    date: st.dates(FIRST_DAY, LAST_DAY),
}


def values(annotation: Any) -> st.SearchStrategy[Any]:  # noqa: ANN401 - any field type.
    """Every value that a field of this type may hold, except what only the shop forbids."""
    return _values(annotation, ())


def _values(annotation: Any, limits: tuple[Any, ...]) -> st.SearchStrategy[Any]:  # noqa: ANN401, PLR0911 - one case per kind of type.
    origin = get_origin(annotation)
    if origin is Annotated:
        inner, *more = get_args(annotation)
        return _values(inner, (*more, *limits))
    if origin in {Union, types.UnionType}:
        return st.one_of(*(_values(member, ()) for member in get_args(annotation)))
    if origin is Literal:
        return st.sampled_from(get_args(annotation))
    if origin is tuple:
        size = _limit(limits, MinLen, "min_length", 0)
        item = _values(get_args(annotation)[0], ())
        return st.lists(item, min_size=size, max_size=size + 2).map(tuple)
    if origin is dict:
        names, item = (_values(member, ()) for member in get_args(annotation))
        return st.dictionaries(names, item, max_size=3)
    if isinstance(annotation, type) and is_dataclass(annotation):
        hints = get_type_hints(annotation, include_extras=True)
        return st.builds(annotation, **{f.name: values(hints[f.name]) for f in fields(annotation)})
    return _leaves(annotation, limits)


def _leaves(annotation: Any, limits: tuple[Any, ...]) -> st.SearchStrategy[Any]:  # noqa: ANN401 - any leaf type.
    if annotation in SIMPLE:
        return SIMPLE[annotation]
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        return st.sampled_from(annotation)
    if annotation is str:
        return _texts(limits)
    above = _limit(limits, Gt, "gt", None)
    low, high = _limit(limits, Ge, "ge", above), _limit(limits, Le, "le", None)
    if annotation is int:
        return st.integers(low, high)
    return st.floats(
        low, high, exclude_min=above is not None, allow_nan=False, allow_infinity=False
    )


def _texts(limits: tuple[Any, ...]) -> st.SearchStrategy[str]:
    least = _limit(limits, MinLen, "min_length", 0)
    most = min(_limit(limits, MaxLen, "max_length", 12), 12)
    patterns = [limit for limit in limits if isinstance(limit, StringConstraints)]
    if PRINTABLE in patterns:
        one_line = st.characters(exclude_categories=["Cs", "Cc"])
        return st.text(one_line, min_size=least, max_size=most) | st.sampled_from(TROUBLE)
    if WITHOUT_NUL in patterns:
        many_lines = st.characters(exclude_categories=["Cs"], exclude_characters="\x00")
        lines = st.sampled_from(["", "\ta", "\rb", "c\r\nd", "e\n", *TROUBLE])
        return st.text(many_lines, max_size=most) | lines
    if ADDRESSABLE in patterns:
        return st.from_regex(r"[A-Za-z0-9][A-Za-z0-9._-]{0,8}", fullmatch=True)
    if SHA256_HEX in patterns:
        return st.from_regex(r"[0-9a-f]{64}", fullmatch=True)
    return st.from_regex(patterns[0].pattern or "", fullmatch=True)


def _limit(limits: Iterable[Any], kind: type, name: str, otherwise: Any) -> Any:  # noqa: ANN401 - numbers of either type.
    return next((getattr(limit, name) for limit in limits if isinstance(limit, kind)), otherwise)
