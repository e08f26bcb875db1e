"""Compression ratio and octane: what older engines asked for, as an upper bound for today."""

FIXED_TIMING_RON = {5: 72.0, 6: 81.0, 7: 87.0, 8: 92.0, 9: 96.0, 10: 100.0, 11: 104.0, 12: 108.0}
"""Research octane number by compression ratio, carburetted engines without management
(*Gasoline FAQ*, 1996) [RON]."""
BRAKE_EFFICIENCY = {6: 0.25, 7: 0.28, 8: 0.30, 9: 0.32, 10: 0.33, 11: 0.34, 12: 0.35}
"""Brake thermal efficiency of the same engines, by ratio (the same) [-]."""


def fixed_timing_octane_ron(ratio: float) -> float:
    """Return the octane that an engine of fixed timing asked for: 60 + 4 CR from 8 on [RON].

    Below a ratio of 8 the table's straight lines; outside it the line is carried on. An
    engine that senses knock asks for less.
    """
    if ratio >= min(each for each, ron in FIXED_TIMING_RON.items() if ron == _line(each)):
        return _line(ratio)
    low = max(min(int(ratio), 7), 5)
    slope = FIXED_TIMING_RON[low + 1] - FIXED_TIMING_RON[low]
    return FIXED_TIMING_RON[low] + slope * (ratio - low)


def anti_knock_index(ron: float, mon: float) -> float:
    """Return what pumps print: half of research plus motor octane number [AKI]."""
    return (ron + mon) / 2.0


def _line(ratio: float) -> float:
    return 60.0 + 4.0 * ratio
