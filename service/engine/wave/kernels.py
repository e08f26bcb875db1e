"""Compiled gas dynamics of one pipe: quasi-one-dimensional Euler flow of a gas mixture.

Second-order finite volumes: limited linear slopes of the primitive variables, a half
step of prediction (MUSCL-Hancock), fluxes by the HLLC approximate Riemann solver (Toro,
*Riemann Solvers and Numerical Methods for Fluid Dynamics*, 3rd ed., 2009, sections 14.4
and 10.4; numbers from memory). Area change enters as its pressure force, friction and
wall heat as sources of the cell.

A pipe holds two gases that mix, fresh and burned. Each has a constant specific heat and
its own heat of formation, so that energy leaving a cylinder, whose gas is described in
more detail, arrives whole: what differs between the two descriptions is a little
temperature, never energy.

An end meets a volume through an opening. The pressure in the opening is where the flow
of a compressible restriction equals what the simple wave running out of the pipe allows
(Blair, *Design and Simulation of Four-Stroke Engines*, SAE R-186, 1999, chapter 2, and
Benson, *The Thermodynamics and Gas Dynamics of Internal-Combustion Engines*, vol. 1,
1982; from memory).
"""

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]

DENSITY, MOMENTUM, ENERGY, BURNED = range(4)
"""Columns of the conserved state, each per unit volume."""
VELOCITY, PRESSURE, SHARE = 1, 2, 3
"""Columns of the primitive state; density comes first in both."""

CLOSED_BELOW = 1e-9
"""An opening smaller than this is shut. [m²]"""
PRESSURE_TOLERANCE = 1e-7
WAVE_TOLERANCE = 1e-12
FLOW_TOLERANCE = 1e-7
"""Of an opening's flow, over density times speed of sound times area. [-]"""
NEWTON_LIMIT = 60
SMALLEST_PRESSURE = 1.0
CHOKING_BEGINS_BELOW = 0.62
"""No gas met here chokes above this ratio; saves a power on most calls."""
ENTHALPY = 4
"""Place of the specific enthalpy in the state of a volume."""
PRANDTL_FACTOR = 0.7 ** (-2.0 / 3.0)

BLASIUS_FACTOR = 0.316
"""Friction factor of smooth pipes, 0.316/Re^0.25 (White, Fluid Mechanics, section 6.6;
from memory)."""


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
    """A duct cut into cells of equal length."""

    cell_length: float
    face_area: Array
    """Of shape (cells + 1,). [m²]"""
    cell_area: Array
    diameter: Array
    wall_temperature: float
    """0: the wall lets no heat through. [K]"""


@njit(cache=True, nogil=True)
def gas_constant(gas: PipeGas, share: float) -> float:
    return gas.fresh_constant + share * (gas.burned_constant - gas.fresh_constant)


@njit(cache=True, nogil=True)
def specific_heat(gas: PipeGas, share: float) -> float:
    return gas.fresh_heat + share * (gas.burned_heat - gas.fresh_heat)


@njit(cache=True, nogil=True)
def formation(gas: PipeGas, share: float) -> float:
    return gas.fresh_formation + share * (gas.burned_formation - gas.fresh_formation)


@njit(cache=True, nogil=True)
def primitives(state: Array, gas: PipeGas, out: Array) -> None:
    for i in range(state.shape[0]):
        density = state[i, DENSITY]
        velocity = state[i, MOMENTUM] / density
        share = min(max(state[i, BURNED] / density, 0.0), 1.0)
        thermal = state[i, ENERGY] / density - 0.5 * velocity * velocity - formation(gas, share)
        ratio = gas_constant(gas, share) / specific_heat(gas, share)
        out[i, DENSITY] = density
        out[i, VELOCITY] = velocity
        out[i, PRESSURE] = max(density * thermal * ratio, SMALLEST_PRESSURE)
        out[i, SHARE] = share


