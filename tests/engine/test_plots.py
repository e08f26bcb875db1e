"""The plots of the verification cases: one drawn, its exact line held to its rows."""

from io import BytesIO
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from tests.engine.plots import draw, exact_sod_density


def test_a_plot_is_an_svg_with_its_axes_named() -> None:
    file = BytesIO()

    draw("shock-tube").savefig(file, format="svg", metadata={"Date": None})

    root = ET.fromstring(file.getvalue().decode())  # noqa: S314 - We wrote it.
    assert root.tag.endswith("}svg")


def test_the_exact_line_of_the_shock_tube_has_its_four_plateaus() -> None:
    """S1, densities; the waves stand at .5 + speed times .2."""
    found = exact_sod_density(np.array([0.1, 0.6, 0.75, 0.95]))

    assert found == pytest.approx([1.0, 0.426319, 0.265574, 0.125])
