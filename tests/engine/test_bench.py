"""Flow-bench conversions; F and P numbers are rows of the project's reference values.

All numbers are arithmetic or closed forms computed apart from the code, unless said.
"""

import numpy as np
import pytest

from service.engine.bench import (
    bench_effective_area,
    bench_volume_flow,
    curtain_discharge_coefficient,
    flow_at_depression,
    head_discharge_coefficient,
)
from service.engine.flow import expansibility
from service.engine.inputs import NonPhysicalInput
from service.units import (
    cfm_to_m3_per_s,
    in2_to_m2,
    in_to_m,
    inh2o_to_pa,
    inhg_to_pa,
    m3_per_s_to_cfm,
)


@pytest.mark.parametrize(
    ("depression_inh2o", "factor"),
    [(10.0, 1.673320), (12.0, 1.527525), (15.0, 1.366260), (25.0, 1.058301)],
)
def test_flow_goes_with_the_root_of_the_depression(depression_inh2o: float, factor: float) -> None:
    """F20: to 28 inches of water; square roots."""
    assert flow_at_depression(1.0, depression_inh2o, 28.0) == pytest.approx(factor, rel=1e-6)


@pytest.mark.parametrize(
    ("inhg", "inh2o", "factor"), [(1.5, 20.3927, 1.171769), (3.0, 40.7853, 0.828566)]
)
def test_carburettor_ratings_convert_to_the_bench(inhg: float, inh2o: float, factor: float) -> None:
    """F21: four barrels are rated at 1.5 inHg, two at 3.0 (read on an engineering page).

    The factors are roots of 28 over the row's own inches of water, by hand; the row prints
    1.171722 and 0.828529, which do not follow from them and are 4e-5 low.
    """
    depression = inhg_to_pa(inhg)

    assert depression / inh2o_to_pa(1.0) == pytest.approx(inh2o, rel=1e-5)
    converted = flow_at_depression(1.0, depression, inh2o_to_pa(28.0))
    assert converted == pytest.approx(factor, rel=1e-5)


def test_rated_flows_convert_to_other_depressions() -> None:
    """F22."""
    four_barrel = flow_at_depression(850.0, inhg_to_pa(1.5), inh2o_to_pa(28.0))
    two_barrel = flow_at_depression(500.0, 3.0, 1.5)

    assert four_barrel == pytest.approx(996.0, rel=1e-4)
    assert two_barrel == pytest.approx(353.55, rel=1e-4)


@pytest.mark.parametrize(
    ("depression_inh2o", "cfm_per_square_inch"),
    [(28.0, 141.604), (10.0, 86.763), (25.0, 134.373)],
)
def test_a_perfect_square_inch_flows_by_the_compressible_law(
    depression_inh2o: float, cfm_per_square_inch: float
) -> None:
    """F23, F24: 20 °C, 101.325 kPa, volume before the part."""
    flow = bench_volume_flow(in2_to_m2(1.0), inh2o_to_pa(depression_inh2o))

    assert m3_per_s_to_cfm(float(flow)) == pytest.approx(cfm_per_square_inch, rel=1e-4)


@pytest.mark.parametrize(
    ("depression_inh2o", "density", "cfm_per_square_inch"),
    [
        (28.0, 1.2, 147.385),
        (28.0, 1.225, 145.874),
        (10.0, 1.2, 88.080),
        (10.0, 1.225, 87.176),
    ],
)
def test_the_shop_figure_of_146_is_the_incompressible_one_and_is_not_used(
    depression_inh2o: float, density: float, cfm_per_square_inch: float
) -> None:
    """F23, F24: Bernoulli here reproduces the shop's figures; ours lies below by expansibility."""
    drop = inh2o_to_pa(depression_inh2o)
    bernoulli = m3_per_s_to_cfm(in2_to_m2(1.0) * np.sqrt(2.0 * drop / density))
    assert bernoulli == pytest.approx(cfm_per_square_inch, rel=1e-4)

    room_density = 101_325.0 / (287.05 * 293.15)
    ours = m3_per_s_to_cfm(float(bench_volume_flow(in2_to_m2(1.0), drop)))

    at_room_density = bernoulli * np.sqrt(density / room_density)
    assert ours / at_room_density == pytest.approx(expansibility(1.0 - drop / 101_325.0))
    assert ours < bernoulli


@pytest.mark.parametrize(
    ("cfm", "square_centimetres", "square_inches"),
    [
        (250.0, 11.3902, 1.76549),
        (300.0, 13.6682, 2.11858),
        (350.0, 15.9463, 2.47168),
        (400.0, 18.2243, 2.82478),
    ],
)
def test_bench_flow_becomes_effective_area_by_the_compressible_law(
    cfm: float, square_centimetres: float, square_inches: float
) -> None:
    """F25: at 28 inches of water, 20 °C."""
    area = bench_effective_area(cfm_to_m3_per_s(cfm), inh2o_to_pa(28.0))

    assert area == pytest.approx(square_centimetres * 1e-4, rel=1e-4)
    assert area == pytest.approx(in2_to_m2(square_inches), rel=1e-4)


@pytest.mark.parametrize(
    ("cfm", "incompressible"),
    [(250.0, 10.9622), (300.0, 13.1546), (350.0, 15.3471), (400.0, 17.5395)],
)
def test_effective_area_exceeds_the_incompressible_one_by_expansibility(
    cfm: float, incompressible: float
) -> None:
    """F26: what a bench read with Bernoulli would give, in cm²."""
    drop = inh2o_to_pa(28.0)

    area = bench_effective_area(cfm_to_m3_per_s(cfm), drop)

    read_with_bernoulli = area * expansibility(1.0 - drop / 101_325.0)
    assert read_with_bernoulli == pytest.approx(incompressible * 1e-4, rel=1e-4)


def test_area_and_flow_are_each_other_s_inverse() -> None:
    areas = np.array([1e-4, 1e-3, 5e-3])

    flow = bench_volume_flow(areas, 6000.0, room_pressure=98e3, room_temperature=300.0)
    back = bench_effective_area(flow, 6000.0, room_pressure=98e3, room_temperature=300.0)

    assert back == pytest.approx(areas, rel=1e-12)


@pytest.mark.parametrize(
    ("valve_in", "curtain", "head"), [(2.19, 0.61586, 0.56243), (2.06, 0.65472, 0.63565)]
)
def test_implied_coefficients_of_a_valve_follow_from_its_bench_flow(
    valve_in: float, curtain: float, head: float
) -> None:
    """P8: 300 ft³/min at 28 inches of water and half an inch of lift; arithmetic."""
    area = bench_effective_area(cfm_to_m3_per_s(300.0), inh2o_to_pa(28.0))
    diameter = in_to_m(valve_in)

    assert curtain_discharge_coefficient(area, diameter, in_to_m(0.5)) == pytest.approx(
        curtain, rel=1e-4
    )
    assert head_discharge_coefficient(area, diameter) == pytest.approx(head, rel=1e-4)


def test_a_depression_of_a_whole_atmosphere_is_refused() -> None:
    with pytest.raises(NonPhysicalInput, match="depression"):
        bench_volume_flow(1e-3, 101_325.0)
