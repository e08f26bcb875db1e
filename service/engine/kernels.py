"""Compiled loops of the cycle simulation. Arrays and named tuples in, numbers out.

One cylinder is marched through its cycle with the volumes it breathes through:

    atmosphere → plenum → (gallery) → runner → cylinder → primary → collector → atmosphere

The other cylinders are copies of it, shifted in phase: what the cylinder drew from the
shared volumes one shift earlier is what its neighbour draws now. At convergence that
is exact for evenly spaced cylinders on one plenum.

The runner and the primary are lumped in this tier: half of a duct's volume stands at
its valve, the other half belongs to the shared volume at its far end, the restriction
lies between. They keep their place in the chain for the wave-action tier, where each
becomes a pipe with cells. (The halves also make the phase-shifted copies converge: a
neighbour's delayed answer is then always weaker than the shared volume's own.)

Every volume carries mass, internal energy (absolute, with heats of formation) and the
mass of burned gas. Plenum and gallery hold air and burned gas; all others hold charge
(air with its fuel vapour) and burned gas. Fuel joins and leaves at the runner mouth, so
combustion needs no source term: turning charge into burned gas releases the heat.
"""

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]

VOLUMES = 6
CYLINDER, RUNNER, PRIMARY, PLENUM, GALLERY, COLLECTOR = range(VOLUMES)
MASS, ENERGY, BURNED = range(3)
AIR, CHARGE = range(2)
STATE_SIZE = 3 * VOLUMES

# Totals that grow along the march; all belong to one cylinder unless said otherwise.
MOUTH_MASS = STATE_SIZE  # Left the gallery (or plenum) for the runner.
MOUTH_ENTHALPY = STATE_SIZE + 1
MOUTH_BURNED = STATE_SIZE + 2
OUTLET_MASS = STATE_SIZE + 3  # Left the primary for the collector.
OUTLET_ENTHALPY = STATE_SIZE + 4
OUTLET_BURNED = STATE_SIZE + 5
THROTTLE_MASS = STATE_SIZE + 6  # Entered the plenum, all cylinders.
THROTTLE_ENTHALPY = STATE_SIZE + 7
SECTION_MASS = STATE_SIZE + 8  # Plenum to gallery, all cylinders.
SYSTEM_MASS = STATE_SIZE + 9  # Left one collector.
SYSTEM_ENTHALPY = STATE_SIZE + 10
WORK = STATE_SIZE + 11
CYLINDER_HEAT = STATE_SIZE + 12  # To the walls.
RUNNER_HEAT = STATE_SIZE + 13  # From the walls.
PRIMARY_HEAT = STATE_SIZE + 14  # To the walls.
FUEL_MASS = STATE_SIZE + 15
FUEL_ENTHALPY = STATE_SIZE + 16
INTAKE_MASS = STATE_SIZE + 17  # Through the intake valve.
EXHAUST_MASS = STATE_SIZE + 18  # Through the exhaust valve.
VECTOR_SIZE = STATE_SIZE + 19

PER_STEP_TOTALS = 6
"""How many totals, from `MOUTH_MASS` on, the neighbours need step by step."""

# Places of the numbers kept between steps that others read.
TRAPPED_MASS, TRAPPED_BURNED = 4, 5

# Columns of the trace: pressures at the start of each step, then flows.
TRACE_COLUMNS = 14
(
    TRACE_CYLINDER,
    TRACE_RUNNER,
    TRACE_PLENUM,
    TRACE_GALLERY,
    TRACE_PRIMARY,
    TRACE_COLLECTOR,
    TRACE_COLLECTOR_TEMPERATURE,
    TRACE_THROTTLE_FLOW,
    TRACE_SECTION_FLOW,
    TRACE_MOUTH_FLOW,
    TRACE_INTAKE_FLOW,
    TRACE_EXHAUST_FLOW,
    TRACE_OUTLET_FLOW,
    TRACE_SYSTEM_FLOW,
) = range(TRACE_COLUMNS)

LAMINAR_SPAN = 1e-3
"""Relative pressure difference below which flow is taken as linear in it, because the
square root's infinite slope at zero would make any explicit march chatter."""
DUCT_LAMINAR_SPAN = 1e-2
"""The same between the two ends of a duct, whose small volumes are the stiffest."""

NEWTON_TOLERANCE = 1e-7
NEWTON_LIMIT = 30
SMALLEST_MASS = 1e-12
CHOKING_BEGINS_BELOW = 0.62
"""No gas met here chokes above this ratio; saves a power on most calls."""