@njit(cache=True, nogil=True)
def gamma_of(share: float, gas: PipeGas) -> float:
    return 1.0 + gas_constant(gas, share) / specific_heat(gas, share)


@njit(cache=True, nogil=True)
def limited(behind: float, ahead: float) -> float:
    """Return van Leer's harmonic mean of two slopes, 0 at an extremum."""
    product = behind * ahead
    if product <= 0.0:
        return 0.0
    return 2.0 * product / (behind + ahead)


@njit(cache=True, nogil=True)
def hllc(
    rho_l: float,
    u_l: float,
    p_l: float,
    g_l: float,
    e_l: float,
    rho_r: float,
    u_r: float,
    p_r: float,
    g_r: float,
    e_r: float,
) -> tuple[float, float, float]:
    """Return the fluxes of mass, momentum and energy between two states.

    Of each: density, velocity, pressure, ratio of heats, energy of formation per mass.
    """
    a_l = np.sqrt(g_l * p_l / rho_l)
    a_r = np.sqrt(g_r * p_r / rho_r)
    # Wave speeds by the pressure of the linearised problem (Toro, section 10.5.2).
    p_star = 0.5 * (p_l + p_r) - 0.125 * (u_r - u_l) * (rho_l + rho_r) * (a_l + a_r)
    s_l, s_r = u_l - a_l, u_r + a_r
    if p_star > p_l:
        s_l = u_l - a_l * np.sqrt(1.0 + 0.5 * (g_l + 1.0) / g_l * (p_star / p_l - 1.0))
    if p_star > p_r:
        s_r = u_r + a_r * np.sqrt(1.0 + 0.5 * (g_r + 1.0) / g_r * (p_star / p_r - 1.0))
    d_l, d_r = rho_l * (s_l - u_l), rho_r * (s_r - u_r)
    s_m = (p_r - p_l + d_l * u_l - d_r * u_r) / (d_l - d_r)
    if s_m >= 0.0:
        rho, u, p, s, d = rho_l, u_l, p_l, s_l, d_l
        outside = s_l >= 0.0
        energy = rho * (e_l + 0.5 * u * u) + p / (g_l - 1.0)
    else:
        rho, u, p, s, d = rho_r, u_r, p_r, s_r, d_r
        outside = s_r <= 0.0
        energy = rho * (e_r + 0.5 * u * u) + p / (g_r - 1.0)
    mass = rho * u
    momentum = mass * u + p
    heat = u * (energy + p)
    if not outside:
        rho_star = d / (s - s_m)
        energy_star = rho_star * (energy / rho + (s_m - u) * (s_m + p / d))
        mass += s * (rho_star - rho)
        momentum += s * (rho_star * s_m - rho * u)
        heat += s * (energy_star - energy)
    return mass, momentum, heat


@njit(cache=True, nogil=True)
def restriction_flow(
    area: float, p_up: float, density_up: float, gamma: float, p_down: float
) -> float:
    """Return the mass flow from rest at `p_up` through an effective area to `p_down`."""
    ratio = p_down / p_up
    if ratio >= 1.0:
        return 0.0
    if ratio < CHOKING_BEGINS_BELOW:
        ratio = max(ratio, (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0)))
    root = ratio ** (1.0 / gamma)
    phi = np.sqrt(2.0 * gamma / (gamma - 1.0) * root * (root - ratio))
    return area * np.sqrt(p_up * density_up) * phi  # type: ignore[no-any-return]


