"""Lengths and the like in words, in both systems of units at once, and then in the one asked for.

A text that is kept says `10 mm (0.39 in)`, whoever will read it; what is printed of it keeps one.
"""

import re

from service.fitup.spans import Span

MM_PER_INCH = 25.4
_COARSE_MM = 6.0
"""From here on hundredths of an inch will do."""
_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_BOTH = re.compile(
    rf"(?P<si>{_NUMBER}(?: to {_NUMBER})? (?:mm|kg|mL|kN|°C)) "
    rf"\((?P<us>{_NUMBER}(?: to {_NUMBER})? (?:in|lb|fl oz|lbf|°F))\)"
)
_MM = re.compile(rf"(?P<low>{_NUMBER})(?: to (?P<high>{_NUMBER}))? mm\b(?! \()")


def both(length_mm: float | Span) -> str:
    """Return a length in both systems.

    >>> both(0.76)
    '0.76 mm (0.030 in)'
    >>> both(Span(0.1, 0.2))
    '0.1 to 0.2 mm (0.004 to 0.008 in)'
    """
    ends = (length_mm.low, length_mm.high) if isinstance(length_mm, Span) else (length_mm,)
    places = 3 if max(map(abs, ends)) < _COARSE_MM else 2
    metric = dict.fromkeys(f"{end:.2f}".rstrip("0").rstrip(".") for end in ends)
    inches = dict.fromkeys(f"{end / MM_PER_INCH:.{places}f}" for end in ends)
    return f"{' to '.join(metric)} mm ({' to '.join(inches)} in)"


def both_temperatures(temperature_c: float) -> str:
    """Return a temperature in both systems.

    >>> both_temperatures(200.0)
    '200 °C (392 °F)'
    """
    return f"{temperature_c:.0f} °C ({temperature_c * 9.0 / 5.0 + 32.0:.0f} °F)"


def with_inches(text: str) -> str:
    """Return a text of one system, such as a finding, with every length in both.

    >>> with_inches("They sit 0.10 mm lower.")
    'They sit 0.1 mm (0.004 in) lower.'
    """
    return _MM.sub(
        lambda found: both(Span(float(found["low"]), float(found["high"] or found["low"]))), text
    )


def in_one_system(text: str, *, si: bool) -> str:
    """Return a text with what stands in both systems in one of them.

    >>> in_one_system("At least 10 mm (0.39 in) over.", si=False)
    'At least 0.39 in over.'
    """
    return _BOTH.sub(lambda found: found["si" if si else "us"], text)