# Dittus-Boelter, Nu = 0.023 Re^0.8 Pr^0.4, with air-like transport properties
# (Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, Eq. 8.60; from memory).
NUSSELT_FACTOR = 0.023
REYNOLDS_POWER = 0.8
PRANDTL_FACTOR = 0.7**0.4
# Sutherland's law for air: reference 1.716e-5 Pa s at 273 K, constant 111 K (White,
# Viscous Fluid Flow, table 1-2; from memory). Conductivity from Pr 0.7.
VISCOSITY_REFERENCE = 1.716e-5
VISCOSITY_TEMPERATURE = 273.0
VISCOSITY_CONSTANT = 111.0
PRANDTL = 0.7

WOSCHNI_FACTOR = 3.26
WOSCHNI_GAS_EXCHANGE = 6.18
WOSCHNI_CLOSED = 2.28
WOSCHNI_COMBUSTION = 3.24e-3
MOTORED_EXPONENT = 1.32
"""Polytropic exponent of the motored pressure in Woschni's velocity term (from memory)."""


class Gas(NamedTuple):
    """Working fluid as tables over temperature and logarithm of density."""

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


class Track(NamedTuple):
    """What depends on crank angle only, at every half step from bottom dead centre."""

    volume: Array
    volume_rate: Array
    wall_area: Array
    intake_area: Array
    exhaust_area: Array
    burn_rate: Array


class Duct(NamedTuple):
    """The wall of a duct, for heat."""

    diameter: float
    surface: float
    wall_temperature: float


class Chamber(NamedTuple):
    """The cylinder, for heat."""

    bore: float
    displacement: float
    mean_piston_speed: float
    wall_temperature: float
    heat_multiplier: float
    """On Woschni's coefficient; 0 lets no heat through. [-]"""


class Openings(NamedTuple):
    """Effective areas of the restrictions, in m²."""

    throttle: float
    section: float
    """Between plenum and gallery."""
    mouth: float
    outlet: float
    system: float


class Volumes(NamedTuple):
    """Of everything but the cylinder, in m³."""

    runner: float
    primary: float
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
    ambient_pressure: float
    ambient_temperature: float
    volumes: Volumes
    openings: Openings
    runner: Duct
    primary: Duct
    chamber: Chamber
    events: Events


@njit(cache=True, nogil=True)
def flow_rate(
    area: float,
    p_up: float,
    t_up: float,
    gas_constant: float,
    gamma: float,
    p_down: float,
    laminar_span: float,
) -> float:
    ratio = p_down / p_up
    if ratio >= 1.0 or area <= 0.0:
        return 0.0
    scale = 1.0
    if ratio > 1.0 - laminar_span:
        scale = (1.0 - ratio) / laminar_span
        ratio = 1.0 - laminar_span
    elif ratio < CHOKING_BEGINS_BELOW:
        critical = (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))
        ratio = max(ratio, critical)
    root = ratio ** (1.0 / gamma)
    phi = np.sqrt(2.0 * gamma / (gamma - 1.0) * root * (root - ratio))
    return scale * area * p_up / np.sqrt(gas_constant * t_up) * phi  # type: ignore[no-any-return]


@njit(cache=True, nogil=True)
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
    temperature = guess
    slope = 1.0
    for _ in range(NEWTON_LIMIT):
        position = (temperature - gas.temperature_start) / gas.temperature_step
        j = min(max(int(position), 0), last)
        w = position - j
        below = (1.0 - w_rho) * gas.burned_energy[i, j] + w_rho * gas.burned_energy[i + 1, j]
        above = (1.0 - w_rho) * gas.burned_energy[i, j + 1] + w_rho * gas.burned_energy[
            i + 1, j + 1
        ]
        low = (1.0 - share) * gas.fresh_energy[kind, j] + share * below
        high = (1.0 - share) * gas.fresh_energy[kind, j + 1] + share * above
        slope = (high - low) / gas.temperature_step
        change = (target - low - w * (high - low)) / slope
        temperature += change
        if abs(change) < NEWTON_TOLERANCE * temperature:
            break
    position = (temperature - gas.temperature_start) / gas.temperature_step
    j = min(max(int(position), 0), last)
    w = position - j
    below = (1.0 - w_rho) * gas.burned_gas_constant[i, j] + w_rho * gas.burned_gas_constant[
        i + 1, j
    ]
    above = (1.0 - w_rho) * gas.burned_gas_constant[i, j + 1] + w_rho * gas.burned_gas_constant[
        i + 1, j + 1
    ]
    constant = (1.0 - share) * fresh_constant + share * (below + w * (above - below))
    return temperature, constant, 1.0 + constant / slope, mass / volume * constant * temperature