@njit(cache=True, nogil=True)
def excess(
    wave: float,
    near: Array,
    sound: float,
    gamma: float,
    area: float,
    opening: float,
    leaves: bool,
    outside: Array,
    constant: float,
    cp: float,
    thermal: float,
) -> tuple[float, float, float, float]:
    """Return what the wave brings less what the opening passes, and the state at the end.

    `wave` is the speed of sound at the end over that nearby; velocity is positive towards
    the opening; then follow velocity, density and pressure.
    """
    velocity = near[VELOCITY] - 2.0 * sound / (gamma - 1.0) * (wave - 1.0)
    squeeze = wave ** (2.0 / (gamma - 1.0))
    pressure = near[PRESSURE] * squeeze * wave * wave
    if leaves:
        density = near[DENSITY] * squeeze
        mach = max(velocity, 0.0) / (sound * wave)
        rise = 1.0 + 0.5 * (gamma - 1.0) * mach * mach
        compression = rise ** (1.0 / (gamma - 1.0))
        passed = restriction_flow(
            opening,
            pressure * compression * rise,
            density * compression,
            gamma,
            outside[PRESSURE],
        )
        return density * velocity * area - passed, velocity, density, pressure
    temperature = max(thermal - 0.5 * velocity * velocity, 0.05 * thermal) / cp
    density = pressure / (constant * temperature)
    passed = restriction_flow(
        opening, outside[PRESSURE], outside[DENSITY], cp / (cp - constant), pressure
    )
    return density * velocity * area + passed, velocity, density, pressure


@njit(cache=True, nogil=True)
def open_end(
    near: Array,
    area: float,
    opening: float,
    outside: Array,
    gas: PipeGas,
    last_pressure: float,
    flux: Array,
) -> None:
    """Meet a volume through an opening; `near` has its velocity towards the opening.

    `outside` holds density, nothing, pressure, burned share and specific enthalpy of the
    volume, at rest; `last_pressure` at this end is where the search starts. `flux`
    receives mass, momentum, energy and burned mass leaving the pipe per unit of its area,
    and the pressure at its end.
    """
    share = near[SHARE]
    gamma = gamma_of(share, gas)
    sound = np.sqrt(gamma * near[PRESSURE] / near[DENSITY])
    stop = max(1.0 + 0.5 * (gamma - 1.0) * near[VELOCITY] / sound, 0.05)
    p_stop = near[PRESSURE] * stop ** (2.0 * gamma / (gamma - 1.0))
    opening = min(opening, area)
    p_out = outside[PRESSURE]
    flux[0] = flux[2] = flux[3] = 0.0
    flux[1] = flux[4] = p_stop
    if opening < CLOSED_BELOW or abs(p_stop - p_out) < PRESSURE_TOLERANCE * p_out:
        return
    leaves = p_stop > p_out
    outer_share = outside[SHARE]
    constant = gas_constant(gas, outer_share)
    cp = specific_heat(gas, outer_share) + constant
    thermal = outside[ENTHALPY] - formation(gas, outer_share)
    exponent = 0.5 * (gamma - 1.0) / gamma
    free = (p_out / near[PRESSURE]) ** exponent
    # One end of the bracket stops the flow in the pipe, the other in the opening.
    low, high = min(stop, free), max(stop, free)
    f_low, _, _, _ = excess(
        low, near, sound, gamma, area, opening, leaves, outside, constant, cp, thermal
    )
    f_high, _, _, _ = excess(
        high, near, sound, gamma, area, opening, leaves, outside, constant, cp, thermal
    )
    wave = (last_pressure / near[PRESSURE]) ** exponent
    if not low < wave < high:
        wave = 0.5 * (low + high)
    velocity, density, pressure = 0.0, near[DENSITY], p_stop
    side = 0
    for _ in range(NEWTON_LIMIT):
        f, velocity, density, pressure = excess(
            wave, near, sound, gamma, area, opening, leaves, outside, constant, cp, thermal
        )
        if abs(f) < FLOW_TOLERANCE * density * sound * area or high - low < WAVE_TOLERANCE:
            break
        # Illinois: halve the weight of an end that stays twice.
        if f > 0.0:
            low, f_low = wave, f
            if side == 1:
                f_high *= 0.5
            side = 1
        else:
            high, f_high = wave, f
            if side == -1:
                f_low *= 0.5
            side = -1
        wave = (low * f_high - high * f_low) / (f_high - f_low)
    mass = density * velocity
    flux[0] = mass
    flux[1] = mass * velocity + pressure
    flux[4] = pressure
    if mass >= 0.0:
        own = gas_constant(gas, share)
        enthalpy = (specific_heat(gas, share) + own) * pressure / (density * own)
        flux[2] = mass * (formation(gas, share) + enthalpy + 0.5 * velocity * velocity)
        flux[3] = mass * share
    else:
        flux[2] = mass * outside[ENTHALPY]
        flux[3] = mass * outer_share


