"""Restrictions in series: conservation, and the limits that can be written down."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.flow import flow_function, restriction_mass_flow
from service.engine.inputs import NonPhysicalInput
from service.engine.series import (
    combined_effective_area,
    pressure_after_element,
    pressures_after_elements,
)

ROOM = (101_325.0, 293.15)
AREAS = st.lists(st.floats(min_value=1e-3, max_value=1e-2), min_size=1, max_size=6)


@given(
    areas=AREAS,
    flow=st.floats(min_value=1e-4, max_value=0.05),
)
def test_every_element_passes_the_same_flow_at_the_pressures_found(
    areas: list[float], flow: float
) -> None:
    """Conservation of mass, by the flow law itself."""
    after = pressures_after_elements(areas, *ROOM, flow)

    before = np.concatenate([[ROOM[0]], after[:-1]])
    passed = restriction_mass_flow(areas, before, after, ROOM[1], discharge_coefficient=1.0)
    assert passed == pytest.approx(flow, rel=1e-6)


@given(areas=AREAS)
def test_slow_flow_adds_up_inverse_squares(areas: list[float]) -> None:
    """Bernoulli: pressure losses of constant-density flow add, each as 1/A²."""
    expected = sum(area**-2 for area in areas) ** -0.5

    assert combined_effective_area(areas, *ROOM, 0.0) == pytest.approx(expected, rel=1e-12)
    slow = combined_effective_area(areas, *ROOM, 2e-3)
    assert slow == pytest.approx(expected, rel=2e-3)


def test_the_combined_area_passes_the_flow_at_the_last_pressure() -> None:
    """Its definition, checked by the flow law."""
    areas = [2e-3, 1.5e-3, 3e-3]

    combined = combined_effective_area(areas, *ROOM, 0.2)

    last = pressures_after_elements(areas, *ROOM, 0.2)[-1]
    passed = restriction_mass_flow(combined, ROOM[0], last, ROOM[1], discharge_coefficient=1.0)
    assert passed == pytest.approx(0.2, rel=1e-12)


def test_two_equal_screens_follow_the_law_of_gas_through_a_long_porous_path() -> None:
    """Many small equal losses: p² falls evenly (Darcy-Weisbach for gas at constant T, textbook)."""
    count, flow = 400, 0.2
    areas = np.full(count, 2e-3 * np.sqrt(count))

    last = pressures_after_elements(areas, *ROOM, flow)[-1]

    expected = ROOM[0] ** 2 - flow**2 * 287.05 * ROOM[1] / (2e-3) ** 2
    assert last**2 == pytest.approx(expected, rel=2e-4)


def test_no_flow_costs_no_pressure() -> None:
    assert pressures_after_elements([1e-3, 1e-4], *ROOM, 0.0).tolist() == [ROOM[0]] * 2


def test_an_element_on_the_edge_of_choking_still_has_its_critical_pressure() -> None:
    """Gas tables: 0.528282 for gamma 1.4."""
    limit = 1e-3 * ROOM[0] / np.sqrt(287.05 * ROOM[1]) * flow_function(0.0)

    assert pressure_after_element(1e-3, *ROOM, limit) == pytest.approx(0.528282 * ROOM[0], rel=1e-5)


def test_more_flow_than_an_element_can_pass_is_refused() -> None:
    with pytest.raises(NonPhysicalInput, match="`mass_flow` must not exceed"):
        pressures_after_elements([2e-3, 1e-3], *ROOM, 0.25)
