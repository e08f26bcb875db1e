"""Elements of SVG as text, and the frame that every plot stands in."""

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from service.plots.style import STYLE

WIDTH, HEIGHT = 640.0, 360.0
"""Of the drawing, in its own units; a page scales it."""

PX_PER_REM = 16.0
"""Where nobody asked for larger text."""

Attribute = str | float


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A finished plot, to be put into a page or a file."""

    key: str
    """Unique on a page: the title and the description are found by it."""
    title: str
    description: str
    """What a reader has to know who cannot see it."""
    body: str
    width: float = WIDTH
    height: float = HEIGHT

    def inline(self) -> str:
        """Return it for a page that brings the style sheet itself."""
        # As the text round it grows, so do the words of a drawing of its own size.
        return self._svg("", f"{self.width / PX_PER_REM}rem", f"{self.height / PX_PER_REM}rem")

    def file(self) -> str:
        """Return it with its style, to stand alone or in a printed document."""
        return self._svg(f"<style>{STYLE}</style>", self.width, self.height)

    def _svg(self, style: str, width: Attribute, height: Attribute) -> str:
        names = f"{self.key}-title {self.key}-desc"
        inner = (
            element("title", self.title, id=f"{self.key}-title")
            + element("desc", self.description, id=f"{self.key}-desc")
            + style
            + self.body
        )
        # A drawing that needs less room than most is not blown up to fill it.
        small = self.width < WIDTH
        size = {"width": width, "height": height} if small else {}
        return _raw(
            "svg",
            inner,
            xmlns="http://www.w3.org/2000/svg",
            class_="plot own-size" if small else "plot",
            **size,
            viewBox=f"0 0 {number(self.width)} {number(self.height)}",
            # An image has no parts; one with links in it is a group of them.
            role="group" if "<a " in self.body else "img",
            aria_labelledby=names,
        )


def number(value: float) -> str:
    """Write a coordinate: a hundredth of a unit is finer than any screen."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def element(name: str, text: str = "", **attributes: Attribute) -> str:
    """Return an element that holds text."""
    return _raw(name, escape(text, quote=False), **attributes)


def group(parts: Iterable[str], **attributes: Attribute) -> str:
    """Return a group of elements."""
    return _raw("g", "".join(parts), **attributes)


def polyline(points: Iterable[tuple[float, float]], class_: str) -> str:
    """Return a line through points."""
    return element("polyline", points=_points(points), class_=class_)


def polygon(points: Iterable[tuple[float, float]], class_: str) -> str:
    """Return a closed area."""
    return element("polygon", points=_points(points), class_=class_)


def label(x: float, y: float, text: str, class_: str) -> str:
    """Return text at a place; its class says how it is aligned."""
    return element("text", text, x=x, y=y, class_=class_)


def link(address: str, tells: str, inner: str) -> str:
    """Return elements that lead somewhere; its name is what a screen reader says.

    It is no stop of the Tab key, of which a picture would have hundreds: the table beside a
    picture leads to the same places.
    """
    return _raw("a", inner, href=address, aria_label=tells, tabindex="-1")


def _points(points: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{number(x)},{number(y)}" for x, y in points)


def _raw(name: str, inner: str, **attributes: Attribute) -> str:
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{_value(value)}"'
        for key, value in attributes.items()
    )
    return f"<{name}{written}>{inner}</{name}>" if inner else f"<{name}{written}/>"


def _value(value: Attribute) -> str:
    return escape(value) if isinstance(value, str) else number(value)
