"""Compiled loops of the cycle simulation. Arrays and named tuples in, numbers out.

One cylinder is marched through its cycle with what it breathes through:

    atmosphere → plenum → (gallery) → runner → cylinder → primary → collector → atmosphere

Runner and primary are pipes with cells, plenum, gallery and collector are well-mixed
volumes. The other cylinders are copies of it, shifted in phase: what its pipes passed one
shift earlier is what a neighbour's pass now (`neighbours` says how that converges).

*Pipes*: quasi-one-dimensional Euler flow of two gases that mix, fresh and burned. Limited
linear slopes of the primitive variables, a half step of prediction (MUSCL-Hancock),
fluxes by the HLLC approximate Riemann solver (Toro, *Riemann Solvers and Numerical
Methods for Fluid Dynamics*, 3rd ed., 2009, sections 14.4 and 10.4; numbers from memory).
Area change enters as its pressure force, friction and wall heat as sources of the cell.
Each gas has a constant specific heat and its own heat of formation, so that energy that
leaves a cylinder, whose gas is described in more detail, arrives whole: what differs
between the two descriptions is a little temperature, never energy.

*Ends* meet a volume through an opening. The pressure in the opening is where the flow of
a compressible restriction equals what the simple wave running out of the pipe allows
(Blair, *Design and Simulation of Four-Stroke Engines*, SAE R-186, 1999, chapter 2, and
Benson, *The Thermodynamics and Gas Dynamics of Internal-Combustion Engines*, vol. 1,
1982; from memory).

*Volumes* carry mass, internal energy (absolute, with heats of formation) and the mass of
burned gas. Plenum and gallery hold air and burned gas; all else holds charge (air with
its fuel vapour) and burned gas. Fuel joins and leaves at the runner mouth, so combustion
needs no source term: turning charge into burned gas releases the heat.

All stands in one file because numba's cache looks at one: a cached loop would not notice
a change of what it calls elsewhere.
"""

from typing import Any, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]

AIR, CHARGE = range(2)
"""Rows of the fresh gases' tables."""
MASS, ENERGY, BURNED = range(3)
"""Columns of a volume."""
SHARED = 3
PLENUM, GALLERY, COLLECTOR = range(SHARED)
CYLINDER = SHARED
"""Rows of the volumes; the cylinder stands behind those that are shared."""
TEMPERATURE, GAS_CONSTANT, GAMMA, VOLUME_PRESSURE = range(4)
"""Columns of what a volume's state comes to."""

DENSITY, MOMENTUM, CELL_ENERGY, CELL_BURNED = range(4)
"""Columns of a cell's conserved state, each per unit volume."""
VELOCITY, PRESSURE, SHARE, CELL_GAMMA, SOUND = 1, 2, 3, 4, 5
"""Columns of its primitive state; density comes first in both."""

TOTALS = 14
(
    MOUTH_MASS,  # Left the gallery (or plenum) for the runner, fuel not counted.
    THROTTLE_MASS,  # Entered the plenum, all cylinders.
    THROTTLE_ENTHALPY,
    SYSTEM_MASS,  # Left one collector.
    SYSTEM_ENTHALPY,
    WORK,
    PUMPING_WORK,  # Of the exhaust and the intake stroke.
    CYLINDER_HEAT,  # To the walls.
    RUNNER_HEAT,  # From the walls.
    PRIMARY_HEAT,  # To the walls.
    FUEL_MASS,
    FUEL_ENTHALPY,
    INTAKE_MASS,  # Through the intake valve.
    PEAK_PRESSURE,
) = range(TOTALS)
"""What grows along a cycle; of one cylinder unless said otherwise."""

MEMORY = 6
(
    CLOSING_PRESSURE,
    CLOSING_VOLUME,
    CLOSING_TEMPERATURE,
    TRAPPED_MASS,
    TRAPPED_BURNED,
    CHARGE_TO_BURN,
) = range(MEMORY)
"""What the march keeps between steps: the gas when the intake closed, and the charge when
the spark came."""

HISTORY_COLUMNS = 8
"""Mass, enthalpy and burned mass that the mouth drew and that the outlet gave, in kg/s and
W, and the pressures of the volumes they drew from and gave to, in each step of the last
cycle."""
DRAWN, GIVEN, DRAWN_PRESSURE, GIVEN_PRESSURE = 0, 3, 6, 7

# Columns of the trace.
TRACE_COLUMNS = 10
(
    TRACE_PLENUM,
    TRACE_GALLERY,
    TRACE_MOUTH,  # In the runner's mouth, brought to rest.
    TRACE_OUTLET,  # In the primary's end, brought to rest.
    TRACE_COLLECTOR,
    TRACE_COLLECTOR_TEMPERATURE,
    TRACE_THROTTLE_FLOW,
    TRACE_MOUTH_FLOW,
    TRACE_OUTLET_FLOW,
    TRACE_SYSTEM_FLOW,
) = range(TRACE_COLUMNS)

LAMINAR_SPAN = 1e-3
"""Relative pressure difference below which flow between volumes is taken as linear in it,
because the square root's infinite slope at zero would make any explicit march chatter."""
SMALLEST_HASTE = 1e-6
"""Steps over the time in which an opening levels two volumes, below which both ends of an
exponential are the same."""
CHOKING_BEGINS_BELOW = 0.62
"""No gas met here chokes above this ratio; saves a power on most calls."""
NEWTON_LIMIT = 30
SMALLEST_MASS = 1e-12
AIR_GAMMA = 1.4

COURANT = 0.8
"""Share of a cell that a signal may cross in a stride; 1 is the method's limit. [-]"""

CLOSED_BELOW = 1e-9
"""An opening smaller than this is shut. [m²]"""
EVEN_PRESSURES = 1e-7
"""Relative difference across an opening that moves nothing."""
FLOW_TOLERANCE = 1e-3
"""Of an opening's flow before the last of Newton's steps, over density times speed of sound
times its area; that step squares it. Both sides of an end get the same flow, so this is no
error of any balance. [-]"""
END_LIMIT = 40
EDGE = 1e-4
"""Share of its bracket by which a guess keeps off the bracket's ends."""
SMALLEST_PRESSURE = 1.0
SLOWEST_STOP = 0.05
"""Of the speed of sound where a pipe's end would bring the gas to rest, over that nearby."""

