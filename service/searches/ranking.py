"""Which kits are best: the ranking with its tie rule, and the front of what can be traded."""

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from service.catalog.slots import Slot
from service.engine.inputs import FloatArray
from service.errors import FieldProblem, InvalidInput
from service.searches.field import Field
from service.searches.question import Aim, SearchRequest

Rows = NDArray[np.intp]
Hand = NDArray[np.intp]
"""Of shape (slots,): the member in each."""
THINNED, STRIDE = 20_000, 16
"""Of more points than this, those go first that a sixteenth of them clearly beats."""
PRICE_UNIT_CENTS = 1_000_000
"""What the weight of a price counts: 10,000 of the currency."""


class NoYardstick(InvalidInput):
    """Kits were to be measured against a factory kit that does not go together."""

    def __init__(self) -> None:
        super().__init__(
            FieldProblem(
                pointer="/objective/aim",
                code="no_yardstick",
                detail="This aim measures against the factory kit, which does not go together on "
                "this engine as it stands; rank by another.",
            )
        )


def values_of(field: Field, asked: SearchRequest) -> FloatArray:
    """Return what every kit is ranked by; the greater, the better."""
    curves, aim = field.curves, asked.objective.aim
    low, high = torque_range(field, asked)
    if aim is Aim.PEAK_POWER:
        return np.asarray(curves.peak_power[field.curve_of] / 1e3)
    if aim is Aim.MEAN_TORQUE:
        return np.asarray(curves.mean_torque(low, high)[field.curve_of])
    if aim is Aim.TORQUE_AT_SPEED:
        return np.asarray(curves.torque_at(asked.objective.speed_rpm or 0.0)[field.curve_of])
    money = np.where(field.cents < 0, np.inf, field.cents / 100.0)
    # Of no kits there is no value either, whatever they would be measured against.
    if aim is Aim.LEAST_PRICE or not len(field.rows):
        return np.asarray(-money)
    factory = factory_row(field)
    if factory is None:
        raise NoYardstick
    power = curves.peak_power[field.curve_of]
    if aim is Aim.POWER_PER_MONEY:
        gain = power - power[factory]
        return np.asarray(np.divide(gain, money, out=np.zeros_like(gain), where=money > 0.0))
    weights = asked.objective.weights
    torque = curves.mean_torque(low, high)[field.curve_of]
    mix = np.zeros(len(field.rows))
    if weights is not None:
        mix += weights.peak_power * power / power[factory]
        mix += weights.mean_torque * torque / torque[factory]
        if weights.price > 0.0:
            mix -= weights.price * money * 100.0 / PRICE_UNIT_CENTS
    return mix


def torque_range(field: Field, asked: SearchRequest) -> tuple[float, float]:
    """Return over which speeds mean torque is taken."""
    if asked.torque_range is not None:
        return asked.torque_range.low_rpm, asked.torque_range.high_rpm
    return 2000.0, field.kit.rev_limit_rpm


def factory_row(field: Field) -> int | None:
    """Return the row of the factory kit; None: it does not go together on this engine."""
    return row_of(field, hand_of(field, {s: part.sku for s, part in field.kit.parts.items()}))


def hand_of(field: Field, skus: Mapping[Slot, str]) -> Hand:
    """Return the members of a kit in hand; -1: a part that is not offered any more."""
    offered = {slot: [part.sku for part in parts] for slot, parts in field.offer.members.items()}
    return np.array(
        [
            members.index(skus[slot]) if skus[slot] in members else -1
            for slot, members in offered.items()
        ]
    )


def row_of(field: Field, hand: Hand) -> int | None:
    """Return where a kit stands among those that go together; None: it does not."""
    same = np.flatnonzero((field.rows == hand).all(axis=1))
    return int(same[0]) if same.size else None


def best_rows(field: Field, values: FloatArray, among: Rows, count: int) -> Rows:
    """Return the best rows: by value, then by the lower price, then by SKUs in slot order."""
    own = values[among]
    if count < among.size:
        least = np.partition(own, among.size - count)[among.size - count]
        keep = own >= least
        among, own = among[keep], own[keep]
    price = np.where(field.cents[among] < 0, np.iinfo(np.int64).max, field.cents[among])
    return np.asarray(among[np.lexsort((among, price, -own))][:count])


