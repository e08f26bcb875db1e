"""The request header Prefer (RFC 7240)."""

import re
from collections.abc import Iterable

LONGEST_WAIT_S = 60
"""A connection is held no longer than this; longer waits are cut to it. [s]"""

_WORD = r"[!#$%&'*+.^_`|~0-9A-Za-z-]+"
_VALUE = rf'(?:{_WORD}|"(?:[^"\\]|\\.)*")'
# No blank can be taken by two of its parts: a long header would cost exponential time.
_PAIR = rf"({_WORD})(?:\s*=(?:\s*({_VALUE}))?)?"
_PARAMETER = rf"\s*;(?:\s*{_WORD}(?:\s*=(?:\s*{_VALUE})?)?)?"
_PREFERENCE = re.compile(rf"\s*{_PAIR}(?:{_PARAMETER})*\s*(?:,|$)")


def preferences(lines: Iterable[str]) -> dict[str, str]:
    """Return what is preferred; of one that is stated twice, the first counts (section 2).

    What cannot be read is left out, with whatever follows it on its line: a server may
    ignore any preference.

    >>> preferences(['respond-async, wait=10; soon', 'WAIT="20"'])
    {'respond-async': '', 'wait': '10'}
    """
    found: dict[str, str] = {}
    for line in lines:
        at = 0
        while at < len(line) and (match := _PREFERENCE.match(line, at)):
            found.setdefault(match[1].lower(), _unquoted(match[2] or ""))
            at = match.end()
    return found


def _unquoted(value: str) -> str:
    return re.sub(r"\\(.)", r"\1", value[1:-1]) if value.startswith('"') else value


def wait_s(preferred: dict[str, str]) -> int | None:
    """Return for how many seconds the caller is ready to wait; nothing where none are stated.

    >>> wait_s({"wait": "5"}), wait_s({"wait": "soon"})
    (5, None)
    """
    value = preferred.get("wait", "")
    if not (value.isascii() and value.isdecimal()):
        return None
    return min(int(value[:9]), LONGEST_WAIT_S)
