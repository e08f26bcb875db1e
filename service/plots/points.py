"""Points on two axes, with those that nothing else beats joined to a front."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from service.plots.lines import BOTTOM, LEFT, TOP, axes
from service.plots.scales import scale_over
from service.plots.svg import HEIGHT, WIDTH, Drawing, element, label, link, polyline

RIGHT = 40.0
RADIUS = 6.0
SMALL_RADIUS = 3.5
"""Of what something else beats: there are many, and none is to cover the front."""
ROOM = (34.0, 20.0)
"""Across and up, that a short name takes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One choice; with an address it leads there."""

    label: str
    """Short: it stands beside the point."""
    x: float
    y: float
    on_front: bool
    tells: str
    """The whole point in words."""
    address: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PointPlot:
    """What is gained over what it costs."""

    key: str
    title: str
    description: str
    x_label: str
    y_label: str
    points: tuple[Point, ...]


def draw_points(plot: PointPlot) -> Drawing:
    """Draw points, hollow where another is better in both ways, and the front as steps."""
    across = scale_over((one.x for one in plot.points), LEFT, WIDTH - RIGHT)
    up = scale_over((one.y for one in plot.points), HEIGHT - BOTTOM, TOP)
    front = sorted((one.x, one.y) for one in plot.points if one.on_front)
    stair = [(across.at(x), up.at(y)) for x, y in front]
    # Between two points of a front only the left one can be had: the line goes along, then up.
    corners = [corner for here, there in pairwise(stair) for corner in (here, (there[0], here[1]))]
    parts = [axes(across, up, plot.x_label, plot.y_label)]
    if stair:
        parts.append(polyline([*corners, stair[-1]], "line line0"))
    places = [(across.at(one.x), up.at(one.y)) for one in plot.points]
    labelled = _labelled(plot.points, places)
    parts += [
        _point(one, *place, labelled=number in labelled)
        for number, (one, place) in enumerate(zip(plot.points, places, strict=True))
    ]
    return Drawing(
        key=plot.key, title=plot.title, description=plot.description, body="".join(parts)
    )


def _labelled(points: Sequence[Point], places: Sequence[tuple[float, float]]) -> set[int]:
    """Return which points of the front have room for their name; its two ends come first."""
    front = [number for number, point in enumerate(points) if point.on_front]
    front.sort(key=lambda number: points[number].x)
    chosen: list[int] = []
    for number in (*front[:1], *front[-1:], *front[1:-1]):
        x, y = places[number]
        taken = (places[other] for other in chosen)
        if all(abs(x - left) > ROOM[0] or abs(y - top) > ROOM[1] for left, top in taken):
            chosen.append(number)
    return set(chosen)


def _point(one: Point, x: float, y: float, *, labelled: bool) -> str:
    look, radius = ("mark fill0", RADIUS) if one.on_front else ("hollow", SMALL_RADIUS)
    mark = element("circle", cx=x, cy=y, r=radius, class_=look)
    name = label(x - RADIUS, y - RADIUS - 3, one.label, "end") if labelled else ""
    if one.address is None:
        return mark + name
    return link(one.address, one.tells, mark + name)
