"""Two curves with their errors, and every figure that is read off their difference."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import erf, sqrt

import numpy as np
from scipy.interpolate import PchipInterpolator

from service.comparisons.figures import (
    Assumption,
    ComparedBand,
    ComparedPower,
    ComparedSpeed,
    ComparedTorque,
    Peaks,
    PowerDifference,
    TorqueDifference,
    Treatment,
    Verdict,
)
from service.comparisons.sharing import Side, SingleError, errors_of
from service.engine.inputs import FloatArray
from service.engine.uncertainty import (
    BOUND_WIDTH,
    EFFECT_ERROR,
    EFFECT_ERROR_SOURCE,
    MODEL_ERROR,
    MODEL_ERROR_SOURCE,
    UNCERTAINTIES,
)
from service.kits.power import FINE_STEP_RPM
from service.units import nm_to_lbft, rpm_to_rad_per_s, w_to_hp

_STATED = (
    *((each.name, each.size, each.source) for each in UNCERTAINTIES),
    ("model", f"{MODEL_ERROR:.0%} of torque", MODEL_ERROR_SOURCE),
    (
        "effect_of_the_change",
        f"{EFFECT_ERROR:.0%} of how far the curves lie apart, over all speeds",
        EFFECT_ERROR_SOURCE,
    ),
)

Reading = Callable[[FloatArray], float]
"""A linear reading of a curve on the fine speeds: its value at one, or its mean over some."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Told:
    """One reading of both curves in the unit of the reading."""

    a: float
    b: float
    low: float
    high: float
    verdict: Verdict
    probability: float


class Curves:
    """Both curves and their errors on fine speeds, and every figure that is read off them."""

    def __init__(self, a: Side, b: Side, coarse: FloatArray) -> None:
        fine = np.arange(coarse[0], coarse[-1], FINE_STEP_RPM)
        self._rpm = np.union1d(fine, coarse)
        self._sides = a, b
        self._a, self._b = (PchipInterpolator(coarse, side.torque)(self._rpm) for side in (a, b))
        self._errors = [
            SingleError(
                name=each.name,
                slot=each.slot,
                is_shared=each.is_shared,
                a=np.interp(self._rpm, coarse, each.a),
                b=np.interp(self._rpm, coarse, each.b),
            )
            for each in errors_of(a, b)
        ]

    def speed(self, rpm: float, *, converged: bool) -> ComparedSpeed:
        """Return the difference at one of the simulated speeds."""
        read = self._at(int(np.searchsorted(self._rpm, rpm)))
        torque = self._told(read, read)
        power = self._told(_in_watts(read, rpm), _in_watts(read, rpm))
        return ComparedSpeed(
            speed_rpm=rpm,
            torque=_torque(torque),
            power=_power(power),
            verdict=torque.verdict if converged else Verdict.NOT_TOLD_APART,
            probability_b_better=torque.probability,
            converged=converged,
        )

    def peaks(self) -> Peaks:
        """Return the difference of the highest points, each at its own speed."""
        torque_at = int(np.argmax(self._a)), int(np.argmax(self._b))
        power_at = int(np.argmax(self._a * self._rpm)), int(np.argmax(self._b * self._rpm))
        torque = self._told(*(self._at(place) for place in torque_at))
        power = self._told(
            *(_in_watts(self._at(place), float(self._rpm[place])) for place in power_at)
        )
        return Peaks(
            torque=_compared_torque(torque, *(float(self._rpm[place]) for place in torque_at)),
            power=_compared_power(power, *(float(self._rpm[place]) for place in power_at)),
        )

    def band(self, low_rpm: float, high_rpm: float) -> ComparedBand:
        """Return the difference of the means between two speeds."""
        torque, power = (
            self._told(read, read)
            for read in (self._mean(low_rpm, high_rpm), self._mean_power(low_rpm, high_rpm))
        )
        return ComparedBand(
            low_rpm=low_rpm,
            high_rpm=high_rpm,
            torque=_compared_torque(torque, None, None),
            power=_compared_power(power, None, None),
        )

    def assumptions(self, low_rpm: float, high_rpm: float) -> tuple[Assumption, ...]:
        """Return every error with what it contributes to the mean torque over a band."""
        read = self._mean(low_rpm, high_rpm)
        parts = [(each, each.variance(read(each.a), read(each.b))) for each in self._errors]
        whole = sum(variance for _, variance in parts)
        return tuple(
            _assumption(name, size, source, [each for each in parts if each[0].name == name], whole)
            for name, size, source in _STATED
        )

    def _told(self, read_a: Reading, read_b: Reading) -> _Told:
        a, b = read_a(self._a), read_b(self._b)
        variances = (each.variance(read_a(each.a), read_b(each.b)) for each in self._errors)
        deviation = sqrt(sum(variances))
        low, high = b - a - BOUND_WIDTH * deviation, b - a + BOUND_WIDTH * deviation
        return _Told(
            a=a,
            b=b,
            low=low,
            high=high,
            verdict=_verdict(low, high),
            probability=_probability_above_zero(b - a, deviation),
        )

    @staticmethod
    def _at(place: int) -> Reading:
        return lambda values: float(values[place])

    def _mean(self, low_rpm: float, high_rpm: float) -> Reading:
        rpm = np.linspace(low_rpm, high_rpm, self._rpm.size)
        return lambda values: float(
            np.trapezoid(np.interp(rpm, self._rpm, values), rpm) / (high_rpm - low_rpm)
        )

    def _mean_power(self, low_rpm: float, high_rpm: float) -> Reading:
        mean = self._mean(low_rpm, high_rpm)
        return lambda values: mean(values * rpm_to_rad_per_s(self._rpm))


