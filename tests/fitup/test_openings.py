"""Rows F1 to F3 and F6, and the library `fluids` as a second route."""

from math import pi

import fluids
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.catalog.rules import RuleSeverity
from service.catalog.slots import Slot
from service.fitup.check import fit_findings
from service.fitup.findings import Finding
from service.fitup.openings import (
    Opening,
    common_area_mm2,
    ledge_share,
    sudden_contraction_loss,
    sudden_expansion_loss,
)
from tests.fitup.subjects import make_subject, shop_part


def throttle_step(throttle_mm: float, manifold_mm: float) -> Finding | None:
    """The finding on a throttle of one bore on a manifold of another."""
    subject = make_subject(
        shop_part(Slot.THROTTLE_BODY, "TERN", spec={"bore_mm": throttle_mm}),
        shop_part(Slot.INTAKE_MANIFOLD, "HERON", spec={"throttle_bore_mm": manifold_mm}),
    )
    found = [
        finding
        for finding in fit_findings(subject, (), {}, None)
        if finding.code == "throttle.bore_step"
    ]
    return found[0] if found else None


@pytest.mark.parametrize(
    ("upstream_mm", "downstream_mm", "expected"),
    [
        (90.0, 92.0, 0.001849),
        (90.0, 95.0, 0.010505),
        (90.0, 102.0, 0.049042),
        (76.2, 88.9, 0.070387),
    ],
)
def test_f1_sudden_expansion(upstream_mm: float, downstream_mm: float, expected: float) -> None:
    """Row F1, and `fluids.diffuser_sharp`."""
    loss = sudden_expansion_loss((upstream_mm / downstream_mm) ** 2)

    assert loss == pytest.approx(expected, abs=1e-6)
    assert loss == pytest.approx(fluids.diffuser_sharp(Di1=upstream_mm, Di2=downstream_mm))


@pytest.mark.parametrize(
    ("upstream_mm", "downstream_mm", "expected"),
    [(92.0, 90.0, 0.011286), (95.0, 90.0, 0.037764), (102.0, 90.0, 0.117054)],
)
def test_f2_sudden_contraction(upstream_mm: float, downstream_mm: float, expected: float) -> None:
    """Row F2, and `fluids.contraction_sharp` with its Rennels method."""
    loss = sudden_contraction_loss((downstream_mm / upstream_mm) ** 2)

    assert loss == pytest.approx(expected, abs=1e-5)
    assert loss == pytest.approx(fluids.contraction_sharp(Di1=upstream_mm, Di2=downstream_mm))


@pytest.mark.parametrize(("step_mm", "expected"), [(0.5, 0.02210), (1.0, 0.04395), (2.0, 0.08691)])
def test_f3_area_lost_to_a_ledge_all_round(step_mm: float, expected: float) -> None:
    """Row F3: a 90 mm bore over one that is smaller by the step all round."""
    share = ledge_share(Opening(width_mm=90.0), Opening(width_mm=90.0 - 2 * step_mm))

    assert share == pytest.approx(expected, abs=1e-5)


def test_f6_a_step_that_opens_downstream_is_the_tolerated_one() -> None:
    """Row F6 (common practice): the same two bores, once each way round."""
    opens, closes = throttle_step(80.0, 90.0), throttle_step(90.0, 80.0)

    assert opens is not None
    assert closes is not None
    assert opens.severity is RuleSeverity.NOTES
    assert closes.severity is RuleSeverity.BLOCKS


@pytest.mark.parametrize(
    ("throttle_mm", "severity"),
    [
        (90.2, None),
        (91.0, RuleSeverity.NOTES),
        (94.0, RuleSeverity.WARNS),
        (102.0, RuleSeverity.BLOCKS),
    ],
)
def test_a_ledge_is_worse_the_more_area_it_covers(
    throttle_mm: float, severity: RuleSeverity | None
) -> None:
    """On a 90 mm opening; area lost .4, 2.2, 8.3 and 22 % (circle areas)."""
    found = throttle_step(throttle_mm, 90.0)

    assert (found.severity if found else None) is severity


def test_a_step_names_measure_limit_and_both_parts() -> None:
    found = throttle_step(102.0, 90.0)

    assert found is not None
    assert found.parts == ("HERON", "TERN")
    assert found.measured is not None
    assert found.measured.unit == "%"
    assert found.measured.value == pytest.approx(100 * (1 - (90 / 102) ** 2), abs=0.01)
    assert found.limit is not None
    assert found.limit.value == pytest.approx(20.0)


def test_a_smaller_exhaust_primary_under_a_larger_port_is_a_ledge() -> None:
    header = shop_part(Slot.EXHAUST_MANIFOLD, "PLOVER", spec={"primary_bore_mm": 38.0}, needs=())

    codes = {finding.code for finding in fit_findings(make_subject(header), (), {}, None)}

    assert "exhaust_port.step" in codes


def test_a_smaller_pipe_under_a_collector_is_a_ledge() -> None:
    system = shop_part(Slot.EXHAUST_SYSTEM, "PLOVER", spec={"inlet_bore_mm": 50.0})

    found = [
        one for one in fit_findings(make_subject(system), (), {}, None) if "collector" in one.code
    ]

    assert found[0].severity is RuleSeverity.BLOCKS


@given(
    widths=st.tuples(st.floats(10, 100), st.floats(10, 100)),
    heights=st.tuples(st.none() | st.floats(10, 100), st.none() | st.floats(10, 100)),
)
def test_the_common_area_is_no_larger_than_either_opening(
    widths: tuple[float, float], heights: tuple[float | None, float | None]
) -> None:
    first = Opening(width_mm=widths[0], height_mm=heights[0])
    second = Opening(width_mm=widths[1], height_mm=heights[1])

    shared = common_area_mm2(first, second)

    assert 0 < shared <= min(first.area_mm2, second.area_mm2)
    assert shared == pytest.approx(common_area_mm2(second, first))


def test_a_port_that_is_taller_but_narrower_is_a_ledge_at_its_sides() -> None:
    """Two rectangles of one area: 30 x 60 over 36 x 50 share 30 x 50."""
    share = ledge_share(
        Opening(width_mm=30.0, height_mm=60.0), Opening(width_mm=36.0, height_mm=50.0)
    )

    assert share == pytest.approx(1 - 50 / 60)
    assert Opening(width_mm=30.0).area_mm2 == pytest.approx(pi * 225.0)
