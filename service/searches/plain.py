"""A search as plain text for a terminal."""

from collections.abc import Sequence

from service.kits.money import PriceBlock
from service.kits.plain import wrapped
from service.searches.answer import Confirmation, Proof, RankedKit, Search, TradedKit
from service.searches.field import Removal
from service.searches.why import MissedLimit, Rise

MOST_TRADED = 12
"""Of the front, as many are printed, evenly spaced; the answer for machines has them all."""


def in_full(search: Search) -> str:
    """Return what was found, and what it rests on."""
    result = search.result
    blocks = [
        _head(search),
        _ranking(result.ranking) if result.ranking else "Nothing keeps every limit.",
    ]
    if result.openings:
        rows = [
            f"  without {' and '.join(one.limits)}: {one.kits} kits; the best: {_short(one.best)}"
            for one in result.openings
        ]
        blocks.append("\n".join(["What would have to give", *rows]))
    for obstacle in result.obstacles:
        title = f"Nothing goes together; in the way: {' and '.join(obstacle.rules)}"
        rows = [wrapped(f"{each.reason} {each.remedy}") for each in obstacle.fit]
        blocks.append("\n".join([title, *rows]))
    if result.what_it_takes:
        rows = [
            f"  {', '.join(rise.changes.values())}: {_gain(rise)}, {_money(rise.cost)}; "
            + ("keeps every limit" if rise.reaches_limits else _short_of(rise.missed))
            + f"; air is then held up most at: {rise.largest_loss.name}"
            for rise in result.what_it_takes
        ]
        blocks.append("\n".join(["What it takes from the kit in hand", *rows]))
    if result.compared is not None:
        blocks.append(_compared(search))
    if len(result.front) > 1:
        blocks.append(_front(result.front))
    blocks += [_proof(result.proof), _confirmed(search.confirmation)]
    if search.since_then is not None:
        rows = [f"  {line}" for line in search.since_then.catalogue] or ["  nothing"]
        blocks.append("\n".join([f"Changed since search {search.since_then.repeats}", *rows]))
    blocks.append("\n".join(["Cautions", *map(wrapped, result.cautions)]))
    return "\n\n".join(blocks)


def _head(search: Search) -> str:
    question = search.request.question
    return (
        f"{question.family}, {question.model_year}, {question.use.value} use, {question.place}; "
        f"ranked by {search.request.objective.aim.value.replace('_', ' ')}"
    )


def _ranking(kits: Sequence[RankedKit]) -> str:
    head = "  #     kW (low-high)    rev/min   band         N·m mean   price            paper"
    rows = []
    for kit in kits:
        score = kit.score
        low, high = score.peak_power_low_kw, score.peak_power_high_kw
        rows.append(
            f"{kit.position:3}  {score.peak_power_kw:5.0f} ({low:.0f}-{high:.0f})".ljust(24)
            + f"{score.peak_power_rpm:6.0f}   {score.band_low_rpm:.0f}-{score.band_high_rpm:.0f}"
            f"   {kit.mean_torque_nm:6.0f}     {_money(kit.price):<16} "
            f"{kit.paperwork.value.replace('_', ' ')}"
        )
        rows.append("     " + ", ".join(kit.assessment.parts.values() or ("the factory kit",)))
        warns = [each.code for each in kit.fit]
        if warns:
            rows.append(f"     to see to: {', '.join(warns)}")
    return "\n".join([head, *rows])


def _short(kit: RankedKit) -> str:
    chosen = ", ".join(kit.assessment.parts.values()) or "the factory kit"
    return f"{kit.score.peak_power_kw:.0f} kW, {_money(kit.price)} ({chosen})"


def _compared(search: Search) -> str:
    told = search.result.compared
    if told is None:
        return ""
    if not told.goes_together:
        why = "it does not go together. " + " ".join(
            f"{each.reason} {each.remedy}" for each in told.fit
        )
    elif told.broken_limits:
        why = " ".join(f"{each.reason} {each.remedy}" for each in told.missed)
    else:
        why = f"it is number {told.position}"
    if told.outside_fitted_range:
        why += "; its curve cannot be read off the surface, so that it is in no ranking"
    return "\n".join(["The kit you named", wrapped(why)])


def _front(front: Sequence[TradedKit]) -> str:
    step = max(1, -(-len(front) // MOST_TRADED))
    shown = sorted({*range(0, len(front), step), len(front) - 1})
    rows = [
        f"  {_money(front[n].price):<16} {front[n].peak_power_kw:5.0f} kW "
        f"{front[n].mean_torque_nm:6.0f} N·m on the mean"
        for n in shown
    ]
    title = f"What money brings: {len(front)} kits that no other beats, {len(shown)} of them"
    return "\n".join([title, *rows])


def _proof(proof: Proof) -> str:
    def lines(removals: Sequence[Removal]) -> list[str]:
        return [
            f"  {one.name:<48}{one.in_order:14,} "
            + ("not counted" if one.alone is None else f"{one.alone:,}").rjust(14)
            for one in removals
            if one.alone or one.in_order
        ]

    head = (
        f"{proof.combinations:,} combinations; removed".ljust(50) + "      in order          alone"
    )
    looked = "every combination was looked at"
    if not proof.complete:
        looked = f"not all were looked at, but all with {', '.join(proof.looked_at) or 'none'}"
    last = (
        f"  left: {proof.fitting:,}; {looked}. Curves are read off a surface, which is off by "
        f"less than {proof.surface_peak_power_error_p95:.1%} in peak power for 95 % of kits."
    )
    return "\n".join([head, *lines(proof.rules), *lines(proof.limits), wrapped(last)])


def _confirmed(confirmation: Confirmation) -> str:
    rows = [
        f"  number {kit.position}: {kit.value:.1f} by surface, {kit.simulated_value:.1f} simulated "
        f"(number {kit.simulated_position})" + ("; " + _short_of(kit.missed) if kit.missed else "")
        for kit in confirmation.kits
    ]
    title = f"Simulated: {confirmation.state.value.replace('_', ' ')}"
    return "\n".join([title, *rows])


def _short_of(missed: Sequence[MissedLimit]) -> str:
    return "not enough: " + " ".join(each.reason for each in missed)


def _gain(rise: Rise) -> str:
    if rise.power_gain_kw is None or rise.mean_torque_gain_nm is None:
        return f"{rise.peak_power_kw:.0f} kW"
    return f"{rise.power_gain_kw:+.0f} kW, {rise.mean_torque_gain_nm:+.0f} N·m on the mean"


def _money(price: PriceBlock) -> str:
    return " + ".join(str(one) for one in price.totals) or "nothing to buy"
