"""The simulated cycle: its balances, its cells, its bands and its ceilings.

Bands are those that textbooks give (Heywood, *Internal Combustion Engine
Fundamentals*, 1988, chapters 5, 6 and 15; from memory). Letters with a number are rows
of the project's table of reference values.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from service.engine.cycle import CycleResult, simulate_cycle
from service.engine.equilibrium import fuel_air_otto_cycle
from service.engine.flow import sound_speed
from service.engine.fuels import FUELS, stoichiometric_air_fuel_ratio
from service.engine.geometry import circle_area, mean_piston_speed
from service.engine.model import EngineSpec
from service.engine.plant import effective_valve_area
from service.engine.species import mixture
from service.engine.valves import choked_filling_bound
from service.kits.translation import engine_spec
from service.units import rpm_to_rad_per_s
from tests.engine.finer_grid import ALLOWED, engine, grid_error, suite_points
from tests.kits.assembled import STANDARD_AIR, assembled, point_at, stock_engine
from tests.seed import FAMILIES, QUAY_BIG, parts

SPEEDS_RPM = (1500.0, 2500.0, 4000.0, 5500.0, 6500.0)
HIGH_RPM = 5500.0
ON_ALL_FAMILIES = pytest.mark.parametrize("family", FAMILIES)
AT_ALL_SPEEDS = pytest.mark.parametrize("speed_rpm", SPEEDS_RPM)


def cycle_at(spec: EngineSpec, speed_rpm: float) -> CycleResult:
    return point_at(spec, speed_rpm).cycle


# --- Balances and steps --------------------------------------------------------------------


@ON_ALL_FAMILIES
@AT_ALL_SPEEDS
def test_what_enters_a_cycle_leaves_it(family: str, speed_rpm: float) -> None:
    """Conservation: asked for are 0.2 % of the mass and 1 % of the fuel's heat; half of
    either holds."""
    cycle = cycle_at(stock_engine(family), speed_rpm)

    assert cycle.converged
    assert cycle.mass_imbalance < 1e-3
    assert abs(cycle.energy_imbalance) < 5e-3


@pytest.mark.parametrize(
    ("kit", "speed_rpm"),
    [
        (f"{QUAY_BIG} Q76-MANIFOLD-FULMAR", 5250.0),
        (f"{QUAY_BIG} Q76-MANIFOLD-DUNLIN", 2125.0),
        ("quay-5-3 Q53-MANIFOLD-GARGANEY", 5250.0),
    ],
)
def test_what_enters_passes_the_mouth_and_the_valve_too(kit: str, speed_rpm: float) -> None:
    """Throttle and exhaust may agree while the volumes between them still swing from cycle to
    cycle: of all seed kits these swing most. Asked for are 0.2 %."""
    cycle = cycle_at(engine(kit), speed_rpm)

    assert cycle.converged
    assert cycle.mass_imbalance < 2e-3
    assert abs(cycle.energy_imbalance) < 1e-2


@pytest.mark.parametrize(("kit", "speed_rpm"), suite_points())
def test_cells_four_times_finer_leave_torque_as_it_is(kit: str, speed_rpm: float) -> None:
    """Asked for is 1 % at every speed. Here each seed kit is at one of nine speeds in turn;
    `poe finer-grid` has them all at all."""
    assert abs(grid_error(engine(kit), speed_rpm)) < ALLOWED


@pytest.mark.parametrize("share", [0.5, 2.0])
def test_how_neighbours_answer_does_not_alter_the_converged_cycle(
    monkeypatch: pytest.MonkeyPatch, share: float
) -> None:
    """The answer is to a difference that convergence removes; 0.2 % is left of it."""
    spec, speed = stock_engine("orrin-4-4"), float(rpm_to_rad_per_s(4000.0))
    usual = cycle_at(spec, 4000.0)
    monkeypatch.setattr("service.engine.plant.LAG_LENGTHS", 3.0 * share)

    other = simulate_cycle(spec, STANDARD_AIR, speed)

    assert other.indicated_work == pytest.approx(usual.indicated_work, rel=2e-3)


def test_a_cycle_that_did_not_repeat_itself_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.engine.cycle.ATTEMPTS", ((0.6, 2),))

    cycle = simulate_cycle(stock_engine(QUAY_BIG), STANDARD_AIR, float(rpm_to_rad_per_s(HIGH_RPM)))

    assert not cycle.converged
    assert cycle.cycles == 2


@ON_ALL_FAMILIES
def test_the_fuel_is_that_of_the_air_drawn(family: str) -> None:
    """By the definition of the air-fuel ratio, once nothing changes from cycle to cycle."""
    spec = stock_engine(family)

    cycle = cycle_at(spec, 2500.0)

    assert cycle.air_mass / cycle.fuel_mass == pytest.approx(spec.air_fuel_ratio, rel=3e-3)


@ON_ALL_FAMILIES
@pytest.mark.parametrize("speed_rpm", [4000.0, HIGH_RPM])
def test_narrower_valves_cost_power_where_the_engine_breathes_hard(
    family: str, speed_rpm: float
) -> None:
    """Not so at low speed: Z6's late closings fill better at an index of .2 than at .1,
    because less flows back."""
    spec = stock_engine(family)
    narrow = replace(spec, assumptions=replace(spec.assumptions, flow_multiplier=0.8))

    assert point_at(narrow, speed_rpm).power < point_at(spec, speed_rpm).power


# --- Bands -----------------------------------------------------------------------------------


@ON_ALL_FAMILIES
@pytest.mark.parametrize("speed_rpm", [1500.0, 2500.0, 4000.0, 5500.0])
def test_the_trapped_residual_is_that_of_an_engine_at_full_load(
    family: str, speed_rpm: float
) -> None:
    """3 to 15 %: from memory."""
    assert 0.03 < cycle_at(stock_engine(family), speed_rpm).residual_fraction < 0.15


@ON_ALL_FAMILIES
@pytest.mark.parametrize("speed_rpm", [1500.0, 2500.0, 4000.0, 5500.0])
def test_the_exhaust_is_as_hot_as_that_of_an_engine_at_full_load(
    family: str, speed_rpm: float
) -> None:
    """About 900 degrees C at high power (Heywood 1988, section 6.5; from memory), in a
    collector without walls up to 250 K more; cooler at low speed."""
    assert 1050.0 < cycle_at(stock_engine(family), speed_rpm).exhaust_temperature < 1420.0


@ON_ALL_FAMILIES
def test_the_exhaust_gets_hotter_with_speed(family: str) -> None:
    """Less time for the heat to leave (Heywood 1988, section 6.5; from memory)."""
    found = [cycle_at(stock_engine(family), rpm).exhaust_temperature for rpm in SPEEDS_RPM]

    assert found == sorted(found)


# --- Ceilings --------------------------------------------------------------------------------


@cache
def fuel_air_efficiency(compression_ratio: float, equivalence_ratio: float) -> float:
    """O16: fuel-air cycle of isooctane at 330 K and one atmosphere, over its heating value.

    The vapour's heating value, as in the rows; a charge richer or of another fuel has
    nearly the same efficiency at the same ratio of equivalence.
    """
    air = 12.5 / equivalence_ratio
    charge = mixture({"C8H18": 1.0, "O2": air, "N2": 3.773 * air})
    fuel = FUELS["isooctane"]
    share = 1.0 / (1.0 + stoichiometric_air_fuel_ratio(fuel) / equivalence_ratio)
    work = fuel_air_otto_cycle(charge, compression_ratio, 330.0, 101_325.0).work
    return work / (share * fuel.heating_value_vapour)


@pytest.mark.parametrize(
    ("compression_ratio", "equivalence_ratio", "expected"),
    [(9.0, 1.0, 0.4481), (10.0, 1.0, 0.4645), (10.0, 1.2, 0.3861)],
)
def test_the_ceiling_is_that_of_the_rows(
    compression_ratio: float, equivalence_ratio: float, expected: float
) -> None:
    """O16 and O17, computed outside the project with a reference library."""
    found = fuel_air_efficiency(compression_ratio, equivalence_ratio)

    assert found == pytest.approx(expected, rel=5e-3)


def ceiling_share(spec: EngineSpec, speed_rpm: float) -> float:
    """Brake efficiency over that of the fuel-air cycle."""
    equivalence = stoichiometric_air_fuel_ratio(FUELS[spec.fuel]) / spec.air_fuel_ratio
    ceiling = fuel_air_efficiency(spec.compression_ratio, round(equivalence, 4))
    return point_at(spec, speed_rpm).brake_efficiency / ceiling


def filling_share(spec: EngineSpec, speed_rpm: float) -> float:
    """Volumetric efficiency over Z3's bound for a valve choked as long as it is open."""
    angle = np.arange(0.0, 720.0, 0.5)
    area = effective_valve_area(angle, spec.intake, flow_multiplier=1.0)
    is_open = area > 0.0
    speed = mean_piston_speed(spec.stroke, rpm_to_rad_per_s(speed_rpm))
    sound = sound_speed(STANDARD_AIR.temperature)
    index = circle_area(spec.bore) * speed / (area[is_open].mean() * sound)
    bound = choked_filling_bound(index, 0.5 * np.count_nonzero(is_open))
    return cycle_at(spec, speed_rpm).volumetric_efficiency / float(bound)


@pytest.mark.parametrize("sku", sorted(parts()))
def test_no_part_breaks_a_ceiling_in_its_family_s_factory_kit(sku: str) -> None:
    """O16 with its 2 %, and Z3; nothing breaks them at a middle and at a high speed."""
    part = parts()[sku]
    spec = engine_spec(assembled(part.families[0], {part.slot: sku}))

    for speed_rpm in (3000.0, 6000.0):
        assert ceiling_share(spec, speed_rpm) < 1.02
        assert filling_share(spec, speed_rpm) < 1.0


def test_a_cylinder_holds_no_more_air_than_its_peak_pressure_can_explain() -> None:
    """Adiabatic, constant-volume burning multiplies the end of compression by less than 4.5
    (O11 gives 9.5 from ambient temperature, and compression has doubled that already)."""
    spec = stock_engine(QUAY_BIG)

    cycle = cycle_at(spec, 2500.0)

    compressed = STANDARD_AIR.dry_pressure * spec.compression_ratio**1.35
    assert compressed < cycle.peak_pressure < 4.5 * compressed
