"""How long a bolt may be: long enough to hold, short enough not to bottom.

Incomplete threads at the tip and at the run-out of a hole count two pitches each; the tip must
touch neither the bottom nor incomplete threads (NASA-STD-5020B, 4.7.5). Half of a countersink's
depth counts as engaged (FED-STD-H28/2B, 70.7.2). Longer is not better.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from service.fitup.spans import Span
from service.fitup.threads import Thread

LEAD_PITCHES = 2.0
"""Incomplete threads at the tip of a bolt, and at the end of a tapped hole [-]."""
LEAST_MARGIN_MM = 1.0
"""Between tip and bottom, where one pitch is less (common practice, no source) [mm]."""
_UNDAMAGED = Span.exactly(0.0)
STANDARD_LENGTHS_MM = (12.0, 16.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0)
"""Lengths in which screws are sold [mm]."""


class LengthFault(StrEnum):
    """Why a length will not do."""

    TOO_SHORT = "too_short"
    RUNS_OUT = "runs_out"
    BOTTOMS = "bottoms"
    RIDES_ON_SHANK = "rides_on_shank"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A tapped blind hole; what was not measured is a span [mm]."""

    thread: Thread
    full_thread_mm: Span
    """Depth to which the thread is complete."""
    drilled_mm: Span
    """Depth to which the drill's full width went."""
    countersink_mm: float = 0.0
    damaged_pitches: Span = _UNDAMAGED
    """Turns of thread at the mouth that no longer hold."""

    @property
    def lost_mm(self) -> Span:
        """Engagement lost at the mouth: half the countersink, or the damage if that is more."""
        chamfer = self.countersink_mm / 2.0
        damage = self.damaged_pitches * self.thread.pitch_mm
        return Span(max(chamfer, damage.low), max(chamfer, damage.high))


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltFit:
    """One length in one hole [mm]."""

    length_mm: float
    penetration_mm: Span
    engaged_mm: Span
    margin_mm: Span
    """From the tip to the bottom; negative: it bottoms."""
    faults: tuple[LengthFault, ...]


def bolt_fit(
    length_mm: Span,
    grip_mm: Span,
    hole: Hole,
    needed_mm: float,
    *,
    threaded_mm: float | None = None,
) -> BoltFit:
    """Return how a bolt of this length sits; `length_mm` carries its tolerance.

    `grip_mm` is flange, compressed gasket and washer together; `threaded_mm` the length of
    its thread, None when it is threaded to the head.
    """
    reach = length_mm - grip_mm
    engaged = _engaged_mm(reach, hole)
    margin = hole.drilled_mm - reach
    pitch = hole.thread.pitch_mm
    shank = 0.0 if threaded_mm is None else length_mm.high - threaded_mm + LEAD_PITCHES * pitch
    faults = (
        (LengthFault.TOO_SHORT, engaged.low < needed_mm),
        (LengthFault.RUNS_OUT, reach.high > hole.full_thread_mm.low + LEAD_PITCHES * pitch),
        (LengthFault.BOTTOMS, margin.low < max(pitch, LEAST_MARGIN_MM)),
        (LengthFault.RIDES_ON_SHANK, shank > grip_mm.low),
    )
    return BoltFit(
        length_mm=(length_mm.low + length_mm.high) / 2.0,
        penetration_mm=reach,
        engaged_mm=engaged,
        margin_mm=margin,
        faults=tuple(fault for fault, found in faults if found),
    )


def _engaged_mm(reach: Span, hole: Hole) -> Span:
    lead = LEAD_PITCHES * hole.thread.pitch_mm
    return (
        Span(
            min(reach.low - lead, hole.full_thread_mm.low),
            min(reach.high - lead, hole.full_thread_mm.high),
        )
        - hole.lost_mm
    )


def lengths_that_fit(
    grip_mm: Span,
    hole: Hole,
    needed_mm: float,
    lengths_mm: Iterable[float] = STANDARD_LENGTHS_MM,
    *,
    tolerance_mm: float = 0.0,
) -> tuple[BoltFit, ...]:
    """Return the lengths without a fault, the shortest first."""
    fits = (
        bolt_fit(Span.around(length, tolerance_mm), grip_mm, hole, needed_mm)
        for length in sorted(lengths_mm)
    )
    return tuple(fit for fit in fits if not fit.faults)
