"""A comparison as plain text for a terminal."""

from service.comparisons.figures import (
    Assumption,
    ComparedPower,
    ComparedTorque,
    Comparison,
    Verdict,
)
from service.kits.plain import wrapped

ALMOST_SURE = 0.99
WORDS = {
    Verdict.BETTER: "B is better",
    Verdict.WORSE: "B is worse",
    Verdict.NOT_TOLD_APART: "not told apart",
}


def as_table(comparison: Comparison) -> str:
    """Return the difference speed by speed, its peaks and means, and what it rests on."""
    blocks = (
        _changed(comparison),
        _speeds(comparison),
        _summary(comparison),
        _assumptions(comparison),
        "\n".join(["Cautions", *map(wrapped, comparison.cautions)]),
    )
    return "\n\n".join(blocks)


def _changed(comparison: Comparison) -> str:
    rows = [f"  {each.slot:<18} {each.a_sku} -> {each.b_sku}" for each in comparison.changed]
    return "\n".join([f"{comparison.request.a.family}: kit A -> kit B", *(rows or ["  no part"])])


def _speeds(comparison: Comparison) -> str:
    rows = [
        f"{each.speed_rpm:7.0f} {each.torque.a_nm:7.0f} {each.torque.b_nm:7.0f} "
        f"{each.torque.difference_nm:+8.1f}  "
        + f"{each.torque.low_nm:+.1f} to {each.torque.high_nm:+.1f}".ljust(18)
        + f"{each.power.difference_kw:+7.1f}  {_sure(each.probability_b_better)}  "
        + (WORDS[each.verdict] if each.converged else "did not converge")
        for each in comparison.speeds
    ]
    head = "rev/min   A N·m   B N·m    B - A  low to high       B - A kW  B up verdict"
    return "\n".join([head, *rows])


def _sure(probability: float) -> str:
    """Return a probability as whole per cent; nothing is ever certain."""
    if probability > ALMOST_SURE:
        return ">99%"
    return "< 1%" if probability < 1.0 - ALMOST_SURE else f"{probability:4.0%}"


def _summary(comparison: Comparison) -> str:
    peaks, band = comparison.peaks, comparison.band
    means = f"{band.low_rpm:.0f} to {band.high_rpm:.0f} rev/min"
    return "\n".join(
        [
            _power("peak power", peaks.power),
            _torque("peak torque", peaks.torque),
            _power(f"mean power, {means}", band.power),
            _torque(f"mean torque, {means}", band.torque),
        ]
    )


def _power(name: str, compared: ComparedPower) -> str:
    power = compared.power
    return (
        f"{name:<36}{power.a_kw:6.0f} -> {power.b_kw:.0f} kW: {power.difference_kw:+.1f} kW "
        f"({power.low_kw:+.1f} to {power.high_kw:+.1f}; {power.difference_hp:+.1f} hp): "
        f"{WORDS[compared.verdict]}"
    )


def _torque(name: str, compared: ComparedTorque) -> str:
    torque = compared.torque
    return (
        f"{name:<36}{torque.a_nm:6.0f} -> {torque.b_nm:.0f} N·m: {torque.difference_nm:+.1f} N·m "
        f"({torque.low_nm:+.1f} to {torque.high_nm:+.1f}; {torque.difference_lbft:+.1f} lbf·ft): "
        f"{WORDS[compared.verdict]}"
    )


def _assumptions(comparison: Comparison) -> str:
    by_size = sorted(comparison.assumptions, key=lambda each: -each.share_of_variance)
    basis = comparison.basis_a
    title = (
        f"Power {basis.rating}; corrected to {basis.standard.value}. Low to high: "
        f"{comparison.interval}. What makes the interval of the mean torque this wide:"
    )
    return "\n".join([wrapped(title), *(wrapped(_assumption(each)) for each in by_size)])


def _assumption(assumption: Assumption) -> str:
    whose = assumption.treatment.value.replace("_", " ")
    if assumption.own_to:
        whose += f" ({', '.join(assumption.own_to)} differ)"
    return (
        f"{assumption.share_of_variance:4.0%} {assumption.name}: {assumption.size}; {whose} "
        f"[{assumption.source}]"
    )