# Woschni, SAE 670931 (numbers from memory).
WOSCHNI_FACTOR = 3.26
WOSCHNI_GAS_EXCHANGE = 6.18
WOSCHNI_CLOSED = 2.28
WOSCHNI_COMBUSTION = 3.24e-3
MOTORED_EXPONENT = 1.32
"""Polytropic exponent of the motored pressure in Woschni's velocity term (from memory)."""

BLASIUS_FACTOR = 0.316
"""Friction factor of smooth pipes, 0.316/Re^0.25 (White, Fluid Mechanics, section 6.6;
from memory)."""
PRANDTL_FACTOR = 0.7 ** (-2.0 / 3.0)
"""Reynolds' analogy in Colburn's form: Stanton number f/8 Pr^(-2/3)."""

# A tuple of arrays is handed to a compiled function word by word, and each array is counted
# as held: with either, the calls of a step took longer than its sums. Nothing here makes an
# array, so that none needs counting (`_nrt`), and what is called once or twice in a step
# becomes part of the march (`within`).
COMPILED: dict[str, Any] = {"cache": True, "nogil": True, "error_model": "numpy", "_nrt": False}
exact = njit(**COMPILED)
fast = njit(**COMPILED, fastmath=True)
"""Sums may be taken in another order; nothing in these loops looks for a NaN."""
within = njit(**COMPILED, fastmath=True, inline="always")
"""As `fast`, written out where it is called."""


class Gas(NamedTuple):
    """Working fluid of the volumes as tables over temperature and logarithm of density."""

    temperature_start: float
    temperature_step: float
    fresh_energy: Array
    """Rows: air, charge; columns: temperature."""
    burned_energy: Array
    burned_gas_constant: Array
    air_gas_constant: float
    charge_gas_constant: float
    log_density_start: float
    log_density_step: float
    fuel_air_ratio: float
    fuel_enthalpy: float


class PipeGas(NamedTuple):
    """Two gases of constant specific heat, fresh and burned."""

    fresh_constant: float
    burned_constant: float
    fresh_heat: float
    """At constant volume. [J kg⁻¹ K⁻¹]"""
    burned_heat: float
    fresh_formation: float
    """Internal energy at zero temperature by the straight line of the specific heat."""
    burned_formation: float
    viscosity: float
    """At the pipe's mean temperature; 0 turns friction and wall heat off. [Pa s]"""


class Pipe(NamedTuple):
    """A duct cut into cells of equal length, from its intake side to its exhaust side."""

    cell_length: float
    face_area: Array
    """Of shape (cells + 1,). [m²]"""
    cell_area: Array
    diameter: Array
    wall_temperature: float
    """0: the wall lets no heat through. [K]"""
    gas: PipeGas


class Filled(NamedTuple):
    """What a pipe holds, and room to work in."""

    state: Array
    """Conserved, of shape (cells, 4)."""
    cells: Array
    """Primitive, of shape (cells + 2, 6): one mirrored beyond each end."""
    faces: Array
    """Both faces of each cell half a step on, of shape (cells + 2, 8)."""
    flux: Array
    """Of shape (cells + 1, 4)."""
    ends: Array
    """Primitive state in either end in the last step, of shape (2, 4)."""
    leaving: Array
    """Mass, momentum, energy and burned mass out of either end, per area; shape (2, 4)."""
    left: Array
    """The mean of the same over the last step."""


class Outside(NamedTuple):
    """A volume at rest, as the end of a pipe sees it."""

    density: float
    pressure: float
    share: float
    """Burned."""
    enthalpy: float


class Track(NamedTuple):
    """What depends on crank angle only, at every half step from bottom dead centre."""

    volume: Array
    wall_area: Array
    intake_area: Array
    exhaust_area: Array
    burn_rate: Array


class Chamber(NamedTuple):
    """The cylinder, for heat."""

    bore: float
    displacement: float
    mean_piston_speed: float
    wall_temperature: float
    heat_multiplier: float
    """On Woschni's coefficient; 0 lets no heat through. [-]"""
    combustion_efficiency: float
    """Share of the fresh charge that burns. [-]"""


class Openings(NamedTuple):
    """Effective areas of the restrictions, in m²."""

    throttle: float
    section: float
    """Between plenum and gallery."""
    mouth: float
    outlet: float
    system: float


class Volumes(NamedTuple):
    """What the cylinders share, in m³."""

    plenum: float
    gallery: float
    collector: float


class Events(NamedTuple):
    """Steps at which something happens."""

    intake_closes: int
    burn_starts: int
    exhaust_opens: int


class Plant(NamedTuple):
    """What does not change during a cycle."""

    steps: int
    time_step: float
    cylinders: int
    cylinders_per_collector: int
    has_gallery: bool
    open_air: Array
    """As a volume's props: temperature, gas constant, ratio of specific heats, pressure."""
    volumes: Volumes
    openings: Openings
    chamber: Chamber
    events: Events
    runner_lag: float
    """How long a neighbour's runner answers a pressure by its wave alone. [s]"""
    primary_lag: float


class Contents(NamedTuple):
    """Everything that a cycle changes."""

    volumes: Array
    """Mass, energy and burned mass of the shared volumes and the cylinder, shape (4, 3)."""
    props: Array
    """What that comes to, shape (4, 4)."""
    runner: Filled
    primary: Filled
    history: Array
    """Of shape (steps, HISTORY_COLUMNS)."""
    lag: Array
    """Of the neighbours' runners and primaries, shape (2,). [Pa]"""
    before: Array
    """Density, pressure and enthalpy of the cylinder one step ago, shape (3,)."""
    memory: Array
    totals: Array
    trace: Array


# --- Gas and openings ------------------------------------------------------------------------