def ranked(
    field: Field, values: FloatArray, among: Rows, count: int, most_alike: int | None
) -> Rows:
    """Return the first rows of the ranking; with `most_alike`, near copies are passed over."""
    if most_alike is None:
        return best_rows(field, values, among, count)
    chosen: list[int] = []
    for row in _in_order(field, values, among, count):
        members = field.rows[row]
        apart = (field.rows[chosen] != members).sum(axis=1) if chosen else np.array([])
        if int((apart == 1).sum()) < most_alike:
            chosen.append(row)
            if len(chosen) == count:
                break
    return np.array(chosen, dtype=np.intp)


def _in_order(field: Field, values: FloatArray, among: Rows, count: int) -> Iterator[int]:
    """Yield rows from the best on, looking further only as far as they are asked for."""
    done = 0
    step = max(4 * count, 64)
    while done < among.size:
        best = best_rows(field, values, among, min(done + step, among.size))
        yield from (int(row) for row in best[done:])
        done, step = best.size, 4 * step


def front(field: Field, asked: SearchRequest, among: Rows) -> Rows:
    """Return the kits that no other beats, from the cheapest on.

    One beats another that is as cheap, as strong and has as much mean torque, and is better
    in one of them; of equal ones the first by SKUs stays.
    """
    among = _cheapest_of_each_curve(field, among)
    curve, cents = field.curve_of[among], field.cents[among]
    power = field.curves.peak_power[curve]
    torque = field.curves.mean_torque(*torque_range(field, asked))[curve]
    if among.size > THINNED:
        some = np.arange(0, among.size, STRIDE)
        near = some[_undominated(cents[some], power[some], torque[some], among[some])]
        left = _not_beaten_by(near, cents, power, torque)
        among, cents, power, torque = among[left], cents[left], power[left], torque[left]
    return among[_undominated(cents, power, torque, among)]


def _cheapest_of_each_curve(field: Field, among: Rows) -> Rows:
    """Return of kits with one curve the cheapest, of equal ones the first by SKUs."""
    asked = np.zeros(len(field.rows), dtype=bool)
    asked[among] = field.cents[among] >= 0
    order = field.by_curve[asked[field.by_curve]]
    curve = field.curve_of[order]
    first = np.ones(order.size, dtype=bool)
    first[1:] = curve[1:] != curve[:-1]
    return np.asarray(order[first])


def _not_beaten_by(
    near: Rows, cents: NDArray[np.int64], power: FloatArray, torque: FloatArray
) -> Rows:
    """Return the points that none of a few clearly beats; those few come cheapest first."""
    order = np.argsort(cents, kind="stable")
    ends = np.append(np.searchsorted(cents[order], cents[near]), order.size)
    kept = [order[: ends[0]]]
    stair = _Stair()
    for point, start, end in zip(near, ends[:-1], ends[1:], strict=True):
        stair.add(power[point], torque[point])
        part = order[start:end]
        kept.append(part[stair.best_torque(power[part]) <= torque[part]])
    return np.concatenate(kept)


class _Stair:
    """The most torque that some kit has at a power or more."""

    def __init__(self) -> None:
        self.power, self.torque = np.array([np.inf]), np.array([-np.inf])

    def best_torque(self, power: FloatArray) -> FloatArray:
        return self.torque[np.searchsorted(self.power, power)]

    def add(self, power: float, torque: float) -> bool:
        """Add a step; return false where one is there that is as high on both sides."""
        place = int(np.searchsorted(self.power, power))
        if self.torque[place] >= torque:
            return False
        lower = int(np.searchsorted(-self.torque[:place], -torque))
        upper = place + int(self.power[place] == power)
        self.power = np.r_[self.power[:lower], power, self.power[upper:]]
        self.torque = np.r_[self.torque[:lower], torque, self.torque[upper:]]
        return True


def _undominated(
    cents: NDArray[np.int64], power: FloatArray, torque: FloatArray, tie: Rows
) -> Rows:
    """Return which points no other dominates, from the cheapest on."""
    order = np.lexsort((tie, -torque, -power, cents))
    kept: list[int] = []
    stair = _Stair()
    start, size = 0, 64
    while start < order.size:
        part = order[start : start + size]
        start, size = start + size, min(2 * size, 1 << 15)
        beaten = stair.best_torque(power[part]) >= torque[part]
        kept += [int(point) for point in part[~beaten] if stair.add(power[point], torque[point])]
    return np.array(kept, dtype=np.intp)