def _in_watts(read: Reading, rpm: float) -> Reading:
    speed = float(rpm_to_rad_per_s(rpm))
    return lambda values: read(values) * speed


def _verdict(low: float, high: float) -> Verdict:
    if low > 0.0:
        return Verdict.BETTER
    return Verdict.WORSE if high < 0.0 else Verdict.NOT_TOLD_APART


def _probability_above_zero(difference: float, deviation: float) -> float:
    if deviation == 0.0:
        return 0.5 if difference == 0.0 else float(difference > 0.0)
    return 0.5 * (1.0 + erf(difference / deviation / sqrt(2.0)))


def _assumption(
    name: str,
    size: str,
    source: str,
    parts: Iterable[tuple[SingleError, float]],
    whole: float,
) -> Assumption:
    found = list(parts)
    own = [each for each, _ in found if not each.is_shared]
    treatment = Treatment.PARTLY_SHARED if own else Treatment.SHARED
    variance = sum(variance for _, variance in found)
    return Assumption(
        name=name,
        size=size,
        source=source,
        treatment=Treatment.OWN if len(own) == len(found) else treatment,
        own_to=tuple(each.slot for each in own if each.slot is not None),
        share_of_variance=variance / whole if whole > 0.0 else 0.0,
    )


def _compared_torque(told: _Told, a_rpm: float | None, b_rpm: float | None) -> ComparedTorque:
    return ComparedTorque(
        torque=_torque(told),
        a_speed_rpm=a_rpm,
        b_speed_rpm=b_rpm,
        verdict=told.verdict,
        probability_b_better=told.probability,
    )


def _compared_power(told: _Told, a_rpm: float | None, b_rpm: float | None) -> ComparedPower:
    return ComparedPower(
        power=_power(told),
        a_speed_rpm=a_rpm,
        b_speed_rpm=b_rpm,
        verdict=told.verdict,
        probability_b_better=told.probability,
    )


def _torque(told: _Told) -> TorqueDifference:
    return TorqueDifference(
        a_nm=told.a,
        b_nm=told.b,
        difference_nm=told.b - told.a,
        low_nm=told.low,
        high_nm=told.high,
        difference_lbft=float(nm_to_lbft(told.b - told.a)),
    )


def _power(told: _Told) -> PowerDifference:
    return PowerDifference(
        a_kw=told.a / 1e3,
        b_kw=told.b / 1e3,
        difference_kw=(told.b - told.a) / 1e3,
        low_kw=told.low / 1e3,
        high_kw=told.high / 1e3,
        difference_hp=float(w_to_hp(told.b - told.a)),
    )