@within
def gas_state(
    gas: Gas,
    kind: int,
    mass: float,
    energy: float,
    burned: float,
    volume: float,
    guess: float,
) -> tuple[float, float, float, float]:
    mass = max(mass, SMALLEST_MASS)
    target = energy / mass
    share = min(max(burned / mass, 0.0), 1.0)
    fresh_constant = gas.air_gas_constant if kind == AIR else gas.charge_gas_constant
    place = (np.log(mass / volume) - gas.log_density_start) / gas.log_density_step
    i = min(max(int(place), 0), gas.burned_energy.shape[0] - 2)
    w_rho = min(max(place - i, 0.0), 1.0)
    last = gas.fresh_energy.shape[1] - 2
    position = (guess - gas.temperature_start) / gas.temperature_step
    j, w, slope = 0, 0.0, 1.0
    # Energy is a straight line between two temperatures of the table.
    for _ in range(NEWTON_LIMIT):
        j = min(max(int(position), 0), last)
        below = (1.0 - w_rho) * gas.burned_energy[i, j] + w_rho * gas.burned_energy[i + 1, j]
        above = (1.0 - w_rho) * gas.burned_energy[i, j + 1] + w_rho * gas.burned_energy[
            i + 1, j + 1
        ]
        low = (1.0 - share) * gas.fresh_energy[kind, j] + share * below
        slope = (1.0 - share) * gas.fresh_energy[kind, j + 1] + share * above - low
        w = (target - low) / slope
        position = j + w
        if (w >= 0.0 or j == 0) and (w <= 1.0 or j == last):
            break
    temperature = gas.temperature_start + position * gas.temperature_step
    slope /= gas.temperature_step
    below = (1.0 - w_rho) * gas.burned_gas_constant[i, j] + w_rho * gas.burned_gas_constant[
        i + 1, j
    ]
    above = (1.0 - w_rho) * gas.burned_gas_constant[i, j + 1] + w_rho * gas.burned_gas_constant[
        i + 1, j + 1
    ]
    constant = (1.0 - share) * fresh_constant + share * (below + w * (above - below))
    return temperature, constant, 1.0 + constant / slope, mass / volume * constant * temperature


@within
def fresh_enthalpy(gas: Gas, kind: int, temperature: float) -> float:
    position = (temperature - gas.temperature_start) / gas.temperature_step
    j = min(max(int(position), 0), gas.fresh_energy.shape[1] - 2)
    low, high = gas.fresh_energy[kind, j], gas.fresh_energy[kind, j + 1]
    constant = gas.air_gas_constant if kind == AIR else gas.charge_gas_constant
    return low + (position - j) * (high - low) + constant * temperature  # type: ignore[no-any-return]


@exact
def flow_rate(
    area: float,
    p_up: float,
    t_up: float,
    gas_constant: float,
    gamma: float,
    p_down: float,
) -> float:
    ratio = p_down / p_up
    if ratio >= 1.0 or area <= 0.0:
        return 0.0
    scale = 1.0
    if ratio > 1.0 - LAMINAR_SPAN:
        scale = (1.0 - ratio) / LAMINAR_SPAN
        ratio = 1.0 - LAMINAR_SPAN
    elif ratio < CHOKING_BEGINS_BELOW:
        critical = (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))
        ratio = max(ratio, critical)
    root = ratio ** (1.0 / gamma)
    phi = np.sqrt(2.0 * gamma / (gamma - 1.0) * root * (root - ratio))
    return scale * area * p_up / np.sqrt(gas_constant * t_up) * phi  # type: ignore[no-any-return]


@exact
def woschni(
    pressure: float,
    temperature: float,
    half_step: int,
    memory: Array,
    plant: Plant,
    track: Track,
) -> float:
    open_valve = track.intake_area[half_step] > 0.0 or track.exhaust_area[half_step] > 0.0
    speed = plant.chamber.mean_piston_speed * (
        WOSCHNI_GAS_EXCHANGE if open_valve else WOSCHNI_CLOSED
    )
    if (
        plant.events.burn_starts <= half_step // 2 < plant.events.exhaust_opens
        and memory[CLOSING_PRESSURE] > 0.0
    ):
        ratio = memory[CLOSING_VOLUME] / track.volume[half_step]
        motored = memory[CLOSING_PRESSURE] * ratio**MOTORED_EXPONENT
        scale = (
            plant.chamber.displacement
            * memory[CLOSING_TEMPERATURE]
            / (memory[CLOSING_PRESSURE] * memory[CLOSING_VOLUME])
        )
        speed += max(WOSCHNI_COMBUSTION * scale * (pressure - motored), 0.0)
    pressure_part = (1e-3 * pressure * speed) ** 0.8
    return WOSCHNI_FACTOR * plant.chamber.bore**-0.2 * pressure_part * temperature**-0.55  # type: ignore[no-any-return]


@exact
def signed_flow(area: float, source: Array, sink: Array, difference: float) -> float:
    """Return the flow between two volumes at a difference of their pressures."""
    forward = difference >= 0.0
    up = source if forward else sink
    low = sink[VOLUME_PRESSURE] + min(difference, 0.0)
    rate = flow_rate(
        area,
        sink[VOLUME_PRESSURE] + max(difference, 0.0),
        up[TEMPERATURE],
        up[GAS_CONSTANT],
        up[GAMMA],
        max(low, SMALLEST_PRESSURE),
    )
    return rate if forward else -rate  # type: ignore[no-any-return]


@exact
def settled_flow(
    area: float, source: Array, sink: Array, stiffness: float, surplus: float, time_step: float
) -> float:
    """Return the mean flow between two volumes over a step.

    An opening between small volumes answers faster than the step; taking its flow at the
    start would swing to and fro. `stiffness` is the fall of the pressure difference for
    each kilogram that passes, `surplus` what other flows do to it in the step. With the
    opening's slope held, the flow goes exponentially to the one that keeps the difference.
    """
    difference = source[VOLUME_PRESSURE] - sink[VOLUME_PRESSURE]
    now = signed_flow(area, source, sink, difference)
    probe = max(1e-4 * source[VOLUME_PRESSURE], 1e-2 * abs(difference))
    slope = (signed_flow(area, source, sink, difference + probe) - now) / probe
    haste = slope * stiffness * time_step
    if haste < SMALLEST_HASTE:
        return now + 0.5 * slope * surplus  # type: ignore[no-any-return]
    lasting = surplus / (stiffness * time_step)
    return lasting + (now - lasting) * (1.0 - np.exp(-haste)) / haste  # type: ignore[no-any-return]


# --- A pipe ----------------------------------------------------------------------------------


@within
def mixed(gas: PipeGas, share: float) -> tuple[float, float, float]:
    """Return gas constant, specific heat at constant volume and energy of formation."""
    return (
        gas.fresh_constant + share * (gas.burned_constant - gas.fresh_constant),
        gas.fresh_heat + share * (gas.burned_heat - gas.fresh_heat),
        gas.fresh_formation + share * (gas.burned_formation - gas.fresh_formation),
    )


@within
def limited(behind: float, ahead: float) -> float:
    """Return van Leer's harmonic mean of two slopes, 0 at an extremum."""
    product = behind * ahead
    return 2.0 * product / (behind + ahead) if product > 0.0 else 0.0


