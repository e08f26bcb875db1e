"""Bolts of a joint seen from above: in which order they are tightened, what each holds."""

from dataclasses import dataclass
from itertools import combinations, starmap
from math import hypot

from service.plots.svg import WIDTH, Drawing, element, label

MARGIN = 46.0
BOLT = 15.0
GAUGE, GAUGE_WIDTH = 34.0, 7.0
"""Height of the bar of a bolt that holds everything it was given."""
BELOW = 13.0
"""From the foot of a bar to its figure: beside it there is no room where bolts stand close."""
HIGHEST = 300.0
"""A joint of four bolts in a square does not fill a page."""
PITCH = 46.0
"""What a bolt needs along a row with its bar and its figure."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bolt:
    """One bolt, where it stands and when it is turned."""

    x_mm: float
    y_mm: float
    order: int
    share: float | None = None
    """What is left of the preload it was tightened to, 0 to 1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltPlot:
    """The bolts of one joint."""

    key: str
    title: str
    description: str
    bolts: tuple[Bolt, ...]


def draw_bolts(plot: BoltPlot) -> Drawing:
    """Draw bolts to scale with their turn, and a bar for what each still holds."""
    xs = [bolt.x_mm for bolt in plot.bolts]
    ys = [bolt.y_mm for bolt in plot.bolts]
    wide, high = (max(xs) - min(xs)) or 1.0, max(ys) - min(ys)
    nearest = min(starmap(_distance, combinations(plot.bolts, 2)))
    scale = min((WIDTH - 2 * MARGIN - GAUGE) / wide, max(HIGHEST / (high or 1.0), PITCH / nearest))
    height = high * scale + 2 * MARGIN
    parts: list[str] = []
    for bolt in plot.bolts:
        x = MARGIN + (bolt.x_mm - min(xs)) * scale
        y = MARGIN + (max(ys) - bolt.y_mm) * scale
        parts.append(element("circle", cx=x, cy=y, r=BOLT, class_="hollow"))
        parts.append(label(x, y + 5, str(bolt.order), "middle strong"))
        if bolt.share is not None:
            parts.append(_gauge(x + BOLT + 4, y + GAUGE / 2, bolt.share))
    return Drawing(
        key=plot.key,
        title=plot.title,
        description=plot.description,
        body="".join(parts),
        height=height,
    )


def _distance(one: Bolt, other: Bolt) -> float:
    return hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm) or 1.0


def _gauge(x: float, bottom: float, share: float) -> str:
    full = element("rect", x=x, y=bottom - GAUGE, width=GAUGE_WIDTH, height=GAUGE, class_="outline")
    held = GAUGE * min(max(share, 0.0), 1.0)
    left = element("rect", x=x, y=bottom - held, width=GAUGE_WIDTH, height=held, class_="fill0")
    return left + full + label(x - BOLT, bottom + BELOW, f"{share:.0%}", "middle")
