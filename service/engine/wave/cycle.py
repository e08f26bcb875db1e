"""Prototype of the wave tier's driver."""

import numpy as np

from service.engine import kernels as base
from service.engine.fuels import FUELS
from service.engine.gas import gas_table
from service.engine.geometry import swept_volume
from service.engine.plant import gas_of, plant_of, series_area, track_of
from service.engine.wave import kernels


def pipe_gas(gas, low, high, viscosity):
    T = gas.temperature_start + gas.temperature_step * np.arange(gas.fresh_energy.shape[1])
    mid = gas.burned_energy.shape[0] // 3
    rows = [gas.fresh_energy[base.CHARGE], gas.burned_energy[mid]]
    (f0, f1), (b0, b1) = low, high
    e = [np.interp((a, b), T, row) for row, (a, b) in zip(rows, (low, high))]
    cv = np.array([(x[1] - x[0]) / (b - a) for x, (a, b) in zip(e, (low, high))])
    form = np.array([x[0] - c * a for x, c, (a, _) in zip(e, cv, (low, high))])
    return kernels.PipeGas(gas.charge_gas_constant, float(gas.burned_gas_constant[0, 0]), *map(float, cv), *map(float, form), viscosity)


def pipe_of(duct, cells, reverse):
    share = np.linspace(0, 1, cells + 1)
    d0, d1 = np.sqrt(duct.area_at_far_end), np.sqrt(duct.area_at_valve)
    face = (d0 + (d1 - d0) * share) ** 2
    if reverse:
        face = face[::-1].copy()
    cell = (face[1:] + face[:-1] + np.sqrt(face[1:] * face[:-1])) / 3
    return kernels.Pipe(duct.length / cells, face, cell, np.sqrt(4 * cell / np.pi), duct.wall_temperature)


def fill(n, p, T, share, pg):
    R = kernels.gas_constant(pg, share)
    cv = kernels.specific_heat(pg, share)
    rho = p / R / T
    s = np.zeros((n, 4))
    s[:, 0] = rho
    s[:, 2] = rho * (kernels.formation(pg, share) + cv * T)
    s[:, 3] = rho * share
    ends = np.tile(np.array([rho, 0.0, p, share]), (2, 1))
    return s, ends


def simulate(spec, ambient, speed, cell=0.03, courant=0.7, tol=1e-4, most=40, hot_cell=1.8, fixed=None, relax=0.5):
    gas = gas_of(gas_table(FUELS[spec.fuel], spec.air_fuel_ratio))
    n_in = max(int(round(spec.runner.length / cell)), 4)
    n_out = max(int(round(spec.primary.length / (cell * hot_cell))), 4)
    dt = courant * min(spec.runner.length / n_in / 460.0, spec.primary.length / n_out / 950.0)
    period = 4 * np.pi / speed
    steps = int(np.ceil(period / dt / 24)) * 24
    track = track_of(spec, speed, steps)
    plant = plant_of(spec, ambient, speed, track)
    ig = pipe_gas(gas, (280.0, 420.0), (700.0, 1300.0), 1.9e-5)
    eg = pipe_gas(gas, (600.0, 1200.0), (800.0, 1500.0), 4.5e-5)
    pi_, pe = pipe_of(spec.runner, n_in, False), pipe_of(spec.primary, n_out, True)
    has = bool(spec.below_plenum)
    shared = kernels.Shared(
        steps, period / steps, spec.cylinders, spec.cylinders_per_collector, has, ambient.dry_pressure,
        ambient.temperature, spec.plenum_volume, spec.gallery_volume if has else 1.0, spec.collector_volume,
        series_area(spec.above_plenum), series_area(spec.below_plenum) if has else 0.0,
        spec.runner.far_end_effective_area, spec.primary.far_end_effective_area,
        series_area(spec.system) * spec.cylinders_per_collector / spec.cylinders,
    )
    T = gas.temperature_start + gas.temperature_step * np.arange(gas.fresh_energy.shape[1])
    p0 = ambient.dry_pressure
    cyl = np.zeros(3)
    m = p0 * track.volume[0] / gas.charge_gas_constant / 350
    cyl[:] = m, m * np.interp(350, T, gas.fresh_energy[1]), 0
    vol = np.zeros((4, 3))
    props = np.zeros((4, 4)); props[0, 0] = 350
    for k, (V, temp, e, R, b) in {1: (shared.plenum_volume, 300, gas.fresh_energy[0], gas.air_gas_constant, 0),
        2: (shared.gallery_volume, 300, gas.fresh_energy[0], gas.air_gas_constant, 0),
        3: (shared.collector_volume, 900, gas.burned_energy[5], gas.burned_gas_constant[0, 0], 1)}.items():
        m = p0 * V / R / temp
        vol[k] = m, m * np.interp(temp, T, e), m * b
        props[k, 0] = temp
    si, ei = fill(n_in, p0, 310.0, 0.0, ig)
    se, ee = fill(n_out, p0, 1000.0, 1.0, eg)
    hist = np.zeros((steps, 8)); hist[:, 6:] = p0
    ref = np.zeros(6); trace = np.zeros((steps, 12)); tot = np.zeros(kernels.TOTALS)
    w = tr = 0.0
    log = []
    for c in range(1, most + 1):
        tot[:] = 0
        cfl = kernels.march_waves(cyl, vol, si, se, ei, ee, hist, ref, props, tot, shared, plant, gas, track, pi_, pe, ig, eg, trace, 1.0 if c == 1 else relax)
        w0, w = w, tot[kernels.WORK]
        t0, tr = tr, ref[4]
        log.append(w)
        if abs(w - w0) < tol * abs(w) and abs(tr - t0) < tol * tr:
            break
    N, nk = spec.cylinders, spec.cylinders_per_collector
    vd = float(swept_volume(spec.bore, spec.stroke))
    air = tot[kernels.THROTTLE_MASS] / N
    rho = p0 / gas.air_gas_constant / ambient.temperature
    K = kernels
    mb = (air + tot[K.FUEL_MASS] - tot[K.SYSTEM_MASS] / nk) / air
    return dict(n=steps, cyc=c, cfl=cfl, imep=w / vd / 1e5, ve=air / rho / vd, res=ref[5] / ref[4], mb=mb,
        mt=(air - tot[K.MOUTH_MASS]) / air, mi=(tot[K.INTAKE_MASS] - tot[K.MOUTH_MASS] - tot[K.FUEL_MASS]) / air,
        pmax=trace[:, 0].max() / 1e5, pk=trace[:, 4].mean() / 1e3, Tk=trace[:, 6].mean(), log=log, trace=trace, tot=tot, cells=(n_in, n_out))
