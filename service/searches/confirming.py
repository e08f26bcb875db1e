"""The first kits of a ranking by surface and by simulation."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from service.kits.figures import told
from service.quantities import EDGE_CONFIG
from service.searches.answer import Confirmation, ConfirmedKit, Confirming, RankedKit
from service.searches.curves import Curves
from service.searches.measured import curve_limits
from service.searches.missed import curve_of, missed_by_curve
from service.searches.question import Aim, SearchRequest, Weights
from service.searches.ranking import PRICE_UNIT_CENTS

NOT_ASKED = Confirmation(state=Confirming.NOT_ASKED, simulation_url=None, kits=(), swapped=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Yardstick:
    """What mixed values are taken against: the factory kit, read off the surface.

    Both are 0 where that kit does not go together; then nothing is measured against it.
    """

    __pydantic_config__ = EDGE_CONFIG

    peak_power: float
    """[W]"""
    mean_torque: float
    """[N m]"""
    torque_low_rpm: float
    torque_high_rpm: float


def confirmation(
    asked: SearchRequest,
    first: Sequence[RankedKit],
    simulated: Sequence[dict[str, Any]],
    yardstick: Yardstick,
    simulation_url: str,
) -> Confirmation:
    """Compare what was simulated so far, kit by kit as a sweep tells of them."""
    limits = curve_limits(asked)
    values = [
        ConfirmedKit(
            position=kit.position,
            simulated_position=0,
            value=kit.value,
            simulated_value=simulated_value(asked, kit, curves, yardstick),
            assessment_url=item["kit"]["assessment_url"],
            missed=missed_by_curve(curves, limits),
        )
        for kit, item in zip(first, simulated, strict=False)
        if item["kit"] is not None
        for curves in (_curve(item["kit"], asked.question.band_share),)
    ]
    # What misses a limit by simulation is no answer to the question, whatever its value.
    order = sorted(values, key=lambda one: (bool(one.missed), -one.simulated_value, one.position))
    kits = tuple(replace(one, simulated_position=order.index(one) + 1) for one in values)
    done = len(simulated) >= len(first)
    return Confirmation(
        state=Confirming.DONE if done else Confirming.RUNNING,
        simulation_url=simulation_url,
        kits=kits,
        swapped=any(kit.simulated_position != place + 1 for place, kit in enumerate(kits)),
    )


def simulated_value(
    asked: SearchRequest, kit: RankedKit, curves: Curves, yardstick: Yardstick
) -> float:
    """Return what a kit would be ranked by, had its curve come from the simulation.

    No simulation changes a price.
    """
    power = float(curves.peak_power[0])
    torque = float(curves.mean_torque(yardstick.torque_low_rpm, yardstick.torque_high_rpm)[0])
    money = sum(total.cents for total in kit.price.totals) / 100.0
    weights = asked.objective.weights or Weights()
    mix = weights.peak_power * power / (yardstick.peak_power or 1.0)
    mix += weights.mean_torque * torque / (yardstick.mean_torque or 1.0)
    values = {
        Aim.PEAK_POWER: power / 1e3,
        Aim.MEAN_TORQUE: torque,
        Aim.TORQUE_AT_SPEED: float(curves.torque_at(asked.objective.speed_rpm or 0.0)[0]),
        Aim.LEAST_PRICE: kit.value,
        Aim.POWER_PER_MONEY: (power - yardstick.peak_power) / money if money else 0.0,
        Aim.WEIGHTED: mix - weights.price * money * 100.0 / PRICE_UNIT_CENTS,
    }
    return told(values[asked.objective.aim])


def _curve(simulated: dict[str, Any], band_share: float) -> Curves:
    points = simulated["curve"]
    torque = [point["torque_nm"] for point in points]
    return curve_of(torque, float(points[-1]["speed_rpm"]), band_share)
