"""Bars side by side: the restriction ladder, preload left in each bolt."""

from dataclasses import dataclass

from service.plots.scales import scale_over, tick_text
from service.plots.svg import WIDTH, Drawing, element, label, polyline

LEFT, RIGHT, TOP, BOTTOM = 190.0, 120.0, 12.0, 48.0
ROW, THICK = 30.0, 18.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One bar, and what is written at its end."""

    label: str
    value: float
    text: str
    """The value with its unit, as the table beside the plot says it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BarPlot:
    """Bars from top to bottom, in the order given."""

    key: str
    title: str
    description: str
    x_label: str
    bars: tuple[Bar, ...]


def draw_bars(plot: BarPlot) -> Drawing:
    """Draw bars from zero, each with its name and its value."""
    height = TOP + ROW * len(plot.bars) + BOTTOM
    bottom = height - BOTTOM
    across = scale_over((one.value for one in plot.bars), LEFT, WIDTH - RIGHT, from_zero=True)
    zero = across.at(0.0)
    parts: list[str] = []
    for tick in across.ticks:
        x = across.at(tick)
        parts.append(element("line", x1=x, x2=x, y1=TOP, y2=bottom, class_="grid"))
        parts.append(label(x, bottom + 19, tick_text(tick), "middle"))
    for place, one in enumerate(plot.bars):
        y, end = TOP + ROW * place + (ROW - THICK) / 2, across.at(one.value)
        left, wide = min(zero, end), abs(end - zero)
        parts.append(element("rect", x=left, y=y, width=wide, height=THICK, class_="fill0"))
        parts.append(label(LEFT - 8, y + THICK - 4, one.label, "end"))
        parts.append(label(max(zero, end) + 6, y + THICK - 4, one.text, "start"))
    parts.append(polyline(((zero, TOP), (zero, bottom)), "axis"))
    parts.append(label((LEFT + WIDTH - RIGHT) / 2, bottom + 39, plot.x_label, "middle"))
    return Drawing(
        key=plot.key,
        title=plot.title,
        description=plot.description,
        body="".join(parts),
        height=height,
    )