@njit(cache=True, nogil=True)
def advance(
    state: Array,
    prim: Array,
    ends: Array,
    time_step: float,
    pipe: Pipe,
    gas: PipeGas,
    openings: Array,
    outside: Array,
    work: Array,
    end_flux: Array,
) -> float:
    """Advance a pipe by one step between two volumes and return its Courant number.

    Parameters by place: conserved state (n, 4); primitive state (n, 4), filled here;
    pressures and such at the two ends of the last step (2, 4), used for the slopes of
    the end cells; the step; pipe; gas; effective areas of the two openings; the volumes
    (2, 5); scratch (2 n + n + 1, 4); fluxes out of each end (2, 5).
    """
    n = state.shape[0]
    primitives(state, gas, prim)
    dx = pipe.cell_length
    left, right = work[:n], work[n : 2 * n]
    fluxes = work[2 * n : 3 * n + 1]
    near = np.empty(4)
    courant = 0.0
    for i in range(n):
        rho, u, p, x = prim[i, 0], prim[i, 1], prim[i, 2], prim[i, 3]
        gamma = gamma_of(x, gas)
        sound = np.sqrt(gamma * p / rho)
        courant = max(courant, (abs(u) + sound) * time_step / dx)
        taper = (pipe.face_area[i + 1] - pipe.face_area[i]) / (dx * pipe.cell_area[i])
        for c in range(4):
            # At an end the face's own state of the last step stands half a cell away.
            behind = prim[i, c] - prim[i - 1, c] if i > 0 else 2.0 * (prim[i, c] - ends[0, c])
            ahead = prim[i + 1, c] - prim[i, c] if i < n - 1 else 2.0 * (ends[1, c] - prim[i, c])
            left[i, c] = limited(behind, ahead)
        s_rho, s_u, s_p, s_x = left[i, 0], left[i, 1], left[i, 2], left[i, 3]
        divergence = s_u + u * taper * dx
        half = 0.5 * time_step / dx
        rho_h = rho - half * (u * s_rho + rho * divergence)
        u_h = u - half * (u * s_u + s_p / rho)
        p_h = max(p - half * (u * s_p + gamma * p * divergence), SMALLEST_PRESSURE)
        x_h = x - half * u * s_x
        left[i, 0], right[i, 0] = rho_h - 0.5 * s_rho, rho_h + 0.5 * s_rho
        left[i, 1], right[i, 1] = u_h - 0.5 * s_u, u_h + 0.5 * s_u
        left[i, 2], right[i, 2] = p_h - 0.5 * s_p, p_h + 0.5 * s_p
        left[i, 3], right[i, 3] = x_h - 0.5 * s_x, x_h + 0.5 * s_x
    for i in range(1, n):
        x_l, x_r = right[i - 1, 3], left[i, 3]
        mass, momentum, heat = hllc(
            right[i - 1, 0],
            right[i - 1, 1],
            right[i - 1, 2],
            gamma_of(x_l, gas),
            formation(gas, x_l),
            left[i, 0],
            left[i, 1],
            left[i, 2],
            gamma_of(x_r, gas),
            formation(gas, x_r),
        )
        fluxes[i, 0], fluxes[i, 1], fluxes[i, 2] = mass, momentum, heat
        fluxes[i, 3] = mass * (x_l if mass >= 0.0 else x_r)

    near[:] = left[0]
    near[VELOCITY] = -near[VELOCITY]
    open_end(near, pipe.face_area[0], openings[0], outside[0], gas, ends[0, 2], end_flux[0])
    fluxes[0, 0] = -end_flux[0, 0]
    fluxes[0, 1] = end_flux[0, 1]
    fluxes[0, 2] = -end_flux[0, 2]
    fluxes[0, 3] = -end_flux[0, 3]
    near[:] = right[n - 1]
    open_end(near, float(pipe.face_area[n]), openings[1], outside[1], gas, ends[1, 2], end_flux[1])
    fluxes[n, :] = end_flux[1, :4]
    keep_end(ends[0], end_flux[0], prim[0], outside[0], gas, -1.0)
    keep_end(ends[1], end_flux[1], prim[n - 1], outside[1], gas, 1.0)

    for i in range(n):
        volume = dx * pipe.cell_area[i]
        a_behind, a_ahead = pipe.face_area[i], pipe.face_area[i + 1]
        scale = time_step / volume
        state[i, 0] -= scale * (fluxes[i + 1, 0] * a_ahead - fluxes[i, 0] * a_behind)
        state[i, 1] -= scale * (
            fluxes[i + 1, 1] * a_ahead - fluxes[i, 1] * a_behind - prim[i, 2] * (a_ahead - a_behind)
        )
        state[i, 2] -= scale * (fluxes[i + 1, 2] * a_ahead - fluxes[i, 2] * a_behind)
        state[i, 3] -= scale * (fluxes[i + 1, 3] * a_ahead - fluxes[i, 3] * a_behind)
    if gas.viscosity > 0.0:
        rub(state, prim, time_step, pipe, gas)
    return courant


