"""The plots of a printed quote: the same figures as its tables, as lines."""

from service.kits.assessment import Assessment
from service.kits.ladder import RestrictionLadder
from service.plots.bars import Bar, BarPlot, draw_bars
from service.plots.lines import LinePlot, Reference, Series, draw_lines

PrintedDrawing = dict[str, str]
"""`svg`, its `title`, and what it `says` to those who do not see it."""


def curve_drawing(assessment: Assessment) -> PrintedDrawing:
    """Draw torque and power over engine speed, with the bounds of both."""
    curve, out = assessment.curve, assessment.band.air_runs_out_rpm
    speeds = tuple(point.speed_rpm for point in curve)
    torque, power = assessment.peaks.torque, assessment.peaks.power
    says = (
        f"Torque peaks at {torque.torque_nm:.0f} N·m at {torque.speed_rpm:.0f} rev/min, power at "
        f"{power.power_kw:.0f} kW at {power.speed_rpm:.0f} rev/min; shaded from low to high."
    )
    plot = LinePlot(
        key="curve",
        title="Torque and power over engine speed",
        description=says,
        x_label="engine speed, rev/min",
        y_label="torque in N·m, power in kW",
        series=(
            Series(
                label="torque",
                x=speeds,
                y=tuple(point.torque_nm for point in curve),
                low=tuple(point.torque_low_nm for point in curve),
                high=tuple(point.torque_high_nm for point in curve),
            ),
            Series(
                label="power",
                x=speeds,
                y=tuple(point.power_kw for point in curve),
                low=tuple(point.power_low_kw for point in curve),
                high=tuple(point.power_high_kw for point in curve),
            ),
        ),
        references=() if out is None else (Reference(label="air runs out", x=out),),
    )
    return {"svg": draw_lines(plot).file(), "title": plot.title, "says": says}


def ladder_drawing(ladder: RestrictionLadder) -> PrintedDrawing:
    """Draw the pressure that each restriction takes at peak power."""
    says = "Pressure lost at each place: intake first, then exhaust."
    plot = BarPlot(
        key="ladder",
        title="Pressure lost on the way, at peak power",
        description=says,
        x_label="pressure loss, kPa",
        bars=tuple(
            Bar(
                label=rung.name,
                value=rung.pressure_loss_kpa,
                text=f"{rung.pressure_loss_kpa:.1f} kPa",
            )
            for rung in (*ladder.intake, *ladder.exhaust)
        ),
    )
    return {"svg": draw_bars(plot).file(), "title": plot.title, "says": says}
