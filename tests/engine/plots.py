"""`poe plots FOLDER` draws the verification cases: what the solver gives beside what is exact.

The cases are those of the tests (`pipe_cases`, `filling`, `finer_grid`), and so are the
sources of the exact values: rows of the project's table of reference values.
"""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from service.engine.flow import fanno_length, isentropic_mach
from service.engine.waves import (
    stopped_column_pressure_ratio,
    wave_amplitude,
    wave_pressure_ratio,
)
from tests.engine import pipe_cases as cases
from tests.engine.filling import MACH_INDICES, Z6, filling
from tests.engine.finer_grid import SWEEP_RPM
from tests.engine.pipe_cases import Array
from tests.kits.assembled import point_at, stock_engine
from tests.seed import FAMILIES

Floats = NDArray[np.floating[Any]]
SOLVED, EXACT, THIRD = "#0072B2", "#D55E00", "#009E73"
"""Okabe and Ito's palette; marks and dashes tell the series apart without colour."""
SIZE_IN = (7.0, 4.2)
STYLE: Any = {
    "svg.hashsalt": "verification",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "grid.alpha": 0.3,
    "legend.frameon": False,
}


def shock_tube(axes: Axes) -> None:
    """Sod's shock tube on 200 cells: density"""
    tube = cases.shock_tube()
    fine = np.linspace(0.0, 1.0, 2000)
    _exact(axes, fine, exact_sod_density(fine))
    _solved(axes, tube.place, tube.cells_now[:, 0])
    axes.set(xlabel="place, m", ylabel="density, kg/m³")


def exact_sod_density(place: Array) -> Array:
    """S1: four plateaus, and the fan's own closed form between head and tail."""
    left_sound, time = np.sqrt(cases.GAMMA), 0.2
    speed = (place - 0.5) / time
    star_speed, behind, shocked, shock = 0.927453, 0.426319, 0.265574, 1.752156
    fan = (2.0 + 0.4 / left_sound * -speed) / 2.4
    tail = star_speed - np.sqrt(cases.GAMMA * 0.303130 / behind)
    levels = [1.0, np.maximum(fan, 0.0) ** 5.0, behind, shocked, 0.125]
    edges = [speed < -left_sound, speed < tail, speed < star_speed, speed < shock]
    return np.select(edges, levels[:-1], levels[-1])


def order_of_accuracy(axes: Axes) -> None:
    """A smooth wave: error against the number of cells"""
    cells = np.array([100, 200, 400])
    errors = np.array([cases.smooth_wave_error(int(each)) for each in cells])
    axes.loglog(cells, errors, "o-", color=SOLVED, label="solver")
    second = errors[0] * (cells[0] / cells) ** 2.0
    axes.loglog(cells, second, "--", color=EXACT, label="second order")
    axes.set(xlabel="cells in a metre", ylabel="mean error of pressure, Pa")
    axes.legend()


def closed_end(axes: Axes) -> None:
    """A wave meets a wall: highest (lowest) pressure there"""
    incident = np.array([0.6, 0.8, 1.2, 1.5])
    found = []
    for each in incident:
        seen = cases.wave_at_a_wall(float(each))
        found.append(seen[np.argmin(np.abs(seen[:, 0] - 0.0015)), 2] / cases.PRESSURE)
    fine = np.linspace(0.55, 1.55, 100)
    _exact(axes, fine, wave_pressure_ratio(2.0 * wave_amplitude(fine) - 1.0))
    _solved(axes, incident, np.array(found))
    axes.set(xlabel="pressure ratio of the incident wave", ylabel="pressure ratio at the wall")


def open_end(axes: Axes) -> None:
    """A wave of 1.2 meets the open: the pipe afterwards"""
    tube = cases.wave_at_the_open(1.2)
    returned = float(wave_pressure_ratio(2.0 - wave_amplitude(1.2)))
    _exact(axes, np.array([0.0, 2.0]), np.array([returned, returned]))
    _solved(axes, tube.place, tube.cells_now[:, 2] / cases.PRESSURE, every=6)
    axes.set(xlabel="place, m", ylabel="pressure over that at rest")


def closing_valve(axes: Axes) -> None:
    """A valve shuts on a moving column: the ram"""
    speeds = np.array([30.0, 50.0, 80.0, 100.0])
    fine, sound = np.linspace(20.0, 110.0, 100), np.sqrt(cases.GAMMA * cases.R * 298.15)
    acoustic = 1.0 + cases.GAMMA * fine / sound
    _exact(axes, fine, stopped_column_pressure_ratio(fine / sound), label="shock, exact")
    axes.plot(fine, acoustic, ":", color=THIRD, label="acoustics")
    _solved(axes, speeds, np.array([cases.stopped_column(float(each)) for each in speeds]))
    axes.set(xlabel="speed of the column, m/s", ylabel="pressure at the valve over the column's")


