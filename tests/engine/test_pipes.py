"""Gas dynamics of a pipe against exact solutions.

Rows S1-S12, F11-F12 and R8 of the reference values: computed there with closed forms and
reference libraries, provenance (b), unless a test says otherwise.
"""

import numpy as np
import pytest

from service.engine import kernels
from service.engine.flow import fanno_length, isentropic_mach, nozzle_exit
from tests.engine.pipe_cases import (
    AREA,
    DENSITY,
    GAMMA,
    HEAT,
    PRESSURE,
    SOD_PRESSURE,
    SOD_SPEED,
    SOUND,
    TEMPERATURE,
    R,
    Tube,
    frequency,
    friction_factor,
    mach_numbers,
    organ_pipe,
    rough_pipe,
    shock_tube,
    smooth_wave_error,
    stopped_column,
    tapered_nozzle,
    volume,
    wave_at_a_wall,
    wave_at_the_open,
)


def test_the_shock_tubes_plateaus_are_within_one_percent_at_200_cells() -> None:
    """S1: Sod, J. Comput. Phys. 27 (1978)."""
    tube = shock_tube()

    between, ahead = tube.cells_now[120], tube.cells_now[154]
    assert between[2] / SOD_PRESSURE == pytest.approx(0.303130, rel=0.01)
    assert between[1] / SOD_SPEED == pytest.approx(0.927453, rel=0.01)
    assert between[0] == pytest.approx(0.426319, rel=0.01)
    assert ahead[0] == pytest.approx(0.265574, rel=0.01)


@pytest.mark.parametrize(
    ("ratio", "star_pressure", "star_velocity"),
    [(1.2, 109479.1, 22.6088), (1.5, 122109.8, 50.2777), (2.0, 140179.0, 85.9432)],
)
def test_a_burst_membrane_gives_the_exact_pressure_and_speed(
    ratio: float, star_pressure: float, star_velocity: float
) -> None:
    """S5: air at 300 K, right side 1 bar; stated tolerance of a code 0.5 %."""
    tube = Tube(200, 1.0)
    tube.fill(
        np.where(tube.place < 0.5, ratio, 1.0) * DENSITY,
        0.0,
        np.where(tube.place < 0.5, ratio, 1.0) * PRESSURE,
    )

    tube.run(0.001)

    assert tube.cells_now[110, 2] == pytest.approx(star_pressure, rel=0.005)
    assert tube.cells_now[110, 1] == pytest.approx(star_velocity, rel=0.005)


def test_a_smooth_wave_converges_with_second_order() -> None:
    coarse, fine = (smooth_wave_error(cells) for cells in (100, 200))

    assert np.log2(coarse / fine) > 1.8


@pytest.mark.parametrize(
    ("incident", "reflected"), [(1.2, 1.43335), (0.8, 0.63531), (1.5, 2.20059), (0.6, 0.34580)]
)
def test_a_wave_that_meets_a_wall_is_superposed_on_itself(
    incident: float, reflected: float
) -> None:
    """S7: p/p0 = (2X - 1)^7; tolerance of a code 1 %."""
    seen = wave_at_a_wall(incident)

    # The middle of the plateau: the front and its tail are smeared over a few cells.
    at = np.argmin(np.abs(seen[:, 0] - 0.0015))
    assert seen[at, 2] / PRESSURE == pytest.approx(reflected, rel=0.01)


@pytest.mark.parametrize(("incident", "reflected"), [(1.2, 0.82928), (1.5, 0.65025)])
def test_a_wave_that_meets_the_open_comes_back_as_its_opposite(
    incident: float, reflected: float
) -> None:
    """S8: X_r = 2 - X_i; tolerance of a code 1 %."""
    tube = wave_at_the_open(incident)

    lowest = np.median(np.sort(tube.cells_now[:, 2])[:60])
    assert lowest / PRESSURE == pytest.approx(reflected, rel=0.01)


@pytest.mark.parametrize(
    ("speed", "acoustic", "shock"),
    [
        (30, 1.12134, 1.12781),
        (50, 1.20223, 1.22051),
        (80, 1.32357, 1.37153),
        (100, 1.40446, 1.48059),
    ],
)
def test_a_column_stopped_by_a_closing_valve_lies_between_acoustics_and_shock(
    speed: float, acoustic: float, shock: float
) -> None:
    """S10: 101325 Pa, 298.15 K; between the acoustic value and the shock's plus 1 %."""
    assert acoustic < stopped_column(speed) < shock * 1.01


@pytest.mark.parametrize("length", [0.3048, 0.4])
def test_a_pipe_closed_at_one_end_sounds_at_a_quarter_wave(length: float) -> None:
    """R8 and S11: f = a/4L within 1 %, on as few cells as an engine's runner has."""
    assert frequency(organ_pipe(length)) == pytest.approx(SOUND / (4.0 * length), rel=0.01)


@pytest.mark.parametrize("length", [0.3048, 0.4])
def test_a_pipe_open_at_both_ends_sounds_at_a_half_wave(length: float) -> None:
    """S11: f = a/2L within 1 %."""
    seen = organ_pipe(length, is_open=True)

    assert frequency(seen, at=3) == pytest.approx(SOUND / (2.0 * length), rel=0.01)