@njit(cache=True, nogil=True)
def fresh_enthalpy(gas: Gas, kind: int, temperature: float) -> float:
    position = (temperature - gas.temperature_start) / gas.temperature_step
    j = min(max(int(position), 0), gas.fresh_energy.shape[1] - 2)
    low, high = gas.fresh_energy[kind, j], gas.fresh_energy[kind, j + 1]
    constant = gas.air_gas_constant if kind == AIR else gas.charge_gas_constant
    return low + (position - j) * (high - low) + constant * temperature  # type: ignore[no-any-return]


@njit(cache=True, nogil=True)
def wall_conductance(flow: float, diameter: float, surface: float, temperature: float) -> float:
    viscosity = (
        VISCOSITY_REFERENCE
        * (temperature / VISCOSITY_TEMPERATURE) ** 1.5
        * (VISCOSITY_TEMPERATURE + VISCOSITY_CONSTANT)
        / (temperature + VISCOSITY_CONSTANT)
    )
    conductivity = viscosity * 1005.0 / PRANDTL  # Specific heat of air near room temperature.
    reynolds = 4.0 * flow / (np.pi * diameter * viscosity)
    nusselt = NUSSELT_FACTOR * reynolds**REYNOLDS_POWER * PRANDTL_FACTOR
    return nusselt * conductivity / diameter * surface  # type: ignore[no-any-return]


@njit(cache=True, nogil=True)
def woschni(
    pressure: float,
    temperature: float,
    half_step: int,
    reference: Array,
    plant: Plant,
    track: Track,
) -> float:
    open_valve = track.intake_area[half_step] > 0.0 or track.exhaust_area[half_step] > 0.0
    speed = plant.chamber.mean_piston_speed * (
        WOSCHNI_GAS_EXCHANGE if open_valve else WOSCHNI_CLOSED
    )
    if (
        plant.events.burn_starts <= half_step // 2 < plant.events.exhaust_opens
        and reference[0] > 0.0
    ):
        motored = reference[0] * (reference[1] / track.volume[half_step]) ** MOTORED_EXPONENT
        scale = plant.chamber.displacement * reference[2] / (reference[0] * reference[1])
        speed += max(WOSCHNI_COMBUSTION * scale * (pressure - motored), 0.0)
    pressure_part = (1e-3 * pressure * speed) ** 0.8
    return WOSCHNI_FACTOR * plant.chamber.bore**-0.2 * pressure_part * temperature**-0.55  # type: ignore[no-any-return]


@njit(cache=True, nogil=True)
def exchange(
    area: float, up: int, down: int, props: Array, state: Array, laminar_span: float
) -> tuple[float, float, float]:
    """Return mass flow from `up` to `down` (negative when it turns), its enthalpy and burned."""
    forward = props[up, 3] >= props[down, 3]
    source = up if forward else down
    sink = down if forward else up
    rate = flow_rate(
        area,
        props[source, 3],
        props[source, 0],
        props[source, 1],
        props[source, 2],
        props[sink, 3],
        laminar_span,
    )
    mass = max(state[3 * source + MASS], SMALLEST_MASS)
    # Specific enthalpy from the stored energy: nothing is lost between table and ledger.
    enthalpy = state[3 * source + ENERGY] / mass + props[source, 1] * props[source, 0]
    share = min(max(state[3 * source + BURNED] / mass, 0.0), 1.0)
    sign = 1.0 if forward else -1.0
    return sign * rate, sign * rate * enthalpy, sign * rate * share