def organ_pipe(axes: Axes) -> None:
    """A pipe closed at one end, on 15 cells: its note"""
    lengths = np.array([0.2, 0.3048, 0.4, 0.6])
    fine = np.linspace(0.18, 0.65, 100)
    _exact(axes, fine, cases.SOUND / (4.0 * fine), label="quarter wave")
    found = [cases.frequency(cases.organ_pipe(float(each))) for each in lengths]
    _solved(axes, lengths, np.array(found))
    axes.set(xlabel="length, m", ylabel="frequency, Hz")


def nozzle(axes: Axes) -> None:
    """Steady flow through a taper: Mach number along it"""
    tube = cases.tapered_nozzle()
    _exact(axes, tube.place, isentropic_mach(tube.cells_now[:, 2] / 101325.0), label="isentropic")
    _solved(axes, tube.place, cases.mach_numbers(tube))
    axes.set(xlabel="place, m", ylabel="Mach number")


def fanno(axes: Axes) -> None:
    """Friction along a pipe: what is left of Fanno's length to choking"""
    tube = cases.rough_pipe()
    left = fanno_length(cases.mach_numbers(tube))
    rate = cases.friction_factor(tube) / float(tube.pipe.diameter[0])
    _exact(axes, tube.place, left[0] - rate * (tube.place - tube.place[0]), label="Fanno, Blasius")
    _solved(axes, tube.place, left, every=3)
    axes.set(xlabel="place, m", ylabel="friction length to choking, diameters")


def filling_table(axes: Axes) -> None:
    """Quasi-steady filling, table Z6: lines computed outside, marks marched"""
    for closing, row in Z6.items():
        (line,) = axes.plot(MACH_INDICES, row, "-", label=f"closing {closing}°")
        marched = [filling(mach, closing) for mach in MACH_INDICES]
        axes.plot(MACH_INDICES, marched, "x", color=line.get_color())
    axes.set(xlabel="inlet Mach index", ylabel="volumetric efficiency")
    axes.legend()


def balances(axes: Axes) -> None:
    """Factory kits: what a converged cycle misses of mass and energy"""
    for family, mark in zip(FAMILIES, "os^", strict=True):
        cycles = [point_at(stock_engine(family), speed).cycle for speed in SWEEP_RPM]
        mass = [100.0 * abs(each.mass_imbalance) for each in cycles]
        heat = [100.0 * abs(each.energy_imbalance) for each in cycles]
        axes.plot(SWEEP_RPM, mass, f"{mark}-", color=SOLVED, label=f"{family}: mass")
        axes.plot(SWEEP_RPM, heat, f"{mark}--", color=EXACT, label=f"{family}: of the fuel's heat")
    axes.axhline(0.2, color=SOLVED, linestyle=":")
    axes.axhline(1.0, color=EXACT, linestyle=":")
    axes.text(SWEEP_RPM[0], 0.21, "asked for: mass 0.2 %")
    axes.text(SWEEP_RPM[0], 1.02, "asked for: energy 1 %")
    axes.set(xlabel="rev/min", ylabel="missed, %", ylim=(0.0, 1.2))
    axes.legend(fontsize="small", ncols=2, loc="upper center", bbox_to_anchor=(0.5, 0.8))


PLOTS: dict[str, Callable[[Axes], None]] = {
    "shock-tube": shock_tube,
    "order-of-accuracy": order_of_accuracy,
    "closed-end": closed_end,
    "open-end": open_end,
    "closing-valve": closing_valve,
    "organ-pipe": organ_pipe,
    "nozzle": nozzle,
    "fanno": fanno,
    "filling-table": filling_table,
    "balances": balances,
}


def _solved(axes: Axes, x: Floats, y: Floats, *, every: int = 1) -> None:
    axes.plot(x[::every], y[::every], "o", color=SOLVED, markersize=4, label="solver")
    axes.legend()


def _exact(axes: Axes, x: Floats, y: Floats, *, label: str = "exact") -> None:
    axes.plot(x, y, "-", color=EXACT, label=label)


def draw(name: str) -> Figure:
    plot = PLOTS[name]
    figure = Figure(figsize=SIZE_IN, layout="constrained")
    axes = figure.add_subplot()
    plot(axes)
    axes.set_title(plot.__doc__ or name, loc="left")
    return figure


def main() -> None:
    if len(sys.argv) != 2:
        sys.exit("Name the folder that the plots are written to.")
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    with mpl.rc_context(STYLE):
        for name in PLOTS:
            file = folder / f"{name}.svg"
            draw(name).savefig(file, metadata={"Date": None})
            sys.stdout.write(f"{file}\n")


if __name__ == "__main__":
    main()