@within
def look(filled: Filled, gas: PipeGas) -> float:
    """Work the primitive state out, and return the speed of the fastest signal."""
    state, cells = filled.state, filled.cells
    fastest = 0.0
    for i in range(state.shape[0]):
        rho = state[i, DENSITY]
        inverse = 1.0 / rho
        u = state[i, MOMENTUM] * inverse
        x = min(max(state[i, CELL_BURNED] * inverse, 0.0), 1.0)
        constant, heat, formation = mixed(gas, x)
        ratio = constant / heat
        cold = 0.5 * u * u + formation
        p = max((state[i, CELL_ENERGY] - rho * cold) * ratio, SMALLEST_PRESSURE)
        cells[i + 1, DENSITY] = rho
        cells[i + 1, VELOCITY] = u
        cells[i + 1, PRESSURE] = p
        cells[i + 1, SHARE] = x
        cells[i + 1, CELL_GAMMA] = 1.0 + ratio
        cells[i + 1, SOUND] = np.sqrt((1.0 + ratio) * p * inverse)
        fastest = max(fastest, abs(u) + cells[i + 1, SOUND])
    return fastest


@within
def predict(filled: Filled, pipe: Pipe, time_step: float) -> None:
    """Take both faces of every cell half a step on, along limited slopes."""
    cells, faces, ends = filled.cells, filled.faces, filled.ends
    n = filled.state.shape[0]
    for c in range(4):
        # The end's own state of the last step stands half a cell away.
        cells[0, c] = 2.0 * ends[0, c] - cells[1, c]
        cells[n + 1, c] = 2.0 * ends[1, c] - cells[n, c]
    h = 0.5 * time_step / pipe.cell_length
    for i in range(1, n + 1):
        rho, u, p, x = cells[i, 0], cells[i, 1], cells[i, 2], cells[i, 3]
        s_rho = limited(rho - cells[i - 1, 0], cells[i + 1, 0] - rho)
        s_u = limited(u - cells[i - 1, 1], cells[i + 1, 1] - u)
        s_p = limited(p - cells[i - 1, 2], cells[i + 1, 2] - p)
        s_x = limited(x - cells[i - 1, 3], cells[i + 1, 3] - x)
        taper = (pipe.face_area[i] - pipe.face_area[i - 1]) / pipe.cell_area[i - 1]
        divergence = s_u + u * taper
        rho_h = rho - h * (u * s_rho + rho * divergence)
        u_h = u - h * (u * s_u + s_p / rho)
        p_h = max(p - h * (u * s_p + cells[i, CELL_GAMMA] * p * divergence), SMALLEST_PRESSURE)
        x_h = x - h * u * s_x
        faces[i, 0], faces[i, 4] = rho_h - 0.5 * s_rho, rho_h + 0.5 * s_rho
        faces[i, 1], faces[i, 5] = u_h - 0.5 * s_u, u_h + 0.5 * s_u
        faces[i, 2], faces[i, 6] = p_h - 0.5 * s_p, p_h + 0.5 * s_p
        faces[i, 3], faces[i, 7] = x_h - 0.5 * s_x, x_h + 0.5 * s_x


@within
def exchange(filled: Filled, gas: PipeGas) -> None:
    """Find the fluxes between the cells."""
    cells, faces, flux = filled.cells, filled.faces, filled.flux
    for i in range(1, filled.state.shape[0]):
        rho_l, u_l, p_l, x_l = faces[i, 4], faces[i, 5], faces[i, 6], faces[i, 7]
        rho_r, u_r, p_r, x_r = faces[i + 1, 0], faces[i + 1, 1], faces[i + 1, 2], faces[i + 1, 3]
        # Wave speeds by the pressure of the linearised problem (Toro, section 10.5.2), with
        # the cells' own speeds of sound.
        a_l, a_r = cells[i, SOUND], cells[i + 1, SOUND]
        star = 0.5 * (p_l + p_r) - 0.125 * (u_r - u_l) * (rho_l + rho_r) * (a_l + a_r)
        d_l, d_r = -rho_l * a_l, rho_r * a_r
        if star > p_l:
            g = cells[i, CELL_GAMMA]
            d_l *= np.sqrt(1.0 + 0.5 * (g + 1.0) / g * (star / p_l - 1.0))
        if star > p_r:
            g = cells[i + 1, CELL_GAMMA]
            d_r *= np.sqrt(1.0 + 0.5 * (g + 1.0) / g * (star / p_r - 1.0))
        middle = (p_r - p_l + d_l * u_l - d_r * u_r) / (d_l - d_r)
        if middle >= 0.0:
            rho, u, p, x, d = rho_l, u_l, p_l, x_l, d_l
        else:
            rho, u, p, x, d = rho_r, u_r, p_r, x_r, d_r
        constant, heat, formation = mixed(gas, x)
        energy = rho * (formation + 0.5 * u * u) + p * heat / constant
        mass = rho * u
        momentum = mass * u + p
        power = u * (energy + p)
        signal = u + d / rho
        if signal * middle < 0.0:
            rho_star = d / (signal - middle)
            energy_star = rho_star * (energy / rho + (middle - u) * (middle + p / d))
            mass += signal * (rho_star - rho)
            momentum += signal * (rho_star * middle - rho * u)
            power += signal * (energy_star - energy)
        flux[i, 0], flux[i, 1], flux[i, 2], flux[i, 3] = mass, momentum, power, mass * x


@fast
def outward(
    rho: float,
    u: float,
    p: float,
    gamma: float,
    area: float,
    opening: float,
    p_out: float,
    low: float,
    high: float,
    wave: float,
) -> tuple[float, float, float]:
    """Return velocity, density and pressure in an end that empties through an opening.

    `wave` is the speed of sound in the end over that nearby, sought between `low`, where
    the end has the pressure outside, and `high`, where nothing flows. Pipe and opening
    lie on one isentrope, so their states follow from temperatures: `total` is that of the
    gas brought to rest, over that nearby.
    """
    exponent = 2.0 / (gamma - 1.0)
    sound = np.sqrt(gamma * p / rho)
    steady = sound * exponent
    ratio = p_out / p
    root = ratio ** (1.0 / gamma)
    scale = opening * np.sqrt(gamma * exponent * p * rho)
    power = 0.25 * (gamma + 1.0) * exponent
    choked = opening * np.sqrt(gamma * p * rho) * (2.0 / (gamma + 1.0)) ** power
    chokes = 0.5 * (gamma + 1.0) * ratio / root
    wave = min(max(wave, low + EDGE * (high - low)), high - EDGE * (high - low))
    for _ in range(END_LIMIT):
        speed = u - steady * (wave - 1.0)
        squeeze = wave**exponent
        total = wave * wave + speed * speed / (sound * sound * exponent)
        slope = 2.0 * wave - 2.0 * speed / sound
        if total > chokes:
            passed = choked * total**power
            slope *= passed * power / total
        else:
            room = max(root * total - ratio, 1e-12)
            passed = scale * np.sqrt(root * room)
            slope *= 0.5 * passed * root / room
        excess = rho * squeeze * speed * area - passed
        if excess > 0.0:
            low = wave
        else:
            high = wave
        slope += area * rho * squeeze * (steady - speed * exponent / wave)
        wave = min(max(wave + excess / slope, low), high)
        if abs(excess) < FLOW_TOLERANCE * rho * sound * opening:
            break
        wave = min(max(wave, low + EDGE * (high - low)), high - EDGE * (high - low))
    squeeze = wave**exponent
    return u - steady * (wave - 1.0), rho * squeeze, p * squeeze * wave * wave