@njit(cache=True, nogil=True)
def rates(
    y: Array,
    half_step: int,
    others: Array,
    reference: Array,
    props: Array,
    plant: Plant,
    gas: Gas,
    track: Track,
    conductances: Array,
    fresh_coefficients: bool,
    out: Array,
) -> None:
    out[:] = 0.0
    volumes = (
        track.volume[half_step],
        plant.volumes.runner,
        plant.volumes.primary,
        plant.volumes.plenum,
        plant.volumes.gallery,
        plant.volumes.collector,
    )
    for k in range(VOLUMES):
        if k == GALLERY and not plant.has_gallery:
            continue
        t, r, g, p = gas_state(
            gas,
            AIR if k in (PLENUM, GALLERY) else CHARGE,
            y[3 * k + MASS],
            y[3 * k + ENERGY],
            y[3 * k + BURNED],
            volumes[k],
            props[k, 0],
        )
        props[k, 0] = t
        props[k, 1] = r
        props[k, 2] = g
        props[k, 3] = p

    # Atmosphere to plenum. What is blown back out is lost; the next gulp is clean air.
    p_plenum = props[PLENUM, 3]
    if plant.ambient_pressure >= p_plenum:
        rate = flow_rate(
            plant.openings.throttle,
            plant.ambient_pressure,
            plant.ambient_temperature,
            gas.air_gas_constant,
            1.4,
            p_plenum,
            LAMINAR_SPAN,
        )
        heat = rate * fresh_enthalpy(gas, AIR, plant.ambient_temperature)
        spoiled = 0.0
    else:
        rate = -flow_rate(
            plant.openings.throttle,
            p_plenum,
            props[PLENUM, 0],
            props[PLENUM, 1],
            props[PLENUM, 2],
            plant.ambient_pressure,
            LAMINAR_SPAN,
        )
        plenum_mass = max(y[3 * PLENUM + MASS], SMALLEST_MASS)
        heat = rate * (y[3 * PLENUM + ENERGY] / plenum_mass + props[PLENUM, 1] * props[PLENUM, 0])
        spoiled = rate * y[3 * PLENUM + BURNED] / plenum_mass
    out[3 * PLENUM + MASS] += rate
    out[3 * PLENUM + ENERGY] += heat
    out[3 * PLENUM + BURNED] += spoiled
    out[THROTTLE_MASS] = rate
    out[THROTTLE_ENTHALPY] = heat

    # Plenum to gallery, through whatever narrows the path below the plenum.
    feeder = PLENUM
    if plant.has_gallery:
        feeder = GALLERY
        rate, heat, spoiled = exchange(
            plant.openings.section, PLENUM, GALLERY, props, y, LAMINAR_SPAN
        )
        out[3 * PLENUM + MASS] -= rate
        out[3 * PLENUM + ENERGY] -= heat
        out[3 * PLENUM + BURNED] -= spoiled
        out[3 * GALLERY + MASS] += rate
        out[3 * GALLERY + ENERGY] += heat
        out[3 * GALLERY + BURNED] += spoiled
        out[SECTION_MASS] = rate

    # Runner mouth: fuel joins the air that enters and stays behind when it returns.
    rate, heat, spoiled = exchange(
        plant.openings.mouth, feeder, RUNNER, props, y, DUCT_LAMINAR_SPAN
    )
    if rate >= 0.0:
        fuel = gas.fuel_air_ratio * (rate - spoiled)
        fuel_heat = fuel * gas.fuel_enthalpy
        drawn, drawn_heat, drawn_spoiled = rate, heat, spoiled
        out[3 * RUNNER + MASS] += rate + fuel
        out[3 * RUNNER + ENERGY] += heat + fuel_heat
        out[3 * RUNNER + BURNED] += spoiled
    else:
        air = (rate - spoiled) / (1.0 + gas.fuel_air_ratio)
        fuel = gas.fuel_air_ratio * air
        t = props[RUNNER, 0]
        fuel_heat = (rate - spoiled) * fresh_enthalpy(gas, CHARGE, t) - air * fresh_enthalpy(
            gas, AIR, t
        )
        drawn, drawn_heat, drawn_spoiled = air + spoiled, heat - fuel_heat, spoiled
        out[3 * RUNNER + MASS] += rate
        out[3 * RUNNER + ENERGY] += heat
        out[3 * RUNNER + BURNED] += spoiled
    mouth_flow = abs(rate)
    out[FUEL_MASS] = fuel
    out[FUEL_ENTHALPY] = fuel_heat
    out[MOUTH_MASS] = drawn
    out[MOUTH_ENTHALPY] = drawn_heat
    out[MOUTH_BURNED] = drawn_spoiled
    out[3 * feeder + MASS] -= drawn + others[0]
    out[3 * feeder + ENERGY] -= drawn_heat + others[1]
    out[3 * feeder + BURNED] -= drawn_spoiled + others[2]

    # Intake valve.
    rate, heat, spoiled = exchange(
        track.intake_area[half_step], RUNNER, CYLINDER, props, y, LAMINAR_SPAN
    )
    out[3 * RUNNER + MASS] -= rate
    out[3 * RUNNER + ENERGY] -= heat
    out[3 * RUNNER + BURNED] -= spoiled
    out[3 * CYLINDER + MASS] += rate
    out[3 * CYLINDER + ENERGY] += heat
    out[3 * CYLINDER + BURNED] += spoiled
    out[INTAKE_MASS] = rate
    if fresh_coefficients:
        conductances[0] = wall_conductance(
            0.5 * (mouth_flow + abs(rate)),
            plant.runner.diameter,
            plant.runner.surface,
            props[RUNNER, 0],
        )
    warming = conductances[0] * (plant.runner.wall_temperature - props[RUNNER, 0])
    out[3 * RUNNER + ENERGY] += warming
    out[RUNNER_HEAT] = warming

    # Exhaust valve.
    rate, heat, spoiled = exchange(
        track.exhaust_area[half_step], CYLINDER, PRIMARY, props, y, LAMINAR_SPAN
    )
    out[3 * CYLINDER + MASS] -= rate
    out[3 * CYLINDER + ENERGY] -= heat
    out[3 * CYLINDER + BURNED] -= spoiled
    out[3 * PRIMARY + MASS] += rate
    out[3 * PRIMARY + ENERGY] += heat
    out[3 * PRIMARY + BURNED] += spoiled
    out[EXHAUST_MASS] = rate
    valve_flow = abs(rate)

    # Primary to collector.
    rate, heat, spoiled = exchange(
        plant.openings.outlet, PRIMARY, COLLECTOR, props, y, DUCT_LAMINAR_SPAN
    )
    out[3 * PRIMARY + MASS] -= rate
    out[3 * PRIMARY + ENERGY] -= heat
    out[3 * PRIMARY + BURNED] -= spoiled
    out[3 * COLLECTOR + MASS] += rate + others[3]
    out[3 * COLLECTOR + ENERGY] += heat + others[4]
    out[3 * COLLECTOR + BURNED] += spoiled + others[5]
    out[OUTLET_MASS] = rate
    out[OUTLET_ENTHALPY] = heat
    out[OUTLET_BURNED] = spoiled
    if fresh_coefficients:
        conductances[1] = wall_conductance(
            0.5 * (valve_flow + abs(rate)),
            plant.primary.diameter,
            plant.primary.surface,
            props[PRIMARY, 0],
        )
    cooling = conductances[1] * (props[PRIMARY, 0] - plant.primary.wall_temperature)
    out[3 * PRIMARY + ENERGY] -= cooling
    out[PRIMARY_HEAT] = cooling

    # Collector to atmosphere; a system that sucks back would bring in what it pushed out.
    rate = flow_rate(
        plant.openings.system,
        props[COLLECTOR, 3],
        props[COLLECTOR, 0],
        props[COLLECTOR, 1],
        props[COLLECTOR, 2],
        plant.ambient_pressure,
        LAMINAR_SPAN,
    )
    if props[COLLECTOR, 3] < plant.ambient_pressure:
        rate = -flow_rate(
            plant.openings.system,
            plant.ambient_pressure,
            props[COLLECTOR, 0],
            props[COLLECTOR, 1],
            props[COLLECTOR, 2],
            props[COLLECTOR, 3],
            LAMINAR_SPAN,
        )
    mass = max(y[3 * COLLECTOR + MASS], SMALLEST_MASS)
    heat = rate * (y[3 * COLLECTOR + ENERGY] / mass + props[COLLECTOR, 1] * props[COLLECTOR, 0])
    out[3 * COLLECTOR + MASS] -= rate
    out[3 * COLLECTOR + ENERGY] -= heat
    out[3 * COLLECTOR + BURNED] -= rate * y[3 * COLLECTOR + BURNED] / mass
    out[SYSTEM_MASS] = rate
    out[SYSTEM_ENTHALPY] = heat

    # Inside the cylinder: burning, work, heat to the walls.
    out[3 * CYLINDER + BURNED] += reference[3] * track.burn_rate[half_step]
    p = props[CYLINDER, 3]
    work = p * track.volume_rate[half_step]
    out[3 * CYLINDER + ENERGY] -= work
    out[WORK] = work
    if plant.chamber.heat_multiplier > 0.0:
        t = props[CYLINDER, 0]
        if fresh_coefficients:
            conductances[2] = plant.chamber.heat_multiplier * woschni(
                p, t, half_step, reference, plant, track
            )
        loss = conductances[2] * track.wall_area[half_step] * (t - plant.chamber.wall_temperature)
        out[3 * CYLINDER + ENERGY] -= loss
        out[CYLINDER_HEAT] = loss


