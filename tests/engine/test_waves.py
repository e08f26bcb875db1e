"""Simple waves; S numbers are rows of the project's table of reference values.

Closed forms for gamma 1.4, computed apart from the code; the worked case is Blair's
(SAE R-186, section 2.1, from memory): a0 343.114 m/s.
"""

import numpy as np
import pytest

from service.engine.waves import (
    stopped_column_pressure_ratio,
    wave_amplitude,
    wave_particle_speed,
    wave_pressure_ratio,
    wave_propagation_speed,
)

A0 = 343.114


@pytest.mark.parametrize(
    ("pressure_ratio", "particle", "propagation"),
    [
        (1.2, 45.271, 397.439),
        (0.8, -53.826, 278.523),
        (1.5, 102.306, 465.882),
        (0.6, -120.735, 198.232),
    ],
)
def test_a_wave_moves_its_gas_and_itself_as_worked(
    pressure_ratio: float, particle: float, propagation: float
) -> None:
    """S6."""
    amplitude = wave_amplitude(pressure_ratio)

    assert wave_particle_speed(amplitude, A0) == pytest.approx(particle, rel=1.5e-5)
    assert wave_propagation_speed(amplitude, A0) == pytest.approx(propagation, rel=1e-5)


def test_amplitudes_of_the_worked_case_are_seventh_roots() -> None:
    """S6."""
    assert wave_amplitude([1.2, 0.8]) == pytest.approx([1.02639, 0.96863], rel=1e-5)


def test_a_closed_end_sends_a_wave_back_on_itself() -> None:
    """S7: (2X - 1)⁷."""
    reflected = wave_pressure_ratio(2 * wave_amplitude([1.2, 0.8, 1.5, 0.6]) - 1)

    assert reflected == pytest.approx([1.43335, 0.63531, 2.20059, 0.34580], abs=1e-5)


@pytest.mark.parametrize(("incident", "reflected"), [(1.2, 0.82928), (1.5, 0.65025)])
def test_an_open_end_turns_a_push_into_a_pull(incident: float, reflected: float) -> None:
    """S8: the reflection's X is 2 - X."""
    assert wave_pressure_ratio(2 - wave_amplitude(incident)) == pytest.approx(reflected, rel=1e-5)


def test_gas_leaves_an_open_end_at_twice_the_wave_s_speed() -> None:
    """S8: both waves push the same way there, 90.541 m/s."""
    incident = wave_amplitude(1.2)
    leftward = wave_particle_speed(2 - incident, A0)

    assert wave_particle_speed(incident, A0) - leftward == pytest.approx(90.541, rel=1e-5)


def test_two_waves_lie_on_each_other_by_their_amplitudes() -> None:
    """S9: 1.2 runs into 0.8."""
    push, pull = wave_amplitude(1.2), wave_amplitude(0.8)

    pressure_ratio = wave_pressure_ratio(push + pull - 1)
    speed = wave_particle_speed(push, A0) - wave_particle_speed(pull, A0)

    assert pressure_ratio == pytest.approx(0.965610, rel=1e-6)
    assert speed == pytest.approx(99.097, rel=1e-5)


@pytest.mark.parametrize(
    ("speed", "shock", "isentropic", "acoustic"),
    [
        (30.0, 1.12781, 1.12783, 1.12134),
        (50.0, 1.22051, 1.22062, 1.20223),
        (80.0, 1.37153, 1.37205, 1.32357),
        (100.0, 1.48059, 1.48171, 1.40446),
    ],
)
def test_a_column_stopped_by_a_valve_rises_as_the_shock_relations_say(
    speed: float, shock: float, isentropic: float, acoustic: float
) -> None:
    """S10: 101325 Pa, 298.15 K, a 346.15 m/s; between the acoustic and the isentropic rise."""
    mach = speed / 346.15

    ram = stopped_column_pressure_ratio(mach)

    assert ram == pytest.approx(shock, abs=1e-4)
    assert wave_pressure_ratio(1 + 0.2 * mach) == pytest.approx(isentropic, abs=1e-4)
    assert 1 + 1.4 * mach == pytest.approx(acoustic, abs=1e-4)
    assert acoustic < ram < isentropic


def test_gas_at_rest_is_no_wave() -> None:
    assert wave_amplitude(1.0) == 1.0
    assert wave_particle_speed(1.0, A0) == 0.0
    assert np.all(stopped_column_pressure_ratio([0.0, 0.0]) == 1.0)