@fast
def inward(
    rho: float,
    u: float,
    p: float,
    gamma: float,
    area: float,
    opening: float,
    outside: Outside,
    constant: float,
    heat: float,
    thermal: float,
    low: float,
    high: float,
    wave: float,
) -> tuple[float, float, float]:
    """Return velocity, density and pressure in an end that fills through an opening.

    As `outward`, but the jet's dynamic pressure is lost, and the gas is that of outside
    with its enthalpy `thermal`, which the pipe's velocity is taken from.
    """
    exponent = 2.0 / (gamma - 1.0)
    sound = np.sqrt(gamma * p / rho)
    steady = sound * exponent
    out_gamma = 1.0 + constant / heat
    cp = heat + constant
    critical = (2.0 / (out_gamma + 1.0)) ** (out_gamma / (out_gamma - 1.0))
    scale = opening * np.sqrt(
        2.0 * out_gamma / (out_gamma - 1.0) * outside.pressure * outside.density
    )
    wave = min(max(wave, low + EDGE * (high - low)), high - EDGE * (high - low))
    for _ in range(END_LIMIT):
        speed = u - steady * (wave - 1.0)
        pressure = p * wave**exponent * wave * wave
        warm = max(thermal - 0.5 * speed * speed, 0.05 * thermal)
        density = pressure * cp / (constant * warm)
        ratio = max(pressure / outside.pressure, critical)
        root = ratio ** (1.0 / out_gamma)
        room = max(root - ratio, 1e-12)
        passed = scale * np.sqrt(root * room)
        rise = gamma * exponent / wave
        slope = 0.0
        if ratio > critical:
            slope = root * 2.0 / out_gamma - ratio * (1.0 + 1.0 / out_gamma)
            slope *= -0.5 * passed * rise / room
        excess = density * speed * area + passed
        if excess > 0.0:
            low = wave
        else:
            high = wave
        slope += area * density * (steady - speed * (rise - speed * steady / warm))
        wave = min(max(wave + excess / slope, low), high)
        if abs(excess) < FLOW_TOLERANCE * rho * sound * opening:
            break
        wave = min(max(wave, low + EDGE * (high - low)), high - EDGE * (high - low))
    speed = u - steady * (wave - 1.0)
    pressure = p * wave**exponent * wave * wave
    density = pressure * cp / (constant * max(thermal - 0.5 * speed * speed, 0.05 * thermal))
    sonic = np.sqrt(2.0 * thermal * (out_gamma - 1.0) / (out_gamma + 1.0))
    if speed < -sonic:
        # The pipe chokes as the opening does: nothing inside reaches its end.
        root = critical ** (1.0 / out_gamma)
        speed = -sonic
        density = scale * np.sqrt(root * (root - critical)) / (area * sonic)
        pressure = density * constant * (thermal - 0.5 * sonic * sonic) / cp
    return speed, density, pressure


@within
def meet(
    filled: Filled, end: int, area: float, opening: float, outside: Outside, gas: PipeGas
) -> None:
    """Find what passes between an end and the volume outside it."""
    faces, ends, leaving = filled.faces, filled.ends, filled.leaving
    row, place, sign = 1, 0, -1.0
    if end == 1:
        row, place, sign = filled.state.shape[0], 4, 1.0
    rho, u, p, share = (
        faces[row, place],
        sign * faces[row, place + 1],
        faces[row, place + 2],
        faces[row, place + 3],
    )
    constant, heat, cold = mixed(gas, share)
    gamma = 1.0 + constant / heat
    exponent = 2.0 / (gamma - 1.0)
    sound = np.sqrt(gamma * p / rho)
    steady = sound * exponent
    stop = max(1.0 + u / steady, SLOWEST_STOP)
    squeeze = stop**exponent
    p_stop, p_out = p * squeeze * stop * stop, outside.pressure
    opening = min(opening, area)
    last = sign * ends[end, VELOCITY]
    ends[end, DENSITY], ends[end, VELOCITY] = rho * squeeze, 0.0
    ends[end, PRESSURE], ends[end, SHARE] = p_stop, share
    leaving[end, 0] = leaving[end, 2] = leaving[end, 3] = 0.0
    leaving[end, 1] = p_stop
    if opening < CLOSED_BELOW or abs(p_stop - p_out) < EVEN_PRESSURES * p_out:
        return
    # The first guess is the last answer; after a turn, a weak wave and an incompressible jet.
    free = (p_out / p) ** (1.0 / (gamma * exponent))
    contraction = (area / opening) ** 2
    if p_stop > p_out:
        if last <= 0.0:
            surplus = 2.0 * (p_stop - p_out) / rho
            last = surplus / (sound + np.sqrt(sound * sound + (contraction - 1.0) * surplus))
        wave = 1.0 + (u - last) / steady
        u, rho, p = outward(rho, u, p, gamma, area, opening, p_out, free, stop, wave)
        enthalpy = cold + (heat + constant) * p / (rho * constant) + 0.5 * u * u
    else:
        if last >= 0.0:
            firm = rho * sound
            surplus = 2.0 * (p_out - p_stop)
            jet = contraction * outside.density * surplus
            last = -surplus / (firm + np.sqrt(firm * firm + jet))
        wave = 1.0 + (u - last) / steady
        share, enthalpy = outside.share, outside.enthalpy
        constant, heat, cold = mixed(gas, share)
        thermal = enthalpy - cold
        u, rho, p = inward(
            rho, u, p, gamma, area, opening, outside, constant, heat, thermal, stop, free, wave
        )
    mass = rho * u
    ends[end, DENSITY], ends[end, VELOCITY] = rho, sign * u
    ends[end, PRESSURE], ends[end, SHARE] = p, share
    leaving[end, 0], leaving[end, 1] = mass, mass * u + p
    leaving[end, 2], leaving[end, 3] = mass * enthalpy, mass * share