@njit(cache=True, nogil=True)
def march(
    y: Array,
    first: int,
    last: int,
    history: Array,
    reference: Array,
    props: Array,
    plant: Plant,
    gas: Gas,
    track: Track,
    trace: Array,
) -> None:
    """Advance `y` from step `first` to `last` with the classical fourth-order method."""
    n = plant.steps
    h = plant.time_step
    shift = n // plant.cylinders
    exhaust_shift = n // plant.cylinders_per_collector
    k1 = np.empty(VECTOR_SIZE)
    k2 = np.empty(VECTOR_SIZE)
    k3 = np.empty(VECTOR_SIZE)
    k4 = np.empty(VECTOR_SIZE)
    work = np.empty(VECTOR_SIZE)
    before = np.empty(PER_STEP_TOTALS)
    others = np.zeros(PER_STEP_TOTALS)
    # Heat-transfer coefficients change slowly and cost many powers: one look per step.
    conductances = np.zeros(3)
    for step in range(first, last):
        others[:] = 0.0
        for i in range(1, plant.cylinders):
            row = (step - i * shift) % n
            for c in range(3):
                others[c] += history[row, c]
        for i in range(1, plant.cylinders_per_collector):
            row = (step - i * exhaust_shift) % n
            for c in range(3, PER_STEP_TOTALS):
                others[c] += history[row, c]
        if step == plant.events.burn_starts:
            reference[3] = y[3 * CYLINDER + MASS] - y[3 * CYLINDER + BURNED]
        before[:] = y[STATE_SIZE : STATE_SIZE + PER_STEP_TOTALS]

        rates(y, 2 * step, others, reference, props, plant, gas, track, conductances, True, k1)
        trace[step, TRACE_CYLINDER] = props[CYLINDER, 3]
        trace[step, TRACE_RUNNER] = props[RUNNER, 3]
        trace[step, TRACE_PLENUM] = props[PLENUM, 3]
        trace[step, TRACE_GALLERY] = props[GALLERY, 3] if plant.has_gallery else props[PLENUM, 3]
        trace[step, TRACE_PRIMARY] = props[PRIMARY, 3]
        trace[step, TRACE_COLLECTOR] = props[COLLECTOR, 3]
        trace[step, TRACE_COLLECTOR_TEMPERATURE] = props[COLLECTOR, 0]
        trace[step, TRACE_THROTTLE_FLOW] = k1[THROTTLE_MASS]
        trace[step, TRACE_SECTION_FLOW] = k1[SECTION_MASS]
        trace[step, TRACE_MOUTH_FLOW] = k1[MOUTH_MASS]
        trace[step, TRACE_INTAKE_FLOW] = k1[INTAKE_MASS]
        trace[step, TRACE_EXHAUST_FLOW] = k1[EXHAUST_MASS]
        trace[step, TRACE_OUTLET_FLOW] = k1[OUTLET_MASS]
        trace[step, TRACE_SYSTEM_FLOW] = k1[SYSTEM_MASS]
        if step == plant.events.intake_closes:
            reference[0] = props[CYLINDER, 3]
            reference[1] = track.volume[2 * step]
            reference[2] = props[CYLINDER, 0]
            reference[TRAPPED_MASS] = y[3 * CYLINDER + MASS]
            reference[TRAPPED_BURNED] = y[3 * CYLINDER + BURNED]
        for c in range(VECTOR_SIZE):
            work[c] = y[c] + 0.5 * h * k1[c]
        rates(
            work, 2 * step + 1, others, reference, props, plant, gas, track, conductances, False, k2
        )
        for c in range(VECTOR_SIZE):
            work[c] = y[c] + 0.5 * h * k2[c]
        rates(
            work, 2 * step + 1, others, reference, props, plant, gas, track, conductances, False, k3
        )
        for c in range(VECTOR_SIZE):
            work[c] = y[c] + h * k3[c]
        rates(
            work, 2 * step + 2, others, reference, props, plant, gas, track, conductances, False, k4
        )
        for c in range(VECTOR_SIZE):
            y[c] += h / 6.0 * (k1[c] + 2.0 * k2[c] + 2.0 * k3[c] + k4[c])
        for c in range(PER_STEP_TOTALS):
            history[step, c] = (y[STATE_SIZE + c] - before[c]) / h
