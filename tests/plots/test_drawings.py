"""Plots are read back as XML, by another program than the one that wrote them."""

import re
from math import isclose
from xml.etree import ElementTree as ET

import pytest

from service.plots.bars import Bar, BarPlot, draw_bars
from service.plots.bolts import Bolt, BoltPlot, draw_bolts
from service.plots.lines import LinePlot, Reference, Series, draw_lines
from service.plots.points import Point, PointPlot, draw_points
from service.plots.scales import scale_over
from service.plots.style import DASHES, SERIES_COLOURS
from service.plots.svg import Drawing

SVG = "{http://www.w3.org/2000/svg}"
NAME = 'Torque <of> "A" & B'


def read(text: str) -> ET.Element:
    return ET.fromstring(text)  # noqa: S314 - We have just written it.


def curve(title: str = "Curve") -> Drawing:
    speeds = (1000.0, 2000.0, 3000.0)
    torque = Series(
        label="torque", x=speeds, y=(400.0, 500.0, 450.0), low=(380, 480, 430), high=(420, 520, 470)
    )
    power = Series(label="power", x=speeds, y=(42.0, 105.0, 141.0))
    measured = Series(label="measured", x=(1500.0, 2500.0), y=(455.0, 490.0), points_only=True)
    return draw_lines(
        LinePlot(
            key="curve",
            title=title,
            description="Peak torque 500 at 2000.",
            x_label="rev/min",
            y_label="N·m, kW",
            series=(torque, power, measured),
            references=(Reference(label="air runs out", x=2600.0),),
        )
    )


def ladder() -> Drawing:
    bars = (
        Bar(label="throttle", value=2.0, text="2.0 kPa"),
        Bar(label="ports", value=1.0, text="1.0 kPa"),
    )
    return draw_bars(
        BarPlot(key="ladder", title="Ladder", description="Two rungs.", x_label="kPa", bars=bars)
    )


def front(address: str | None = None) -> Drawing:
    points = (
        Point(label="a", x=100, y=200, on_front=True, tells="Kit a", address=address),
        Point(label="b", x=200, y=190, on_front=False, tells="Kit b", address=address),
        Point(label="c", x=300, y=260, on_front=True, tells="Kit c", address=address),
    )
    return draw_points(
        PointPlot(
            key="front",
            title="Front",
            description="Three kits.",
            x_label="USD",
            y_label="hp",
            points=points,
        )
    )


def joint() -> Drawing:
    bolts = tuple(
        Bolt(x_mm=80.0 * (place % 2), y_mm=60.0 * (place // 2), order=place + 1, share=share)
        for place, share in enumerate((1.0, 0.5, 0.8, None))
    )
    return draw_bolts(BoltPlot(key="joint", title="Joint", description="Four bolts.", bolts=bolts))


DRAWINGS = [curve(), ladder(), front(), joint()]


@pytest.mark.parametrize("drawing", DRAWINGS, ids=lambda one: one.key)
def test_a_drawing_says_what_it_shows_and_carries_no_inline_style(drawing: Drawing) -> None:
    """SVG 2, section 5.8: title and desc; a policy of `style-src 'self'` blocks `style=`."""
    root = read(drawing.inline())

    names = [root.find(f".//*[@id='{key}']") for key in root.attrib["aria-labelledby"].split()]
    assert [one.text for one in names if one is not None] == [drawing.title, drawing.description]
    assert root.attrib["role"] == "img"
    assert not any("style" in one.attrib or one.tag == f"{SVG}style" for one in root.iter())


@pytest.mark.parametrize("drawing", DRAWINGS, ids=lambda one: one.key)
def test_every_class_that_is_used_is_in_the_style_of_the_file(drawing: Drawing) -> None:
    root = read(drawing.file())
    style = root.find(f"{SVG}style")

    assert style is not None
    assert style.text is not None
    used = {name for one in root.iter() for name in one.attrib.get("class", "").split()}
    assert {name for name in used if f".{name}" not in style.text} == set()


@pytest.mark.parametrize("drawing", DRAWINGS, ids=lambda one: one.key)
def test_nothing_is_drawn_outside_the_picture(drawing: Drawing) -> None:
    root = read(drawing.inline())

    for one in root.iter():
        xs = [float(one.attrib[key]) for key in ("x", "x1", "x2", "cx") if key in one.attrib]
        ys = [float(one.attrib[key]) for key in ("y", "y1", "y2", "cy") if key in one.attrib]
        points = [float(n) for n in re.findall(r"-?[\d.]+", one.attrib.get("points", ""))]
        assert all(0 <= x <= drawing.width for x in xs + points[::2])
        assert all(0 <= y <= drawing.height for y in ys + points[1::2])


def test_words_of_the_catalogue_cannot_become_markup() -> None:
    root = read(curve(NAME).inline())

    title = root.find(f"{SVG}title")
    assert title is not None
    assert title.text == NAME


def test_bars_are_as_long_as_their_values() -> None:
    root = read(ladder().inline())

    long, short = (float(one.attrib["width"]) for one in root.iter(f"{SVG}rect"))
    assert isclose(long, 2.0 * short, abs_tol=0.02)  # Coordinates have two decimals.


def test_every_point_with_an_address_is_a_named_link() -> None:
    root = read(front("/kit").inline())

    assert root.attrib["role"] == "group"
    assert [one.attrib["aria-label"] for one in root.iter(f"{SVG}a")] == ["Kit a", "Kit b", "Kit c"]


def test_lines_that_cross_are_told_apart_in_greyscale() -> None:
    """WCAG 2.2, 1.4.1: each line has dashes and a name of its own, whatever its colour."""
    names = ("one", "two", "three", "four", "five")
    series = tuple(Series(label=name, x=(0, 1), y=(at, 4 - at)) for at, name in enumerate(names))
    drawing = draw_lines(
        LinePlot(key="many", title="Many", description="", x_label="x", y_label="y", series=series)
    )

    text = drawing.file()
    root = read(text)
    used = {one.attrib["class"].split()[-1] for one in root.iter(f"{SVG}polyline")} - {"axis"}
    dashes = [
        re.search(rf"\.{name}{{[^}}]*stroke-dasharray:([^}};]+)", text)[1]  # type: ignore[index]
        for name in sorted(used)
    ]
    assert len(used) == len(names)
    assert len(set(dashes)) == len(names)
    assert set(names) <= {one.text for one in root.iter(f"{SVG}text")}


def test_lines_differ_without_colour_and_keep_3_to_1_against_white() -> None:
    """WCAG 2.2, 1.4.11, with its definition of relative luminance."""

    def luminance(colour: str) -> float:
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    assert len(set(DASHES)) == len(SERIES_COLOURS)
    assert all(1.05 / (luminance(colour) + 0.05) >= 3.0 for colour in SERIES_COLOURS)


@pytest.mark.parametrize(
    "values", [(0.0,), (7.0, 7.0), (-3.0, 12.0), (1e-4, 3e-4), (995.0, 6510.0), (0.3, 0.6)]
)
def test_an_axis_holds_its_values_and_has_few_even_steps(values: tuple[float, ...]) -> None:
    scale = scale_over(values, 0.0, 100.0)

    steps = {round(b - a, 9) for a, b in zip(scale.ticks, scale.ticks[1:], strict=False)}
    assert scale.low <= min(values) <= max(values) <= scale.high
    assert len(steps) == 1
    assert 2 <= len(scale.ticks) <= 9