@njit(cache=True, nogil=True)
def keep_end(
    end: Array, flux: Array, cell: Array, outside: Array, gas: PipeGas, direction: float
) -> None:
    """Note the state at an end for the slopes of the next step."""
    mass, pressure = flux[0], flux[4]
    end[PRESSURE] = pressure
    end[SHARE] = outside[SHARE] if mass < 0.0 else cell[SHARE]
    velocity = 0.0
    if mass != 0.0:
        velocity = (flux[1] - pressure) / mass
    end[VELOCITY] = direction * velocity
    if velocity != 0.0:
        end[DENSITY] = mass / velocity
    else:
        squeeze = (pressure / cell[PRESSURE]) ** (1.0 / gamma_of(cell[SHARE], gas))
        end[DENSITY] = cell[DENSITY] * squeeze


@njit(cache=True, nogil=True)
def rub(state: Array, prim: Array, time_step: float, pipe: Pipe, gas: PipeGas) -> None:
    """Take wall friction off the momentum and let the wall warm or cool the gas."""
    for i in range(state.shape[0]):
        speed = abs(prim[i, VELOCITY])
        diameter = pipe.diameter[i]
        reynolds = max(prim[i, DENSITY] * speed * diameter / gas.viscosity, 1.0)
        factor = BLASIUS_FACTOR / np.sqrt(np.sqrt(reynolds))
        # Implicit in the speed, so that friction never turns the flow round.
        state[i, MOMENTUM] /= 1.0 + 0.5 * time_step * factor * speed / diameter
        if pipe.wall_temperature <= 0.0:
            continue
        share = prim[i, SHARE]
        constant = gas_constant(gas, share)
        cp = specific_heat(gas, share) + constant
        temperature = prim[i, PRESSURE] / (prim[i, DENSITY] * constant)
        # Reynolds' analogy in Colburn's form: Stanton number f/8 Pr^(-2/3).
        flux = factor / 8.0 * PRANDTL_FACTOR * prim[i, DENSITY] * speed * cp
        warming = flux * (pipe.wall_temperature - temperature) * 4.0 / diameter
        state[i, ENERGY] += time_step * warming