@within
def settle(filled: Filled, pipe: Pipe, time_step: float) -> float:
    """Add up what crossed the faces, with friction and heat; return the heat, in W."""
    state, cells, flux, leaving = filled.state, filled.cells, filled.flux, filled.leaving
    gas = pipe.gas
    n = state.shape[0]
    flux[0, 0], flux[0, 1] = -leaving[0, 0], leaving[0, 1]
    flux[0, 2], flux[0, 3] = -leaving[0, 2], -leaving[0, 3]
    for c in range(4):
        flux[n, c] = leaving[1, c]
    warmed = 0.0
    for i in range(n):
        behind, ahead = pipe.face_area[i], pipe.face_area[i + 1]
        volume = pipe.cell_length * pipe.cell_area[i]
        scale = time_step / volume
        rho, u, p, x = cells[i + 1, 0], abs(cells[i + 1, 1]), cells[i + 1, 2], cells[i + 1, 3]
        state[i, 0] -= scale * (flux[i + 1, 0] * ahead - flux[i, 0] * behind)
        state[i, 1] -= scale * (flux[i + 1, 1] * ahead - flux[i, 1] * behind - p * (ahead - behind))
        state[i, 2] -= scale * (flux[i + 1, 2] * ahead - flux[i, 2] * behind)
        state[i, 3] -= scale * (flux[i + 1, 3] * ahead - flux[i, 3] * behind)
        if gas.viscosity <= 0.0:
            continue
        reynolds = max(rho * u * pipe.diameter[i] / gas.viscosity, 1.0)
        factor = BLASIUS_FACTOR / np.sqrt(np.sqrt(reynolds))
        # Implicit in the speed, so that friction never turns the flow round.
        state[i, 1] /= 1.0 + 0.5 * time_step * factor * u / pipe.diameter[i]
        if pipe.wall_temperature <= 0.0:
            continue
        constant, heat, _ = mixed(gas, x)
        conductance = factor / 8.0 * PRANDTL_FACTOR * rho * u * (heat + constant)
        warming = conductance * (pipe.wall_temperature - p / (rho * constant))
        warming *= 4.0 / pipe.diameter[i]
        state[i, 2] += time_step * warming
        warmed += warming * volume
    return warmed


@within
def advance(
    filled: Filled,
    pipe: Pipe,
    time_step: float,
    first_opening: float,
    first: Outside,
    last_opening: float,
    last: Outside,
) -> float:
    """Advance a pipe by one step; return the heat from its wall, in W.

    A step is walked in strides that no signal outruns; what is outside stays as it is.
    """
    warmed, ahead = 0.0, time_step
    filled.left[:] = 0.0
    while ahead > 0.0:
        fastest = look(filled, pipe.gas)
        strides = np.ceil(ahead * fastest / (COURANT * pipe.cell_length))
        stride = ahead / strides
        predict(filled, pipe, stride)
        exchange(filled, pipe.gas)
        meet(filled, 0, float(pipe.face_area[0]), first_opening, first, pipe.gas)
        meet(filled, 1, float(pipe.face_area[-1]), last_opening, last, pipe.gas)
        share = stride / time_step
        warmed += share * settle(filled, pipe, stride)
        for end in range(2):
            for c in range(4):
                filled.left[end, c] += share * filled.leaving[end, c]
        if strides <= 1.0:
            break
        ahead -= stride
    return warmed


# --- The engine ------------------------------------------------------------------------------


@within
def look_around(contents: Contents, plant: Plant, gas: Gas, cylinder_volume: float) -> None:
    """Work temperature and pressure of every volume out."""
    volumes, props = contents.volumes, contents.props
    sizes = (
        plant.volumes.plenum,
        plant.volumes.gallery,
        plant.volumes.collector,
        cylinder_volume,
    )
    for k in range(SHARED + 1):
        if k == GALLERY and not plant.has_gallery:
            continue
        t, r, g, p = gas_state(
            gas,
            AIR if k in (PLENUM, GALLERY) else CHARGE,
            volumes[k, MASS],
            volumes[k, ENERGY],
            volumes[k, BURNED],
            sizes[k],
            props[k, TEMPERATURE],
        )
        props[k, 0], props[k, 1], props[k, 2], props[k, 3] = t, r, g, p


@within
def burned_share(contents: Contents, k: int) -> float:
    return min(max(contents.volumes[k, BURNED] / contents.volumes[k, MASS], 0.0), 1.0)  # type: ignore[no-any-return]


@within
def enthalpy_of(contents: Contents, k: int) -> float:
    """Return it from the stored energy: nothing is lost between table and ledger."""
    props = contents.props
    specific = contents.volumes[k, ENERGY] / contents.volumes[k, MASS]
    return specific + props[k, GAS_CONSTANT] * props[k, TEMPERATURE]  # type: ignore[no-any-return]


@within
def stiffness_of(contents: Contents, k: int, size: float) -> float:
    """Return how fast the pressure of a volume rises with its mass, in Pa/kg."""
    props = contents.props
    return props[k, GAMMA] * props[k, GAS_CONSTANT] * props[k, TEMPERATURE] / size  # type: ignore[no-any-return]


@within
def outside_of(contents: Contents, k: int, size: float) -> Outside:
    """Return a shared volume as pipes see it."""
    return Outside(
        contents.volumes[k, MASS] / size,
        contents.props[k, VOLUME_PRESSURE],
        burned_share(contents, k),
        enthalpy_of(contents, k),
    )


@within
def halfway(contents: Contents, cylinder_volume: float) -> Outside:
    """Return the cylinder as its pipes see it halfway through the step."""
    now, before = outside_of(contents, CYLINDER, cylinder_volume), contents.before
    if before[0] == 0.0:
        before[0], before[1], before[2] = now.density, now.pressure, now.enthalpy
    seen = Outside(
        1.5 * now.density - 0.5 * before[0],
        1.5 * now.pressure - 0.5 * before[1],
        now.share,
        1.5 * now.enthalpy - 0.5 * before[2],
    )
    before[0], before[1], before[2] = now.density, now.pressure, now.enthalpy
    return seen


