"""Plots of an answer, and the tables that stand beside them, from the same rows."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from service.catalog.specs import CylinderHeadsSpec
from service.pages.words import UnitSystem, whole
from service.plots.bars import Bar, BarPlot, draw_bars
from service.plots.lines import LinePlot, Reference, Series, draw_lines
from service.plots.points import Point, PointPlot, draw_points
from service.tabular import Column, Table, number_column

Answer = Mapping[str, Any]
"""An assessment as the API answers it."""
KITS = ("Kit A", "Kit B", "Kit C", "Kit D")
"""What kits side by side are called."""


def curve_table(answer: Answer, units: UnitSystem) -> Table:
    """Return torque and power over speed with their bounds."""
    torque, power = units.torque_of, units.power_of
    bounds = ("", " low", " high")
    columns = (
        number_column("rev/min"),
        *(number_column(f"torque{which}, {units.torque}") for which in bounds),
        *(number_column(f"power{which}, {units.power}") for which in bounds),
    )
    rows = tuple(
        (
            f"{point['speed_rpm']:.0f}",
            *(
                f"{torque(point[key]):.1f}"
                for key in ("torque_nm", "torque_low_nm", "torque_high_nm")
            ),
            *(f"{power(point[key]):.1f}" for key in ("power_kw", "power_low_kw", "power_high_kw")),
        )
        for point in answer["curve"]
    )
    return Table(columns=columns, rows=rows)


def curve_picture(answer: Answer, before: Answer | None, units: UnitSystem) -> str:
    """Draw torque and power, with the kit before the last swap where there is one."""
    series = [
        _torque(answer, "torque", units, bounds=True),
        _power(answer, "power", units, bounds=True),
    ]
    if before is not None:
        series += [_torque(before, "torque before", units), _power(before, "power before", units)]
    out = answer["band"]["air_runs_out_rpm"]
    references = () if out is None else (Reference(label="air runs out", x=out),)
    torque, power = answer["peaks"]["torque"], answer["peaks"]["power"]
    return draw_lines(
        LinePlot(
            key="curve",
            title="Torque and power over engine speed",
            description=(
                f"Torque peaks at {whole(units.torque_of(torque['torque_nm']))} {units.torque} "
                f"at {whole(torque['speed_rpm'])} rev/min, power at "
                f"{whole(units.power_of(power['power_kw']))} {units.power} "
                f"at {whole(power['speed_rpm'])} rev/min."
            ),
            x_label="engine speed, rev/min",
            y_label=f"torque in {units.torque}, power in {units.power}",
            series=tuple(series),
            references=references,
        )
    ).inline()


def curves_table(answers: Sequence[Answer], units: UnitSystem) -> Table:
    """Return torque and power of several kits over speed, side by side."""
    names = KITS[: len(answers)]
    by_speed = [
        {f"{point['speed_rpm']:.0f}": point for point in answer["curve"]} for answer in answers
    ]
    speeds = sorted({speed for each in by_speed for speed in each}, key=int)
    tells = (("torque_nm", units.torque_of), ("power_kw", units.power_of))
    return Table(
        columns=(
            number_column("rev/min"),
            *(number_column(f"torque {name}, {units.torque}") for name in names),
            *(number_column(f"power {name}, {units.power}") for name in names),
        ),
        rows=tuple(
            (
                speed,
                *(
                    f"{tell(each[speed][key]):.1f}" if speed in each else ""
                    for key, tell in tells
                    for each in by_speed
                ),
            )
            for speed in speeds
        ),
    )


def curve_pictures(answers: Sequence[Answer], units: UnitSystem) -> tuple[str, str]:
    """Draw torque, and below it power, of several kits: one line each."""
    drawn = (("Torque", _torque, units.torque), ("Power", _power, units.power))
    torque, power = (
        draw_lines(
            LinePlot(
                key=what.lower(),
                title=f"{what} of the kits over engine speed",
                description=f"One line each for {', '.join(KITS[: len(answers)])}.",
                x_label="engine speed, rev/min",
                y_label=f"{what.lower()}, {unit}",
                series=tuple(
                    draw(answer, name, units) for name, answer in zip(KITS, answers, strict=False)
                ),
            )
        ).inline()
        for what, draw, unit in drawn
    )
    return torque, power


def ladder_table(answer: Answer, units: UnitSystem) -> Table:
    """Return each restriction with its loss and what more room there would bring."""
    ladder = answer["restriction_ladder"]
    return Table(
        columns=(
            Column(name="where"),
            Column(name="side"),
            Column(name="part"),
            number_column(f"pressure loss, {units.loss}"),
            number_column(f"a tenth more room, {units.power}"),
        ),
        rows=tuple(
            (
                rung["name"],
                rung["side"],
                rung["sku"],
                f"{units.loss_of(rung['pressure_loss_kpa']):.2f}",
                f"{units.power_of(rung['power_gain_kw']):+.1f}",
            )
            for side in ("intake", "exhaust")
            for rung in ladder[side]
        ),
    )


def ladder_picture(answer: Answer, units: UnitSystem) -> str:
    """Draw the pressure that each restriction takes at peak power."""
    ladder = answer["restriction_ladder"]
    bars = tuple(
        Bar(
            label=rung["name"],
            value=units.loss_of(rung["pressure_loss_kpa"]),
            text=f"{units.loss_of(rung['pressure_loss_kpa']):.2f} {units.loss}",
        )
        for side in ("intake", "exhaust")
        for rung in ladder[side]
    )
    return draw_bars(
        BarPlot(
            key="ladder",
            title="Pressure lost on the way, at peak power",
            description="Intake first, then exhaust; the largest loss of each side stands on top.",
            x_label=f"pressure loss, {units.loss}",
            bars=bars,
        )
    ).inline()


def trade_picture(kits: Sequence[Mapping[str, Any]], units: UnitSystem) -> str:
    """Draw peak power over price; what no cheaper kit beats in power leads to its kit."""
    points = tuple(
        Point(
            label=str(place),
            x=float(kit["price"]),
            y=units.power_of(kit["power_kw"]),
            on_front=kit["rises"],
            tells=f"Kit {place}: {whole(units.power_of(kit['power_kw']))} {units.power}, "
            f"{kit['price']} {kit['currency']}",
            # The others are small, and many: they are reached by the table.
            address=kit["address"] if kit["rises"] else None,
        )
        for place, kit in enumerate(kits, 1)
    )
    return draw_points(
        PointPlot(
            key="trade",
            title="Power against price",
            description="Kits that no other beats in price, peak power and mean torque at once. "
            "Filled and joined: those that no cheaper kit beats in peak power alone.",
            x_label=f"price of the new parts, {kits[-1]['currency']}",
            y_label=f"peak power, {units.power}",
            points=points,
        )
    ).inline()


def rising(powers: Iterable[float]) -> list[bool]:
    """Return of kits, the cheapest first, which are stronger than every cheaper one."""
    best = -1.0
    found = []
    for power in powers:
        found.append(power > best)
        best = max(best, power)
    return found


def flow_table(heads: CylinderHeadsSpec, units: UnitSystem) -> Table:
    """Return what each port flowed on the bench at each lift."""
    return Table(
        columns=(
            Column(name="port"),
            number_column(f"valve lift, {units.length}"),
            number_column(f"flow, {units.flow}"),
        ),
        rows=tuple(
            (one.label, f"{x:.1f}" if units.key == "si" else f"{x:.3f}", f"{y:.1f}")
            for one in _ports(heads, units)
            for x, y in zip(one.x, one.y, strict=True)
        ),
    )


def bench_depression(heads: CylinderHeadsSpec, units: UnitSystem) -> str:
    """Write at which depression the ports were flowed."""
    return f"{units.depression_of(heads.depression_inh2o):.3g} {units.depression}"


def flow_picture(heads: CylinderHeadsSpec, units: UnitSystem) -> str:
    """Draw what both ports flow against the lift of their valves."""
    ports = _ports(heads, units)
    best = " and ".join(f"{max(one.y):.0f} {units.flow} ({one.label})" for one in ports)
    return draw_lines(
        LinePlot(
            key="flow",
            title="Flow of one port against the lift of its valve",
            description=f"At {bench_depression(heads, units)} on the bench, at most {best}.",
            x_label=f"valve lift, {units.length}",
            y_label=f"flow, {units.flow}",
            series=ports,
        )
    ).inline()


def _ports(heads: CylinderHeadsSpec, units: UnitSystem) -> tuple[Series, ...]:
    return tuple(
        Series(
            label=label,
            x=tuple(units.length_of(one.lift_mm) for one in port.flow),
            y=tuple(units.flow_of(one.flow_cfm) for one in port.flow),
        )
        for label, port in (("intake", heads.intake), ("exhaust", heads.exhaust))
    )


def _torque(answer: Answer, label: str, units: UnitSystem, *, bounds: bool = False) -> Series:
    return _series(answer, label, "torque{}_nm", units.torque_of, bounds=bounds)


def _power(answer: Answer, label: str, units: UnitSystem, *, bounds: bool = False) -> Series:
    return _series(answer, label, "power{}_kw", units.power_of, bounds=bounds)


def _series(
    answer: Answer, label: str, key: str, tell: Callable[[float], float], *, bounds: bool
) -> Series:
    def of(which: str) -> tuple[float, ...]:
        return tuple(tell(point[key.format(which)]) for point in answer["curve"])

    low, high = (of("_low"), of("_high")) if bounds else ((), ())
    speeds = tuple(point["speed_rpm"] for point in answer["curve"])
    return Series(label=label, x=speeds, y=of(""), low=low, high=high)
