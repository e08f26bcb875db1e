"""Pipes of air between two volumes, and the cases that the gas dynamics is verified by.

Tests compare their outcome with exact solutions, and `poe plots` draws both: each case
stands here once.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from service.engine import kernels
from service.engine.pipes import filled

Array = NDArray[np.float64]
R, GAMMA = 287.05, 1.4
HEAT = R / (GAMMA - 1.0)
AREA = 1e-3
PRESSURE, TEMPERATURE = 1e5, 300.0
DENSITY = PRESSURE / (R * TEMPERATURE)
SOUND = (GAMMA * R * TEMPERATURE) ** 0.5
SOD_PRESSURE = 1e5
SOD_SPEED = SOD_PRESSURE**0.5
"""Units of Sod's tube, in which density on the left is 1."""


def volume(pressure: float, temperature: float, share: float = 0.0) -> list[float]:
    """A volume at rest, as an end of a pipe sees it."""
    density = pressure / (R * temperature)
    return [density, pressure, share, (HEAT + R) * temperature]


@dataclass
class Tube:
    """A straight pipe of air between two volumes."""

    cells: int
    length: float
    viscosity: float = 0.0
    area: Array | float = AREA
    openings: Array = field(default_factory=lambda: np.zeros(2))
    outside: Array = field(default_factory=lambda: np.array([volume(PRESSURE, TEMPERATURE)] * 2))

    def __post_init__(self) -> None:
        faces = np.broadcast_to(np.asarray(self.area, dtype=float), self.cells + 1).copy()
        middle = 0.5 * (faces[1:] + faces[:-1])
        width = self.length / self.cells
        self.gas = kernels.PipeGas(R, R, HEAT, HEAT, 0.0, 0.0, self.viscosity)
        diameters = np.sqrt(4.0 * middle / np.pi)
        self.pipe = kernels.Pipe(width, faces, middle, diameters, 0.0, self.gas)
        self.place = (np.arange(self.cells) + 0.5) * width
        self.time = 0.0

    def fill(
        self, density: Array | float, velocity: Array | float, pressure: Array | float
    ) -> None:
        self.filled = filled(self.pipe, PRESSURE, TEMPERATURE, 0.0)
        rho, u, p = (
            np.broadcast_to(np.asarray(each, dtype=float), self.cells)
            for each in (density, velocity, pressure)
        )
        energy = p / (GAMMA - 1.0) + 0.5 * rho * u**2
        self.filled.state[:] = np.stack([rho, rho * u, energy, 0.0 * rho], axis=1)
        for end, cell in ((0, 0), (1, -1)):
            self.filled.ends[end] = rho[cell], u[cell], p[cell], 0.0

    @property
    def cells_now(self) -> Array:
        """Density, velocity, pressure and burned share of every cell."""
        return self.filled.cells[1:-1]

    def wave(self, pressure: Array) -> None:
        """Fill with a simple wave that runs to the right into air at rest."""
        density = DENSITY * (pressure / PRESSURE) ** (1.0 / GAMMA)
        sound = np.sqrt(GAMMA * pressure / density)
        self.fill(density, 2.0 / (GAMMA - 1.0) * (sound - SOUND), pressure)

    def run(self, until: float, courant: float = 0.8) -> Array:
        """March, and return time and the pressures of both ends and the middle at every step."""
        seen = []
        while self.time < until - 1e-15:
            fastest = kernels.look(self.filled, self.gas)
            step = min(courant * self.pipe.cell_length / fastest, until - self.time)
            self.advance(step)
            self.time += step
            middle = self.cells_now[len(self.place) // 2, 2]
            seen.append((self.time, *self.filled.ends[:, 2], middle))
        kernels.look(self.filled, self.gas)
        return np.array(seen)

    def advance(self, step: float) -> None:
        kernels.advance(
            self.filled,
            self.pipe,
            step,
            self.openings[0],
            kernels.Outside(*self.outside[0]),
            self.openings[1],
            kernels.Outside(*self.outside[1]),
        )


def shock_tube(cells: int = 200) -> Tube:
    """Sod's: a diaphragm in the middle of a metre, 0.2 of its unit of time after it burst."""
    tube = Tube(cells, 1.0)
    left = tube.place < 0.5
    tube.fill(np.where(left, 1.0, 0.125), 0.0, np.where(left, SOD_PRESSURE, 0.1 * SOD_PRESSURE))
    tube.run(0.2 / SOD_SPEED)
    return tube


def smooth_wave(cells: int) -> Array:
    """Pressures of a travelling hump, as means over hundredths of its pipe."""
    tube = Tube(cells, 1.0)
    tube.wave(PRESSURE * (1.0 + 0.01 * np.exp(-(((tube.place - 0.4) / 0.06) ** 2))))
    tube.run(0.25 / SOUND, courant=0.5)
    pressures: Array = tube.cells_now[:, 2].reshape(100, -1).mean(axis=1)
    return pressures


def smooth_wave_error(cells: int) -> float:
    """Mean distance from a grid that is eight times finer than the finest compared."""
    return float(np.abs(smooth_wave(cells) - smooth_wave(1600)).mean())


def wave_at_a_wall(incident: float) -> Array:
    """Time and pressure at both ends while a square wave meets the closed end."""
    tube = Tube(400, 2.0)
    inside = (tube.place > 0.7) & (tube.place < 1.9)
    tube.wave(PRESSURE * np.where(inside, incident, 1.0))
    return tube.run(0.0018)


def wave_at_the_open(incident: float) -> Tube:
    """A square wave after it has met an open end."""
    tube = Tube(400, 2.0, openings=np.array([0.0, AREA]))
    tube.wave(PRESSURE * np.where((tube.place > 0.9) & (tube.place < 1.9), incident, 1.0))
    tube.run(0.0038)
    return tube


def stopped_column(speed: float) -> float:
    """Pressure at a valve that shut on a column of this speed, over that of the column."""
    pressure, temperature = 101325.0, 298.15
    feed = volume(pressure, temperature + speed**2 / (2.0 * (HEAT + R)))
    tube = Tube(200, 1.0, openings=np.array([AREA, 0.0]), outside=np.array([feed, feed]))
    tube.fill(pressure / (R * temperature), speed, pressure)
    seen = tube.run(0.001)
    return float(seen[-1, 2] / pressure)


def organ_pipe(length: float, cells: int = 15, *, is_open: bool = False) -> Array:
    """Time and pressure at both ends of a pipe that sounds, closed at its first end or not."""
    tube = Tube(cells, length, openings=np.array([AREA if is_open else 0.0, AREA]))
    wave = np.sin if is_open else np.cos
    shape = 1.0 + 1e-3 * wave(np.pi * tube.place / (length if is_open else 2.0 * length))
    tube.fill(DENSITY * shape ** (1.0 / GAMMA), 0.0, PRESSURE * shape)
    return tube.run(20.0 * length / SOUND)


def frequency(seen: Array, *, at: int = 1) -> float:
    """Of a place (the first end, or 3: the middle), from the moments at which its pressure rises
    through the mean."""
    swing = seen[:, at] - PRESSURE
    rising = np.flatnonzero((swing[:-1] < 0.0) & (swing[1:] >= 0.0))
    between = swing[rising] / (swing[rising] - swing[rising + 1])
    moments = seen[rising, 0] + between * (seen[rising + 1, 0] - seen[rising, 0])
    return float(1.0 / np.diff(moments).mean())


def tapered_nozzle() -> Tube:
    """Steady flow from rest through a pipe that narrows by a quarter."""
    faces = np.linspace(1.3e-3, 1e-3, 41)
    ends = np.array([volume(101325.0, 300.0), volume(85000.0, 300.0)])
    tube = Tube(40, 0.3, area=faces, openings=faces[[0, -1]], outside=ends)
    tube.fill(DENSITY, 0.0, 9e4)
    tube.run(0.3)
    return tube


def rough_pipe() -> Tube:
    """Steady flow through a pipe long enough for friction to drive it towards the sound's speed."""
    ends = np.array([volume(101325.0, 300.0), volume(80000.0, 300.0)])
    tube = Tube(60, 1.5, viscosity=1.9e-5, openings=np.array([AREA, AREA]), outside=ends)
    tube.fill(DENSITY, 100.0, 9e4)
    tube.run(0.3)
    return tube


def mach_numbers(tube: Tube) -> Array:
    cells = tube.cells_now
    found: Array = cells[:, 1] / np.sqrt(GAMMA * cells[:, 2] / cells[:, 0])
    return found


def friction_factor(tube: Tube) -> float:
    """Darcy's factor of a pipe in steady flow, after Blasius; it is constant along the pipe."""
    reynolds = tube.filled.leaving[1, 0] * float(tube.pipe.diameter[0]) / tube.viscosity
    return float(0.316 / reynolds**0.25)
