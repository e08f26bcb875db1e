"""Compiled gas dynamics of one pipe: quasi-one-dimensional Euler flow of a gas mixture.

Second-order finite volumes: limited linear slopes of the primitive variables, a half
step of prediction (MUSCL-Hancock), fluxes by the HLLC approximate Riemann solver (Toro,
*Riemann Solvers and Numerical Methods for Fluid Dynamics*, 3rd ed., 2009, sections 14.4
and 10.4; numbers from memory). Area change enters as its pressure force, friction and
wall heat as sources of the cell.

A pipe holds two gases that mix: fresh (row 0 of `PipeGas`) and burned (row 1). Each has
a constant specific heat and its own heat of formation, so that energy leaving a
cylinder, whose gas is described in more detail, arrives whole: what differs between the
two descriptions is a little temperature, never energy.

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

from service.engine import kernels

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
    left = work[:n]
    right = work[n : 2 * n]
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
    open_end(near, pipe.face_area[n], openings[1], outside[1], gas, ends[1, 2], end_flux[1])
    fluxes[n, :] = end_flux[1, :4]
    for k in range(2):
        face = 0 if k == 0 else n
        sign = -1.0 if k == 0 else 1.0
        mass, pressure = end_flux[k, 0], end_flux[k, 4]
        velocity = (end_flux[k, 1] - pressure) / mass if abs(mass) > 1e-12 else 0.0
        cell = 0 if k == 0 else n - 1
        ends[k, 0] = (
            mass / velocity
            if abs(velocity) > 1e-9
            else prim[cell, 0] * (pressure / prim[cell, 2]) ** (1.0 / gamma_of(prim[cell, 3], gas))
        )
        ends[k, 1] = sign * velocity
        ends[k, 2] = pressure
        ends[k, 3] = outside[k, 3] if mass < 0.0 else prim[cell, 3]

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
def rub(state: Array, prim: Array, time_step: float, pipe: Pipe, gas: PipeGas) -> None:
    """Take wall friction off the momentum and let the wall warm or cool the gas."""
    for i in range(state.shape[0]):
        speed = abs(prim[i, VELOCITY])
        diameter = pipe.diameter[i]
        reynolds = max(prim[i, DENSITY] * speed * diameter / gas.viscosity, 1.0)
        factor = BLASIUS_FACTOR / np.sqrt(np.sqrt(reynolds))
        # Implicit in the speed, so that friction never turns the flow round.
        state[i, MOMENTUM] /= 1.0 + 0.5 * time_step * factor * speed / diameter
        share = prim[i, SHARE]
        constant = gas_constant(gas, share)
        cp = specific_heat(gas, share) + constant
        temperature = prim[i, PRESSURE] / (prim[i, DENSITY] * constant)
        # Reynolds' analogy in Colburn's form: Stanton number f/8 Pr^(-2/3).
        flux = factor / 8.0 * PRANDTL_FACTOR * prim[i, DENSITY] * speed * cp
        warming = flux * (pipe.wall_temperature - temperature) * 4.0 / diameter
        state[i, ENERGY] += time_step * warming


VOLUMES = 4
CYLINDER, PLENUM, GALLERY, COLLECTOR = range(VOLUMES)
MASS, HEAT, SPOILED = range(3)
"""Of a volume: mass, internal energy, mass of burned gas."""

TOTALS = 16
(
    MOUTH_MASS,
    MOUTH_ENTHALPY,
    MOUTH_BURNED,
    OUTLET_MASS,
    OUTLET_ENTHALPY,
    OUTLET_BURNED,
    THROTTLE_MASS,
    THROTTLE_ENTHALPY,
    SYSTEM_MASS,
    SYSTEM_ENTHALPY,
    WORK,
    CYLINDER_HEAT,
    FUEL_MASS,
    FUEL_ENTHALPY,
    INTAKE_MASS,
    EXHAUST_MASS,
) = range(TOTALS)
"""What grows along a cycle; of one cylinder, but the throttle and the system."""

HISTORY_COLUMNS = 8
"""Six rates at the shared ends of the pipes, and the pressures of both shared volumes."""


class Shared(NamedTuple):
    """What the cylinders share, and what of it their pipes end in."""

    steps: int
    time_step: float
    cylinders: int
    cylinders_per_collector: int
    has_gallery: bool
    ambient_pressure: float
    ambient_temperature: float
    plenum_volume: float
    gallery_volume: float
    collector_volume: float
    throttle_area: float
    section_area: float
    mouth_area: float
    outlet_area: float
    system_area: float


@njit(cache=True, nogil=True)
def settled_flow(
    area: float, source: Array, sink: Array, stiffness: float, surplus: float, time_step: float
) -> float:
    """Return the flow between two volumes at the end of a step, to first order.

    An opening between small volumes answers faster than the step; taking its flow at the
    start would swing to and fro. `stiffness` is the fall of the pressure difference for
    each kilogram that passes, `surplus` what other flows do to it in the step. Columns of
    a volume: temperature, gas constant, gamma, pressure.
    """
    difference = source[3] - sink[3]
    now = laminar_flow(area, source, sink, difference)
    step = max(1e-4 * source[3], 1e-2 * abs(difference))
    slope = (laminar_flow(area, source, sink, difference + step) - now) / step
    settled = now + slope * surplus
    return settled / (1.0 + slope * stiffness * time_step)


@njit(cache=True, nogil=True)
def laminar_flow(area: float, source: Array, sink: Array, difference: float) -> float:
    """Return the signed flow of a restriction at a pressure difference, linear near zero."""
    if difference >= 0.0:
        t, r, g = source[0], source[1], source[2]
        p_up = sink[3] + difference
        p_down = sink[3]
    else:
        t, r, g = sink[0], sink[1], sink[2]
        p_up = sink[3]
        p_down = sink[3] + difference
    rate = kernels.flow_rate(area, p_up, t, r, g, max(p_down, 1.0), kernels.LAMINAR_SPAN)
    return rate if difference >= 0.0 else -rate


@njit(cache=True, nogil=True)
def march_waves(
    cylinder: Array,
    volumes: Array,
    intake: Array,
    exhaust: Array,
    intake_ends: Array,
    exhaust_ends: Array,
    history: Array,
    reference: Array,
    props: Array,
    totals: Array,
    shared: Shared,
    plant: kernels.Plant,
    gas: kernels.Gas,
    track: kernels.Track,
    intake_pipe: Pipe,
    exhaust_pipe: Pipe,
    intake_gas: PipeGas,
    exhaust_gas: PipeGas,
    trace: Array,
    relax: float,
) -> float:
    """March one cycle and return the largest Courant number met."""
    n = shared.steps
    dt = shared.time_step
    shift = n // shared.cylinders
    exhaust_shift = n // shared.cylinders_per_collector
    cells_in, cells_out = intake.shape[0], exhaust.shape[0]
    prim_in, prim_out = np.empty((cells_in, 4)), np.empty((cells_out, 4))
    work_in, work_out = np.empty((3 * cells_in + 1, 4)), np.empty((3 * cells_out + 1, 4))
    flux_in, flux_out = np.zeros((2, 5)), np.zeros((2, 5))
    outside_in, outside_out = np.zeros((2, 5)), np.zeros((2, 5))
    openings_in, openings_out = np.zeros(2), np.zeros(2)
    ambient = np.array(
        [shared.ambient_temperature, gas.air_gas_constant, 1.4, shared.ambient_pressure]
    )
    others = np.zeros(6)
    feeder = GALLERY if shared.has_gallery else PLENUM
    f = gas.fuel_air_ratio
    worst = 0.0
    for step in range(n):
        # Where everything stands.
        t, r, g, p = kernels.gas_state(
            gas,
            kernels.CHARGE,
            cylinder[MASS],
            cylinder[HEAT],
            cylinder[SPOILED],
            track.volume[2 * step],
            props[CYLINDER, 0],
        )
        props[CYLINDER, 0], props[CYLINDER, 1], props[CYLINDER, 2], props[CYLINDER, 3] = t, r, g, p
        for k in range(1, VOLUMES):
            if k == GALLERY and not shared.has_gallery:
                continue
            size = shared.plenum_volume
            kind = kernels.AIR
            if k == GALLERY:
                size = shared.gallery_volume
            elif k == COLLECTOR:
                size = shared.collector_volume
                kind = kernels.CHARGE
            t, r, g, p = kernels.gas_state(
                gas,
                kind,
                volumes[k, MASS],
                volumes[k, HEAT],
                volumes[k, SPOILED],
                size,
                props[k, 0],
            )
            props[k, 0], props[k, 1], props[k, 2], props[k, 3] = t, r, g, p
        if step == plant.burn_starts:
            reference[3] = cylinder[MASS] - cylinder[SPOILED]
        if step == plant.intake_closes:
            reference[0] = props[CYLINDER, 3]
            reference[1] = track.volume[2 * step]
            reference[2] = props[CYLINDER, 0]
            reference[4] = cylinder[MASS]
            reference[5] = cylinder[SPOILED]
        trace[step, 0] = props[CYLINDER, 3]
        trace[step, 1] = props[feeder, 3]
        trace[step, 2] = intake_ends[1, 2]
        trace[step, 3] = exhaust_ends[0, 2]
        trace[step, 4] = props[COLLECTOR, 3]
        trace[step, 5] = props[PLENUM, 3]
        trace[step, 6] = props[COLLECTOR, 0]

        # What the pipes see at their ends: air takes its fuel up as it enters.
        mass = volumes[feeder, MASS]
        x = min(max(volumes[feeder, SPOILED] / mass, 0.0), 1.0)
        swell = 1.0 + f * (1.0 - x)
        enthalpy = volumes[feeder, HEAT] / mass + props[feeder, 1] * props[feeder, 0]
        charged = (enthalpy + f * (1.0 - x) * gas.fuel_enthalpy) / swell
        share = x / swell
        constant = gas_constant(intake_gas, share)
        cp = specific_heat(intake_gas, share) + constant
        warm = (charged - formation(intake_gas, share)) / cp
        outside_in[0, 0] = props[feeder, 3] / (constant * warm)
        outside_in[0, 2] = props[feeder, 3]
        outside_in[0, 3] = share
        outside_in[0, 4] = charged
        mass = cylinder[MASS]
        share = min(max(cylinder[SPOILED] / mass, 0.0), 1.0)
        enthalpy = cylinder[HEAT] / mass + props[CYLINDER, 1] * props[CYLINDER, 0]
        density = mass / track.volume[2 * step]
        for row in (1, 0):
            target = outside_in if row == 1 else outside_out
            target[row, 0] = density
            target[row, 2] = props[CYLINDER, 3]
            target[row, 3] = share
            target[row, 4] = enthalpy
        mass = volumes[COLLECTOR, MASS]
        outside_out[1, 0] = mass / shared.collector_volume
        outside_out[1, 2] = props[COLLECTOR, 3]
        outside_out[1, 3] = min(max(volumes[COLLECTOR, SPOILED] / mass, 0.0), 1.0)
        outside_out[1, 4] = (
            volumes[COLLECTOR, HEAT] / mass + props[COLLECTOR, 1] * props[COLLECTOR, 0]
        )
        middle = 2 * step + 1
        openings_in[0], openings_in[1] = shared.mouth_area, track.intake_area[middle]
        openings_out[0], openings_out[1] = track.exhaust_area[middle], shared.outlet_area
        courant = advance(
            intake,
            prim_in,
            intake_ends,
            dt,
            intake_pipe,
            intake_gas,
            openings_in,
            outside_in,
            work_in,
            flux_in,
        )
        worst = max(worst, courant)
        courant = advance(
            exhaust,
            prim_out,
            exhaust_ends,
            dt,
            exhaust_pipe,
            exhaust_gas,
            openings_out,
            outside_out,
            work_out,
            flux_out,
        )
        worst = max(worst, courant)
        a_mouth, a_seat_in = intake_pipe.face_area[0], intake_pipe.face_area[cells_in]
        a_seat_out, a_outlet = exhaust_pipe.face_area[0], exhaust_pipe.face_area[cells_out]

        # The cylinder: what passed the valves, work by the mean of two pressures, heat.
        m_in = flux_in[1, 0] * a_seat_in
        h_in = flux_in[1, 2] * a_seat_in
        x_in = flux_in[1, 3] * a_seat_in
        m_out = -flux_out[0, 0] * a_seat_out
        h_out = -flux_out[0, 2] * a_seat_out
        x_out = -flux_out[0, 3] * a_seat_out
        burn = reference[3] * track.burn_rate[middle]
        t = props[CYLINDER, 0]
        coefficient = plant.heat_multiplier * kernels.woschni(
            props[CYLINDER, 3], t, 2 * step, reference, plant, track
        )
        heat = coefficient * track.wall_area[middle] * (t - plant.cylinder_wall_temperature)
        change = track.volume[2 * step + 2] - track.volume[2 * step]
        gained = dt * (h_in - h_out - heat)
        cylinder[MASS] += dt * (m_in - m_out)
        cylinder[SPOILED] += dt * (x_in - x_out + burn)
        before = cylinder[HEAT]
        _, _, _, p_next = kernels.gas_state(
            gas,
            kernels.CHARGE,
            cylinder[MASS],
            before + gained - props[CYLINDER, 3] * change,
            cylinder[SPOILED],
            track.volume[2 * step + 2],
            t,
        )
        done = 0.5 * (props[CYLINDER, 3] + p_next) * change
        cylinder[HEAT] = before + gained - done
        totals[WORK] += done
        totals[CYLINDER_HEAT] += dt * heat
        totals[INTAKE_MASS] += dt * m_in
        totals[EXHAUST_MASS] += dt * m_out

        # The mouth, as the feeding volume sees it.
        leaves = flux_in[0, 0] * a_mouth
        leaves_heat = flux_in[0, 2] * a_mouth
        leaves_spoiled = flux_in[0, 3] * a_mouth
        if leaves <= 0.0:
            drawn = -leaves / swell
            fuel = drawn * f * (1.0 - x)
            fuel_heat = fuel * gas.fuel_enthalpy
            drawn_heat = -leaves_heat - fuel_heat
            drawn_spoiled = drawn * x
        else:
            fresh = leaves - leaves_spoiled
            air = fresh / (1.0 + f)
            fuel = -f * air
            t_mouth = prim_in[0, PRESSURE] / (
                prim_in[0, DENSITY] * gas_constant(intake_gas, prim_in[0, SHARE])
            )
            fuel_heat = -(
                fresh * kernels.fresh_enthalpy(gas, kernels.CHARGE, t_mouth)
                - air * kernels.fresh_enthalpy(gas, kernels.AIR, t_mouth)
            )
            drawn = -(air + leaves_spoiled)
            drawn_heat = -leaves_heat - fuel_heat
            drawn_spoiled = -leaves_spoiled
        outlet = flux_out[1, 0] * a_outlet
        outlet_heat = flux_out[1, 2] * a_outlet
        outlet_spoiled = flux_out[1, 3] * a_outlet
        totals[FUEL_MASS] += dt * fuel
        totals[FUEL_ENTHALPY] += dt * fuel_heat
        totals[MOUTH_MASS] += dt * drawn
        totals[OUTLET_MASS] += dt * outlet

        # The neighbours are this cylinder some steps ago; their pipes answer at once to
        # what the shared pressure is now, and later to what it was.
        others[:] = 0.0
        for i in range(1, shared.cylinders):
            row = (step - i * shift) % n
            for c in range(3):
                others[c] += history[row, c]
            sound = np.sqrt(props[feeder, 2] * props[feeder, 1] * props[feeder, 0])
            extra = shared.mouth_area / sound * (props[feeder, 3] - history[row, 6])
            others[0] += extra
            others[1] += extra * (
                volumes[feeder, HEAT] / volumes[feeder, MASS] + props[feeder, 1] * props[feeder, 0]
            )
            others[2] += extra * x
        for i in range(1, shared.cylinders_per_collector):
            row = (step - i * exhaust_shift) % n
            for c in range(3, 6):
                others[c] += history[row, c]
            sound = np.sqrt(props[COLLECTOR, 2] * props[COLLECTOR, 1] * props[COLLECTOR, 0])
            extra = -shared.outlet_area / sound * (props[COLLECTOR, 3] - history[row, 7])
            others[3] += extra
            others[4] += extra * outside_out[1, 4]
            others[5] += extra * outside_out[1, 3]
        fresh_rates = (drawn, drawn_heat, drawn_spoiled, outlet, outlet_heat, outlet_spoiled, props[feeder, 3], props[COLLECTOR, 3])
        for c in range(8):
            history[step, c] += relax * (fresh_rates[c] - history[step, c])

        # Shared volumes.
        taken, taken_heat, taken_spoiled = (
            drawn + others[0],
            drawn_heat + others[1],
            drawn_spoiled + others[2],
        )
        stiff_plenum = props[PLENUM, 2] * props[PLENUM, 1] * props[PLENUM, 0] / shared.plenum_volume
        section = section_heat = section_spoiled = 0.0
        if shared.has_gallery:
            stiff = (
                props[GALLERY, 2] * props[GALLERY, 1] * props[GALLERY, 0] / shared.gallery_volume
            )
            section = settled_flow(
                shared.section_area,
                props[PLENUM],
                props[GALLERY],
                stiff + stiff_plenum,
                stiff * taken * dt,
                dt,
            )
            source = PLENUM if section >= 0.0 else GALLERY
            section_heat = section * (
                volumes[source, HEAT] / volumes[source, MASS] + props[source, 1] * props[source, 0]
            )
            section_spoiled = section * volumes[source, SPOILED] / volumes[source, MASS]
            volumes[GALLERY, MASS] += dt * (section - taken)
            volumes[GALLERY, HEAT] += dt * (section_heat - taken_heat)
            volumes[GALLERY, SPOILED] += dt * (section_spoiled - taken_spoiled)
            taken, taken_heat, taken_spoiled = section, section_heat, section_spoiled
        throttle = settled_flow(
            shared.throttle_area,
            ambient,
            props[PLENUM],
            stiff_plenum,
            stiff_plenum * taken * dt,
            dt,
        )
        if throttle >= 0.0:
            throttle_heat = throttle * kernels.fresh_enthalpy(
                gas, kernels.AIR, shared.ambient_temperature
            )
            throttle_spoiled = 0.0
        else:
            throttle_heat = throttle * (
                volumes[PLENUM, HEAT] / volumes[PLENUM, MASS] + props[PLENUM, 1] * props[PLENUM, 0]
            )
            throttle_spoiled = throttle * volumes[PLENUM, SPOILED] / volumes[PLENUM, MASS]
        volumes[PLENUM, MASS] += dt * (throttle - taken)
        volumes[PLENUM, HEAT] += dt * (throttle_heat - taken_heat)
        volumes[PLENUM, SPOILED] += dt * (throttle_spoiled - taken_spoiled)
        totals[THROTTLE_MASS] += dt * throttle
        totals[THROTTLE_ENTHALPY] += dt * throttle_heat
        received = outlet + others[3]
        stiff = (
            props[COLLECTOR, 2]
            * props[COLLECTOR, 1]
            * props[COLLECTOR, 0]
            / shared.collector_volume
        )
        system = settled_flow(
            shared.system_area, props[COLLECTOR], ambient, stiff, stiff * received * dt, dt
        )
        system_heat = system * outside_out[1, 4]
        volumes[COLLECTOR, MASS] += dt * (received - system)
        volumes[COLLECTOR, HEAT] += dt * (outlet_heat + others[4] - system_heat)
        volumes[COLLECTOR, SPOILED] += dt * (
            outlet_spoiled + others[5] - system * outside_out[1, 3]
        )
        totals[SYSTEM_MASS] += dt * system
        totals[SYSTEM_ENTHALPY] += dt * system_heat
        trace[step, 7] = throttle
        trace[step, 8] = drawn
        trace[step, 9] = m_in
        trace[step, 10] = m_out
        trace[step, 11] = system
    return worst