def test_steady_flow_through_an_open_pipe_is_that_of_a_nozzle() -> None:
    """F11: 101325 Pa, 300 K into 80000 Pa: u 198.382 m/s, 197.168 kg/m²s; tolerance 1e-3."""
    ends = np.array([volume(101325.0, 300.0), volume(80000.0, 300.0)])
    tube = Tube(20, 0.2, openings=np.array([AREA, AREA]), outside=ends)
    tube.fill(DENSITY, 0.0, 9e4)

    tube.run(0.3)

    assert tube.filled.leaving[1, 0] == pytest.approx(197.168, rel=1e-3)
    assert tube.filled.leaving[0, 0] == pytest.approx(-197.168, rel=1e-3)
    assert tube.filled.ends[1, 1] == pytest.approx(198.382, rel=1e-3)


def test_steady_flow_through_a_taper_keeps_the_isentropic_mach_number() -> None:
    """Second route: service.engine.flow, itself checked against gas tables (F9-F11)."""
    tube = tapered_nozzle()

    exit_state = nozzle_exit(101325.0, 85000.0, 300.0)
    expected = isentropic_mach(tube.cells_now[:, 2] / 101325.0)
    assert tube.filled.leaving[1, 0] == pytest.approx(float(exit_state.mass_flux), rel=2e-3)
    assert mach_numbers(tube) == pytest.approx(expected, rel=5e-3)


def test_friction_chokes_a_pipe_over_fannos_length() -> None:
    """F12's function: 4 f L/D between two sections is what their lengths to choking differ by."""
    tube = rough_pipe()

    mach = mach_numbers(tube)
    span = tube.place[-1] - tube.place[0]
    passed = fanno_length(float(mach[0])) - fanno_length(float(mach[-1]))
    assert float(passed) == pytest.approx(
        friction_factor(tube) * span / float(tube.pipe.diameter[0]), rel=0.01
    )


def test_a_closed_pipe_loses_neither_mass_nor_energy() -> None:
    """S12: conservation to 1e-10."""
    tube = Tube(50, 1.0)
    tube.wave(PRESSURE * np.where(tube.place < 0.4, 1.6, 1.0))
    before = tube.filled.state.sum(axis=0)

    tube.run(0.02)

    after = tube.filled.state.sum(axis=0)
    assert after[0] == pytest.approx(before[0], rel=1e-10)
    assert after[2] == pytest.approx(before[2], rel=1e-10)


def test_what_flows_in_brings_its_own_burned_share_and_energy() -> None:
    ends = np.array([volume(1.3e5, 900.0, share=0.8), volume(PRESSURE, TEMPERATURE)])
    tube = Tube(30, 0.5, openings=np.array([0.3 * AREA, AREA]), outside=ends)
    tube.fill(DENSITY, 0.0, PRESSURE)

    tube.run(0.1)

    assert tube.cells_now[:, 3] == pytest.approx(0.8, abs=1e-6)
    assert tube.filled.leaving[1, 2] == pytest.approx(-tube.filled.leaving[0, 2], rel=1e-3)
    assert tube.filled.leaving[0, 2] / tube.filled.leaving[0, 0] == pytest.approx(
        (HEAT + R) * 900.0, rel=1e-9
    )


def test_the_compiled_step_equals_the_interpreted_one() -> None:
    compiled, interpreted = Tube(8, 0.2), Tube(8, 0.2)
    for tube in (compiled, interpreted):
        tube.openings = np.array([0.5 * AREA, AREA])
        tube.outside[0] = volume(1.2e5, 350.0)
        tube.fill(DENSITY, 20.0, PRESSURE)

    for _ in range(5):
        compiled.advance(2e-5)
        interpreted_step(interpreted, 2e-5)

    assert compiled.filled.state == pytest.approx(interpreted.filled.state, rel=1e-9)


def interpreted_step(tube: Tube, step: float) -> None:
    """`kernels.advance` as Python runs it; the ends' root finding stays compiled."""
    kernels.look.py_func(tube.filled, tube.gas)
    kernels.predict.py_func(tube.filled, tube.pipe, step)
    kernels.exchange.py_func(tube.filled, tube.gas)
    for end, face in ((0, 0), (1, tube.cells)):
        kernels.meet.py_func(
            tube.filled,
            end,
            tube.pipe.face_area[face],
            tube.openings[end],
            kernels.Outside(*tube.outside[end]),
            tube.gas,
        )
    kernels.settle.py_func(tube.filled, tube.pipe, step)


@pytest.mark.parametrize("share_of_area", [0.2, 0.6, 0.95])
@pytest.mark.parametrize("pressure", [3e5, 1e6, 3e6])
def test_no_opening_drives_gas_into_a_pipe_faster_than_sound(
    pressure: float, share_of_area: float
) -> None:
    """A converging opening cannot: gas dynamics of any textbook. What enters is then what a
    choked opening passes, 0.6847 p0 / sqrt(R T0) per area (gas tables, gamma 1.4)."""
    ends = np.array([volume(pressure, TEMPERATURE), volume(PRESSURE, TEMPERATURE)])
    openings = np.array([share_of_area * AREA, AREA])
    tube = Tube(6, 0.2, openings=openings, outside=ends)
    tube.fill(DENSITY, 0.0, PRESSURE)

    tube.run(0.01)

    density, velocity, end_pressure, _ = tube.filled.ends[0]
    assert velocity <= (1.0 + 1e-3) * np.sqrt(GAMMA * end_pressure / density)
    choked = 0.6847 * pressure / np.sqrt(R * TEMPERATURE) * share_of_area
    assert -tube.filled.leaving[0, 0] <= choked * (1.0 + 1e-3)
