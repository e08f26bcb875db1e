"""One cell of a flat file: text to value and back.

Text that is empty, or that starts with a quotation mark, is written as a JSON string: a cell
with nothing in it means "not given". An apostrophe that keeps text from being taken for
something else (`tabular.guarded`) is taken off when it is read.
"""

import json
import re
from typing import Any

from service.exchange.columns import Cells
from service.tabular import unguarded

_NUMBER = re.compile(r"[+-]?\d+(\.\d*)?([eE][+-]?\d+)?|[+-]?\.\d+([eE][+-]?\d+)?")
_WHOLE_NUMBER = re.compile(r"[+-]?\d{1,18}")


def cell_text(value: Any, cells: Cells) -> str:  # noqa: ANN401 - any JSON value.
    """Return the text of a cell, not guarded yet; `value` is not null."""
    if cells not in (Cells.TEXT, Cells.FIGURE):
        return json.dumps(value, ensure_ascii=False)
    text = str(value)
    is_told_apart = not text or text.startswith('"')
    return json.dumps(text, ensure_ascii=False) if is_told_apart else text


def cell_value(text: str, cells: Cells) -> Any:  # noqa: ANN401 - any JSON value.
    """Return what a cell says; text that its column does not hold comes back as it is.

    The check of the whole row then finds it and names the column.
    """
    match cells:
        case Cells.TEXT | Cells.FIGURE:
            return _text(text)
        case Cells.NUMBER:
            return _number(text.strip())
        case Cells.FLAG:
            return {"true": True, "false": False}.get(text.strip().lower(), text)
        case Cells.JSON:
            return _json(text)


def _text(text: str) -> str:
    if text.startswith('"'):
        value = _json(text)
        return value if isinstance(value, str) else text
    return unguarded(text)


def _number(text: str) -> int | float | str:
    if _WHOLE_NUMBER.fullmatch(text):
        return int(text)
    return float(text) if _NUMBER.fullmatch(text) else text


def _json(text: str) -> Any:  # noqa: ANN401 - any JSON value.
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return text