@within
def as_charge(air: Outside, gas: Gas, pipe_gas: PipeGas) -> Outside:
    """Return the feeding volume as a runner sees it: its air takes fuel up as it enters."""
    fuel = gas.fuel_air_ratio * (1.0 - air.share)
    enthalpy = (air.enthalpy + fuel * gas.fuel_enthalpy) / (1.0 + fuel)
    share = air.share / (1.0 + fuel)
    constant, heat, cold = mixed(pipe_gas, share)
    temperature = (enthalpy - cold) / (heat + constant)
    return Outside(air.pressure / (constant * temperature), air.pressure, share, enthalpy)


@within
def work_cylinder(
    contents: Contents, plant: Plant, gas: Gas, track: Track, step: int, seat: float, port: float
) -> None:
    """Give the cylinder what passed its valves, and take work and heat from it.

    `seat` and `port` are the areas of runner and primary at their valves. Work is the
    mean of the pressures before and after; the second is found without it.
    """
    totals, memory = contents.totals, contents.memory
    cylinder, props = contents.volumes[CYLINDER], contents.props[CYLINDER]
    arriving, departing = contents.runner.left[1], contents.primary.left[0]
    dt, middle = plant.time_step, 2 * step + 1
    pressure, temperature = props[VOLUME_PRESSURE], props[TEMPERATURE]
    coefficient = plant.chamber.heat_multiplier * woschni(
        pressure, temperature, 2 * step, memory, plant, track
    )
    heat = coefficient * track.wall_area[middle] * (temperature - plant.chamber.wall_temperature)
    change = track.volume[2 * step + 2] - track.volume[2 * step]
    burn = memory[CHARGE_TO_BURN] * track.burn_rate[middle]
    cylinder[MASS] += dt * (arriving[0] * seat + departing[0] * port)
    cylinder[BURNED] += dt * (arriving[3] * seat + departing[3] * port + burn)
    energy = cylinder[ENERGY] + dt * (arriving[2] * seat + departing[2] * port - heat)
    _, _, _, then = gas_state(
        gas,
        CHARGE,
        cylinder[MASS],
        energy - pressure * change,
        cylinder[BURNED],
        track.volume[2 * step + 2],
        temperature,
    )
    done = 0.5 * (pressure + then) * change
    cylinder[ENERGY] = energy - done
    totals[WORK] += done
    if 2 * step >= plant.steps:
        totals[PUMPING_WORK] += done
    totals[CYLINDER_HEAT] += dt * heat
    totals[INTAKE_MASS] += dt * arriving[0] * seat
    totals[PEAK_PRESSURE] = max(totals[PEAK_PRESSURE], pressure)


@within
def draw(
    contents: Contents, gas: Gas, pipe_gas: PipeGas, area: float
) -> tuple[float, float, float, float, float]:
    """Return what the mouth took from the feeding volume: mass, enthalpy, burned; and fuel.

    Fuel joins the air that enters the runner and stays behind when it returns.
    """
    left = contents.runner.left[0]
    mass, enthalpy, burned = -left[0] * area, -left[2] * area, -left[3] * area
    f = gas.fuel_air_ratio
    fresh = mass - burned
    air = fresh / (1.0 + f)
    fuel_enthalpy = f * air * gas.fuel_enthalpy
    if mass < 0.0:
        cell = contents.runner.cells[1]
        constant, _, _ = mixed(pipe_gas, cell[SHARE])
        t = cell[PRESSURE] / (cell[DENSITY] * constant)
        fuel_enthalpy = fresh * fresh_enthalpy(gas, CHARGE, t) - air * fresh_enthalpy(gas, AIR, t)
    return air + burned, enthalpy - fuel_enthalpy, burned, f * air, fuel_enthalpy


@within
def neighbours(
    contents: Contents,
    plant: Plant,
    step: int,
    first: int,
    count: int,
    shared: int,
    pressure: float,
    area: float,
) -> tuple[float, float, float]:
    """Return mass, enthalpy and burned mass that the neighbours' pipes pass now.

    They pass what this cylinder's pipe passed some steps ago, but for what a pipe answers
    at once to a pressure other than the one it met then: the wave that runs into it
    carries A/a of mass for each pascal. At convergence the pressures are the same and the
    answer is nothing, so it alters no result; without it the march swings ever wider where
    the neighbours' pipes hold more gas than the volume they share. An answer to a lasting
    difference dies out with `runner_lag` or `primary_lag`, as it does in a real pipe once
    the wave has come back.
    """
    history, props = contents.history, contents.props
    inlet = first == DRAWN
    column = DRAWN_PRESSURE if inlet else GIVEN_PRESSURE
    shift = plant.steps // count
    mass, enthalpy, burned, apart = 0.0, 0.0, 0.0, 0.0
    for i in range(1, count):
        row = step - i * shift
        if row < 0:
            row += plant.steps
        mass += history[row, first]
        enthalpy += history[row, first + 1]
        burned += history[row, first + 2]
        apart += pressure - history[row, column]
    place, lag = (0, plant.runner_lag) if inlet else (1, plant.primary_lag)
    sound = np.sqrt(props[shared, GAMMA] * props[shared, GAS_CONSTANT] * props[shared, TEMPERATURE])
    answer = area / sound * (apart - contents.lag[place])
    if not inlet:
        answer = -answer
    contents.lag[place] += plant.time_step / lag * (apart - contents.lag[place])
    return (
        mass + answer,
        enthalpy + answer * enthalpy_of(contents, shared),
        burned + answer * burned_share(contents, shared),
    )


@within
def fill(contents: Contents, k: int, time_step: float, rates: tuple[float, float, float]) -> None:
    for c in range(3):
        contents.volumes[k, c] += time_step * rates[c]


@within
def carried(contents: Contents, source: int, rate: float) -> tuple[float, float, float]:
    """Return mass, enthalpy and burned mass that a flow takes from a volume."""
    return rate, rate * enthalpy_of(contents, source), rate * burned_share(contents, source)


@within
def at_rest(end: Array) -> float:
    """Return the pressure of a pipe's end brought to rest, as if incompressible."""
    return end[PRESSURE] + 0.5 * end[DENSITY] * end[VELOCITY] ** 2  # type: ignore[no-any-return]


