"""Bolts of a joint seen from above: in which order they are tightened, what each holds."""

from dataclasses import dataclass
from itertools import combinations
from math import hypot

from service.plots.svg import WIDTH, Drawing, element, label

LEFT, RIGHT, TOP, BOTTOM = 24.0, 46.0, 22.0, 38.0
"""Beside the outermost bolts: their own size, at the right the bar, and below its figure."""
BOLT = 15.0
GAUGE, GAUGE_WIDTH = 34.0, 7.0
"""Height of the bar of a bolt that holds everything it was given."""
BELOW = 13.0
"""From the foot of a bar to its figure: beside it there is no room where bolts stand close."""
APART, ROWS_APART = 110.0, 62.0
"""Between a bolt and its nearest neighbour at most, and between rows at least."""
HIGHEST = 150.0
"""From the uppermost bolt to the lowest, unless rows would run into each other."""


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
    """Draw bolts with their turn, and a bar for what each still holds.

    To scale along; where the sides of an engine lie far apart, they are drawn closer.
    """
    xs = [bolt.x_mm for bolt in plot.bolts]
    ys = [bolt.y_mm for bolt in plot.bolts]
    along, across = _scales(plot.bolts)
    parts: list[str] = []
    for bolt in plot.bolts:
        x = LEFT + (bolt.x_mm - min(xs)) * along
        y = TOP + (max(ys) - bolt.y_mm) * across
        parts.append(element("circle", cx=x, cy=y, r=BOLT, class_="hollow"))
        parts.append(label(x, y + 5, str(bolt.order), "middle strong"))
        if bolt.share is not None:
            parts.append(_gauge(x + BOLT + 4, y + GAUGE / 2, bolt.share))
    return Drawing(
        key=plot.key,
        title=plot.title,
        description=plot.description,
        body="".join(parts),
        width=LEFT + (max(xs) - min(xs)) * along + RIGHT,
        height=TOP + (max(ys) - min(ys)) * across + BOTTOM,
    )


def _scales(bolts: tuple[Bolt, ...]) -> tuple[float, float]:
    """Return units for each millimetre along and across: as large as the content asks for."""
    wide = max(bolt.x_mm for bolt in bolts) - min(bolt.x_mm for bolt in bolts)
    high = max(bolt.y_mm for bolt in bolts) - min(bolt.y_mm for bolt in bolts)
    pairs = [(abs(a.x_mm - b.x_mm), abs(a.y_mm - b.y_mm)) for a, b in combinations(bolts, 2)]
    nearest = min((hypot(dx, dy) for dx, dy in pairs), default=1.0) or 1.0
    along = min(APART / nearest, (WIDTH - LEFT - RIGHT) / (wide or 1.0))
    rows = [dy for dx, dy in pairs if dy > 0.0 and dx * along < RIGHT]
    apart = ROWS_APART / min(rows, default=ROWS_APART)
    return along, min(APART / nearest, max(min(along, HIGHEST / (high or 1.0)), apart))


def _gauge(x: float, bottom: float, share: float) -> str:
    full = element("rect", x=x, y=bottom - GAUGE, width=GAUGE_WIDTH, height=GAUGE, class_="outline")
    held = GAUGE * min(max(share, 0.0), 1.0)
    left = element("rect", x=x, y=bottom - held, width=GAUGE_WIDTH, height=held, class_="fill0")
    return left + full + label(x - BOLT, bottom + BELOW, f"{share:.0%}", "middle")
