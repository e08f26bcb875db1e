"""Lines over one quantity: torque and power over speed, flow against lift, a model and a test."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.plots.scales import Scale, scale_over, tick_text
from service.plots.style import SERIES_COLOURS
from service.plots.svg import HEIGHT, WIDTH, Drawing, element, group, label, polygon, polyline

LEFT, RIGHT, TOP, BOTTOM = 62.0, 150.0, 26.0, 48.0
"""Margins; on the right stand the names of the lines."""
LABEL_HEIGHT = 15.0
TEXT_DROP = 4.0
"""From the middle of a small letter to its baseline."""
MARK = 3.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """One line, with bounds where they are known."""

    label: str
    x: Sequence[float]
    y: Sequence[float]
    low: Sequence[float] = ()
    high: Sequence[float] = ()
    points_only: bool = False
    """Measured or published points: marks without a line between them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """A value on the horizontal axis that a reader looks for."""

    label: str
    x: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LinePlot:
    """Some lines on common axes; up to five can be told apart without colour."""

    key: str
    title: str
    description: str
    x_label: str
    """With its unit."""
    y_label: str
    series: tuple[Series, ...]
    references: tuple[Reference, ...] = ()
    from_zero: bool = True


def draw_lines(plot: LinePlot) -> Drawing:
    """Draw lines with bounds, marks and their names at their ends."""
    if len(plot.series) > len(SERIES_COLOURS):
        message = f"at most {len(SERIES_COLOURS)} lines can be told apart"
        raise ValueError(message)
    xs = [x for one in plot.series for x in one.x] + [one.x for one in plot.references]
    ys = [y for one in plot.series for y in (*one.y, *one.low, *one.high)]
    across = scale_over(xs, LEFT, WIDTH - RIGHT)
    up = scale_over(ys, HEIGHT - BOTTOM, TOP, from_zero=plot.from_zero)
    body = [
        axes(across, up, plot.x_label, plot.y_label),
        *(_reference(one, across, up) for one in plot.references),
        *(_band(place, one, across, up) for place, one in enumerate(plot.series) if one.low),
        *(_line(place, one, across, up) for place, one in enumerate(plot.series)),
        *_names(plot.series, across, up),
    ]
    return Drawing(key=plot.key, title=plot.title, description=plot.description, body="".join(body))


def axes(across: Scale, up: Scale, x_label: str, y_label: str) -> str:
    """Draw both axes with their round numbers and what they measure."""
    left, right, bottom, top = across.start, across.end, up.start, up.end
    parts: list[str] = []
    for tick in up.ticks:
        y = up.at(tick)
        parts.append(element("line", x1=left, x2=right, y1=y, y2=y, class_="grid"))
        parts.append(label(left - 7, y + TEXT_DROP, tick_text(tick), "end"))
    for tick in across.ticks:
        x = across.at(tick)
        parts.append(element("line", x1=x, x2=x, y1=bottom, y2=bottom + 5, class_="axis"))
        parts.append(label(x, bottom + 19, tick_text(tick), "middle"))
    parts.append(polyline(((left, top), (left, bottom), (right, bottom)), "axis"))
    parts.append(label((left + right) / 2, bottom + 39, x_label, "middle"))
    parts.append(label(8, top - 10, y_label, "start"))
    return group(parts)


def _band(place: int, one: Series, across: Scale, up: Scale) -> str:
    over = [(across.at(x), up.at(y)) for x, y in zip(one.x, one.high, strict=True)]
    under = [(across.at(x), up.at(y)) for x, y in zip(one.x, one.low, strict=True)]
    return polygon([*over, *reversed(under)], f"band{place}")


def _line(place: int, one: Series, across: Scale, up: Scale) -> str:
    points = [(across.at(x), up.at(y)) for x, y in zip(one.x, one.y, strict=True)]
    if not one.points_only:
        return polyline(points, f"line line{place}")
    return group(
        element("circle", cx=x, cy=y, r=MARK, class_=f"mark fill{place}") for x, y in points
    )


def _reference(one: Reference, across: Scale, up: Scale) -> str:
    x = across.at(one.x)
    line = element("line", x1=x, x2=x, y1=up.start, y2=up.end, class_="reference")
    return line + label(x + 4, up.end + 11, one.label, "start")


def _names(series: Sequence[Series], across: Scale, up: Scale) -> Iterator[str]:
    """Write each line's name beside its end, moved apart where ends are close."""
    ends = sorted(
        (up.at(one.y[-1]), across.at(one.x[-1]), place) for place, one in enumerate(series)
    )
    lowest = up.end
    for y_end, x_end, place in ends:
        y = max(y_end, lowest)
        lowest = y + LABEL_HEIGHT
        x = across.end + 8
        sample = ((x, y), (x + 22, y))
        if y != y_end or x_end != across.end:
            yield element("line", x1=x_end, y1=y_end, x2=x, y2=y, class_="grid")
        if series[place].points_only:
            yield element("circle", cx=x + 11, cy=y, r=MARK, class_=f"mark fill{place}")
        else:
            yield polyline(sample, f"line line{place}")
        yield label(x + 27, y + TEXT_DROP, series[place].label, "start")
