"""The compiled march against a closed bound, a computed table and the plain functions.

Z numbers are rows of the project's table of reference values.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.engine import kernels
from service.engine.flow import AIR_GAMMA, AIR_GAS_CONSTANT, restriction_mass_flow
from service.engine.valves import choked_filling_bound
from tests.engine.filling import MACH_INDICES, WIDE, Z6, filling, filling_march

CELLS = [
    (closing, mach, expected)
    for closing, row in Z6.items()
    for mach, expected in zip(MACH_INDICES, row, strict=True)
]


@pytest.mark.parametrize(("closing", "mach_index", "expected"), CELLS)
def test_a_cylinder_fills_as_an_independent_integration_says(
    closing: int, mach_index: float, expected: float
) -> None:
    """Z6, whose own tolerance is .01; a tenth of that holds."""
    assert filling(mach_index, closing) == pytest.approx(expected, abs=1e-3)


def test_the_best_closing_moves_later_as_the_index_rises() -> None:
    """Z6's direction: .3 at 200 degrees, .5 at 220, .8 at 240, 1.0 at 260."""
    best = {
        mach: max(Z6, key=lambda closing: filling(mach, closing)) for mach in (0.3, 0.5, 0.8, 1.0)
    }

    assert best == {0.3: 200, 0.5: 220, 0.8: 240, 1.0: 260}


@given(mach_index=st.floats(0.05, 2.0), closing=st.floats(150.0, 300.0))
@settings(max_examples=50)
def test_no_filling_exceeds_the_choked_bound(mach_index: float, closing: float) -> None:
    """Z3, closed form: no quasi-steady model may pass more than a valve choked throughout."""
    bound = float(choked_filling_bound(mach_index, closing))

    assert filling(mach_index, closing, steps=720) <= bound + 1e-3


def test_a_filling_conserves_mass_and_energy() -> None:
    """First law for an open, adiabatic cylinder: enthalpy in, work out."""
    march = filling_march(0.5, 220.0, steps=720)
    cylinder, runner = march.contents.volumes[kernels.CYLINDER], march.contents.runner
    before, held = cylinder.copy(), runner.state.sum(axis=0).copy()
    size = march.runner.cell_length * WIDE

    kernels.march(*march)

    # The pipe's mouth is open, so its own balance is closed with what crossed the mouth.
    gained = cylinder - before
    totals = march.contents.totals
    stored = (runner.state.sum(axis=0) - held)[0] * size
    assert gained[kernels.MASS] == pytest.approx(totals[kernels.INTAKE_MASS], rel=1e-12)
    assert stored == pytest.approx(
        totals[kernels.MOUTH_MASS] - totals[kernels.INTAKE_MASS], abs=1e-9
    )


def test_the_compiled_march_equals_the_interpreted_one() -> None:
    compiled = filling_march(0.5, 220.0, steps=24)
    interpreted = filling_march(0.5, 220.0, steps=24)

    kernels.march(*compiled)
    kernels.march.py_func(*interpreted)

    one, other = compiled.contents, interpreted.contents
    for found, expected in (
        (one.volumes, other.volumes),
        (one.totals, other.totals),
        (one.trace, other.trace),
        (one.runner.state, other.runner.state),
    ):
        np.testing.assert_allclose(found, expected, rtol=1e-9, atol=1e-12)


@given(
    ratio=st.floats(0.05, 1.0 - kernels.LAMINAR_SPAN),
    upstream_pressure=st.floats(5e4, 5e6),
    upstream_temperature=st.floats(250.0, 2500.0),
    gamma=st.floats(1.15, 1.4),
)
def test_the_kernel_s_orifice_is_that_of_the_flow_module(
    ratio: float, upstream_pressure: float, upstream_temperature: float, gamma: float
) -> None:
    """Outside the span in which the kernel is linear; both choke at the same ratio."""
    area = 1e-3
    downstream = ratio * upstream_pressure

    rate = kernels.flow_rate(
        area,
        upstream_pressure,
        upstream_temperature,
        AIR_GAS_CONSTANT,
        gamma,
        downstream,
    )

    expected = restriction_mass_flow(
        area,
        upstream_pressure,
        downstream,
        upstream_temperature,
        discharge_coefficient=1.0,
        gamma=gamma,
    )
    assert rate == pytest.approx(float(expected), rel=1e-9)


@pytest.mark.parametrize("gamma", [1.1, 1.2, 1.3, AIR_GAMMA, 1.67])
def test_no_gas_chokes_above_the_ratio_where_the_kernel_starts_to_look(gamma: float) -> None:
    """The critical ratio is 0.585 at gamma 1.1 and 0.487 for a monatomic gas: arithmetic."""
    critical = (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))

    assert critical < kernels.CHOKING_BEGINS_BELOW


@given(share=st.floats(0.0, 1.0))
def test_flow_falls_to_zero_in_proportion_inside_the_laminar_span(share: float) -> None:
    def flow(part: float) -> float:
        ratio = 1.0 - part * kernels.LAMINAR_SPAN
        rate = kernels.flow_rate(1e-3, 1e5, 300.0, AIR_GAS_CONSTANT, AIR_GAMMA, ratio * 1e5)
        return float(rate)

    assert flow(share) == pytest.approx(share * flow(1.0), rel=1e-9, abs=1e-12)