@fast
def march(
    contents: Contents,
    plant: Plant,
    gas: Gas,
    track: Track,
    runner: Pipe,
    primary: Pipe,
    weight: float,
) -> None:
    """March one cycle; `weight` is the share of it that replaces the history."""
    volumes, props, totals = contents.volumes, contents.props, contents.totals
    memory, history, trace = contents.memory, contents.history, contents.trace
    dt, sizes, openings = plant.time_step, plant.volumes, plant.openings
    feeder = GALLERY if plant.has_gallery else PLENUM
    mouth, seat = runner.face_area[0], runner.face_area[-1]
    port, outlet = primary.face_area[0], primary.face_area[-1]
    air_enthalpy = fresh_enthalpy(gas, AIR, plant.open_air[TEMPERATURE])
    for step in range(plant.steps):
        volume = track.volume[2 * step]
        look_around(contents, plant, gas, volume)
        if step == plant.events.burn_starts:
            fresh = volumes[CYLINDER, MASS] - volumes[CYLINDER, BURNED]
            memory[CHARGE_TO_BURN] = plant.chamber.combustion_efficiency * fresh
        if step == plant.events.intake_closes:
            memory[CLOSING_PRESSURE] = props[CYLINDER, VOLUME_PRESSURE]
            memory[CLOSING_VOLUME] = volume
            memory[CLOSING_TEMPERATURE] = props[CYLINDER, TEMPERATURE]
            memory[TRAPPED_MASS] = volumes[CYLINDER, MASS]
            memory[TRAPPED_BURNED] = volumes[CYLINDER, BURNED]

        size = sizes.gallery if plant.has_gallery else sizes.plenum
        feed = as_charge(outside_of(contents, feeder, size), gas, runner.gas)
        chamber = halfway(contents, volume)
        join = outside_of(contents, COLLECTOR, sizes.collector)
        warmed = advance(
            contents.runner,
            runner,
            dt,
            openings.mouth,
            feed,
            track.intake_area[2 * step + 1],
            chamber,
        )
        cooled = advance(
            contents.primary,
            primary,
            dt,
            track.exhaust_area[2 * step + 1],
            chamber,
            openings.outlet,
            join,
        )
        work_cylinder(contents, plant, gas, track, step, seat, port)
        drawn, drawn_enthalpy, drawn_burned, fuel, fuel_enthalpy = draw(
            contents, gas, runner.gas, mouth
        )
        given, given_enthalpy, given_burned = (
            contents.primary.left[1, 0] * outlet,
            contents.primary.left[1, 2] * outlet,
            contents.primary.left[1, 3] * outlet,
        )
        others = neighbours(
            contents, plant, step, DRAWN, plant.cylinders, feeder, feed.pressure, mouth
        )
        taken = (drawn + others[0], drawn_enthalpy + others[1], drawn_burned + others[2])
        others = neighbours(
            contents,
            plant,
            step,
            GIVEN,
            plant.cylinders_per_collector,
            COLLECTOR,
            join.pressure,
            outlet,
        )
        received = (given + others[0], given_enthalpy + others[1], given_burned + others[2])
        own = (drawn, drawn_enthalpy, drawn_burned, given, given_enthalpy, given_burned)
        for c in range(6):
            history[step, c] += weight * (own[c] - history[step, c])
        history[step, DRAWN_PRESSURE] += weight * (feed.pressure - history[step, DRAWN_PRESSURE])
        history[step, GIVEN_PRESSURE] += weight * (join.pressure - history[step, GIVEN_PRESSURE])

        # The shared volumes, from the cylinders outwards.
        plenum_stiffness = stiffness_of(contents, PLENUM, sizes.plenum)
        if plant.has_gallery:
            stiffness = stiffness_of(contents, GALLERY, sizes.gallery)
            rate = settled_flow(
                openings.section,
                props[PLENUM],
                props[GALLERY],
                stiffness + plenum_stiffness,
                (stiffness * taken[0] + plenum_stiffness * trace[step - 1, TRACE_THROTTLE_FLOW])
                * dt,
                dt,
            )
            through = carried(contents, PLENUM if rate >= 0.0 else GALLERY, rate)
            fill(contents, GALLERY, dt, through)
            fill(contents, GALLERY, -dt, taken)
            taken = through
        throttle = settled_flow(
            openings.throttle,
            plant.open_air,
            props[PLENUM],
            plenum_stiffness,
            plenum_stiffness * taken[0] * dt,
            dt,
        )
        # What is blown back out is lost; the next gulp is clean air.
        entering = (throttle, throttle * air_enthalpy, 0.0)
        if throttle < 0.0:
            entering = carried(contents, PLENUM, throttle)
        stiffness = stiffness_of(contents, COLLECTOR, sizes.collector)
        system = settled_flow(
            openings.system,
            props[COLLECTOR],
            plant.open_air,
            stiffness,
            stiffness * received[0] * dt,
            dt,
        )
        # A system that sucks back brings in what it pushed out.
        leaving = carried(contents, COLLECTOR, system)
        fill(contents, PLENUM, dt, entering)
        fill(contents, PLENUM, -dt, taken)
        fill(contents, COLLECTOR, dt, received)
        fill(contents, COLLECTOR, -dt, leaving)

        totals[MOUTH_MASS] += dt * drawn
        totals[THROTTLE_MASS] += dt * entering[0]
        totals[THROTTLE_ENTHALPY] += dt * entering[1]
        totals[SYSTEM_MASS] += dt * leaving[0]
        totals[SYSTEM_ENTHALPY] += dt * leaving[1]
        totals[RUNNER_HEAT] += dt * warmed
        totals[PRIMARY_HEAT] -= dt * cooled
        totals[FUEL_MASS] += dt * fuel
        totals[FUEL_ENTHALPY] += dt * fuel_enthalpy
        trace[step, TRACE_PLENUM] = props[PLENUM, VOLUME_PRESSURE]
        trace[step, TRACE_GALLERY] = props[feeder, VOLUME_PRESSURE]
        trace[step, TRACE_MOUTH] = at_rest(contents.runner.ends[0])
        trace[step, TRACE_OUTLET] = at_rest(contents.primary.ends[1])
        trace[step, TRACE_COLLECTOR] = props[COLLECTOR, VOLUME_PRESSURE]
        trace[step, TRACE_COLLECTOR_TEMPERATURE] = props[COLLECTOR, TEMPERATURE]
        trace[step, TRACE_THROTTLE_FLOW] = throttle
        trace[step, TRACE_MOUTH_FLOW] = drawn
        trace[step, TRACE_OUTLET_FLOW] = given
        trace[step, TRACE_SYSTEM_FLOW] = system
