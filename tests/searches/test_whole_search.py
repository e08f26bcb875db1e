"""A whole search over made catalogues: rules, limits, prices, ranking, against every kit by hand.

Each combination is put together, asked of every fit check that an assessment runs, held
against the limits by plain comparisons of its parts and of its curve, and sorted.
"""

from dataclasses import dataclass, replace
from functools import cache
from itertools import product
from typing import Any

import numpy as np

from service.catalog.parts import Part
from service.catalog.rules import RuleKind, RuleQuantity, RuleSeverity, Selector, ShopRule
from service.catalog.slots import KIT_SLOTS, Slot
from service.catalog.specs import ThrottleDrive
from service.fitup.check import fit_findings
from service.kits.assessment import Surroundings
from service.kits.kit import Kit
from service.kits.power import CURVE_POINTS
from service.kits.views import fit_subject
from service.money import Price
from service.searches.curves import read_curves
from service.searches.field import (
    Field,
    cents_of,
    fit_removals,
    kit_with,
    lead_days,
    lead_days_of,
    price_cents,
)
from service.searches.joining import listing, raw_count
from service.searches.question import (
    Aim,
    Limits,
    Objective,
    SearchRequest,
    SpeedRange,
    TorqueAt,
    Weights,
)
from service.searches.ranking import NoYardstick
from service.searches.screens import Offer, fit_screens
from service.searches.search import search
from service.searches.task import Task
from tests.factories import make_family, make_part
from tests.kits.assembled import around, level_torque
from tests.searches.made import LIMITS_RPM, PRICES, plain_question, stock_kit
from tests.surfaces.made import made_surface

CATALOGUES = 1000
VARIED = (Slot.INTAKE_MANIFOLD, Slot.CAMSHAFT, Slot.THROTTLE_BODY, Slot.CALIBRATION)
RANGE = SpeedRange(low_rpm=2500.0, high_rpm=4800.0)
SPEED = 3000.0
ON_PAGE = 2
QUESTION = replace(plain_question(), model_year=make_family().first_model_year)


@dataclass(frozen=True, kw_only=True)
class Made:
    """One catalogue, and what is asked of it."""

    field: Field
    rules: tuple[ShopRule, ...]
    asked: SearchRequest


def made(seed: int) -> Made:
    generator = np.random.default_rng(seed)
    offer = Offer(members={slot: members(slot, generator) for slot in KIT_SLOTS})
    rules = tuple(rule(number, offer, generator) for number in range(int(generator.integers(4))))
    factory = replace(stock_kit(offer), request=QUESTION)
    screens = fit_screens(offer, lambda parts: fit_subject(kit_with(factory, parts)), rules)
    rows = listing(offer.sizes, screens, 100_000).rows
    kinds = max(1, len(rows) // 2)
    torque = generator.integers(300, 330, size=(kinds, CURVE_POINTS)).astype(float)
    curve_of = generator.integers(0, kinds, size=len(rows)).astype(np.int32)
    cents, currency = cents_of(factory, offer, rows)
    field = Field(
        kit=factory,
        offer=offer,
        screens=tuple(screens),
        combinations=raw_count(offer.sizes),
        removals=tuple(fit_removals(offer.sizes, screens)),
        rows=rows,
        cents=cents,
        lead_days=lead_days_of(factory, offer, rows),
        curve_of=curve_of,
        by_curve=np.lexsort((cents, curve_of)).astype(np.int32),
        curves=read_curves(torque, generator.integers(0, 2, size=kinds), LIMITS_RPM, 0.9),
        currency=currency,
        complete=True,
        proven=(),
    )
    return Made(field=field, rules=rules, asked=asked(offer, generator))


def members(slot: Slot, generator: np.random.Generator) -> tuple[Part, ...]:
    stock: Any = make_part(slot)
    found = [stock]
    for number in range(int(generator.integers(0, 3)) if slot in VARIED else 0):
        spec = stock.spec
        if slot is Slot.CALIBRATION:
            spec = replace(spec, octane_aki_min=float(generator.choice([87.0, 91.0, 93.0])))
        if slot is Slot.THROTTLE_BODY:
            spec = replace(spec, drive=ThrottleDrive(generator.choice(list(ThrottleDrive))))
        found.append(
            replace(
                stock,
                sku=f"{stock.sku}-{number}",
                spec=spec,
                factory_part=False,
                price_cents=int(generator.choice(PRICES)),
                stock_count=int(generator.integers(0, 2)),
                lead_time_days=int(generator.integers(0, 9)),
            )
        )
    return tuple(sorted(found, key=lambda part: part.sku))


def rule(number: int, offer: Offer, generator: np.random.Generator) -> ShopRule:
    """One that needs, excludes or limits, between parts that may or may not be there."""
    first, second = generator.choice(len(VARIED), size=2, replace=False)
    kind = RuleKind(generator.choice(list(RuleKind)))
    limits = kind is RuleKind.LIMITS
    return ShopRule(
        key=f"made-{number}",
        kind=kind,
        severity=RuleSeverity(generator.choice([RuleSeverity.BLOCKS, RuleSeverity.WARNS])),
        when=Selector(skus=(some(offer, VARIED[first], generator),)),
        other=None if limits else Selector(skus=(some(offer, VARIED[second], generator),)),
        quantity=RuleQuantity.REV_LIMIT_RPM if limits else None,
        at_most=float(generator.choice([4000.0, 6000.0])) if limits else None,
        reason="Made.",
        remedy="Make another.",
    )


def some(offer: Offer, slot: Slot, generator: np.random.Generator) -> str:
    parts = offer.members[slot]
    return parts[int(generator.integers(len(parts)))].sku


def asked(offer: Offer, generator: np.random.Generator) -> SearchRequest:
    def maybe(value: Any) -> Any:  # noqa: ANN401 - any limit.
        return value if generator.random() < 0.25 else None

    limits = Limits(
        price_at_most=maybe(Price(amount=f"{generator.choice([1, 3, 5])}.00", currency="USD")),
        lead_time_at_most_days=maybe(int(generator.integers(0, 9))),
        in_stock=bool(generator.random() < 0.15),
        octane_aki_at_most=maybe(91.0),
        rev_limit_at_least_rpm=maybe(5200.0),
        throttle_drive=maybe(ThrottleDrive.CABLE),
        torque_at=(
            TorqueAt(speed_rpm=SPEED, torque_at_least_nm=float(generator.choice([315, 400]))),
        )
        if generator.random() < 0.4
        else (),
        band_covers=maybe(SpeedRange(low_rpm=1500.0, high_rpm=5000.0)),
        power_at_least_kw=float(generator.choice([120.0, 165.0, 175.0])),
    )
    aims = (
        Objective(),
        Objective(aim=Aim.MEAN_TORQUE),
        Objective(aim=Aim.TORQUE_AT_SPEED, speed_rpm=SPEED),
        Objective(aim=Aim.LEAST_PRICE),
        Objective(aim=Aim.POWER_PER_MONEY),
        Objective(aim=Aim.WEIGHTED, weights=Weights(peak_power=1.0, mean_torque=0.5, price=900.0)),
    )
    camshafts = tuple(part.sku for part in offer.members[Slot.CAMSHAFT])
    gone = maybe((some(offer, Slot.CALIBRATION, generator),))
    return SearchRequest(
        question=QUESTION,
        limits=limits,
        objective=aims[int(generator.integers(len(aims)))],
        torque_range=RANGE,
        allowed=maybe({Slot.CAMSHAFT: camshafts[:1]}) or {},
        excluded=gone or (),
        count=ON_PAGE,
        relaxations=1,
        confirmed=0,
    )


@cache
def surroundings() -> Surroundings:
    found = around("quay-7-6")
    return replace(found, rules=(), alternatives={}, supplies=(), documents=())


def searched(case: Made) -> Any:  # noqa: ANN401 - a result, or none.
    task = Task(
        field=case.field,
        asked=case.asked,
        around=replace(surroundings(), rules=case.rules),
        fitted=made_surface(),
        run=level_torque,
    )
    try:
        return search(task)
    except NoYardstick:
        return None


def goes_together(kit: Kit, rules: tuple[ShopRule, ...]) -> bool:
    found = fit_findings(fit_subject(kit), rules, {}, None)
    return all(each.severity is not RuleSeverity.BLOCKS for each in found)


@dataclass(frozen=True, kw_only=True)
class ByHand:
    """A kit looked at by itself."""

    parts: tuple[Part, ...]
    cents: int
    value: float
    broken: frozenset[str]

    @property
    def place(self) -> tuple[float, int, list[str]]:
        return -self.value, self.cents, [part.sku for part in self.parts]


def by_hand(case: Made) -> list[ByHand]:
    """Every kit that goes together, in the order of its SKUs; curves are dealt in that order."""
    factory, offer = case.field.kit, case.field.offer
    kits = [
        dict(zip(offer.slots, parts, strict=True))
        for parts in product(*offer.members.values())
        if goes_together(kit_with(factory, dict(zip(offer.slots, parts, strict=True))), case.rules)
    ]
    stock = next((row for row, kit in enumerate(kits) if kit == dict(factory.parts)), None)
    return [looked_at(case, row, kit, stock) for row, kit in enumerate(kits)]


def looked_at(case: Made, row: int, kit: dict[Slot, Part], stock: int | None) -> ByHand:
    factory = case.field.kit
    cents = sum(price_cents(factory, part) for part in kit.values())
    return ByHand(
        parts=tuple(kit.values()),
        cents=cents,
        value=value(case, row, cents, stock),
        broken=frozenset(name for name, kept in kept_limits(case, row, kit, cents) if not kept),
    )


def figures(case: Made, row: int) -> dict[str, float]:
    curves = case.field.curves.only(case.field.curve_of[[row]])
    return {
        "power": float(curves.peak_power[0]),
        "mean": float(curves.mean_torque(RANGE.low_rpm, RANGE.high_rpm)[0]),
        "at": float(curves.torque_at(SPEED)[0]),
        "low": float(curves.band_low_rpm[0]),
        "high": float(curves.band_high_rpm[0]),
        "limit": LIMITS_RPM[int(curves.limit[0])],
    }


def value(case: Made, row: int, cents: int, stock: int | None) -> float:
    aim, own = case.asked.objective.aim, figures(case, row)
    plain = {
        Aim.PEAK_POWER: own["power"] / 1e3,
        Aim.MEAN_TORQUE: own["mean"],
        Aim.TORQUE_AT_SPEED: own["at"],
        Aim.LEAST_PRICE: -cents / 100.0,
    }
    if aim in plain or stock is None:
        return plain.get(aim, 0.0)
    factory = figures(case, stock)
    if aim is Aim.POWER_PER_MONEY:
        return (own["power"] - factory["power"]) / (cents / 100.0) if cents else 0.0
    mix = own["power"] / factory["power"] + 0.5 * (own["mean"] / factory["mean"])
    return mix - 900.0 * (cents / 100.0) * 100.0 / 1e6


def kept_limits(case: Made, row: int, kit: dict[Slot, Part], cents: int) -> list[tuple[str, bool]]:
    limits, own, factory = case.asked.limits, figures(case, row), case.field.kit
    spec: Any = {slot: part.spec for slot, part in kit.items()}
    waits = [lead_days(factory, part) for part in kit.values()]
    bought = [part for part in kit.values() if not part.factory_part]
    found = [
        ("in_stock", not limits.in_stock or all(part.stock_count for part in bought)),
        ("excluded", not {part.sku for part in kit.values()} & set(case.asked.excluded)),
        ("power_at_least_kw", own["power"] >= (limits.power_at_least_kw or 0.0) * 1e3),
    ]
    allowed = case.asked.allowed.get(Slot.CAMSHAFT)
    found += [(f"torque_at.{SPEED:g}", own["at"] >= w.torque_at_least_nm) for w in limits.torque_at]
    asked_for = (
        ("allowed.camshaft", allowed, lambda w: kit[Slot.CAMSHAFT].sku in w),
        ("price_at_most", limits.price_at_most, lambda w: cents <= w.cents),
        ("lead_time_at_most_days", limits.lead_time_at_most_days, lambda w: max(waits) <= w),
        (
            "octane_aki_at_most",
            limits.octane_aki_at_most,
            lambda w: spec[Slot.CALIBRATION].octane_aki_min <= w,
        ),
        ("rev_limit_at_least_rpm", limits.rev_limit_at_least_rpm, lambda w: own["limit"] >= w),
        ("throttle_drive", limits.throttle_drive, lambda w: spec[Slot.THROTTLE_BODY].drive is w),
        (
            "band_covers",
            limits.band_covers,
            lambda w: own["low"] <= w.low_rpm and own["high"] >= w.high_rpm,
        ),
    )
    return found + [
        (name, keeps(wanted)) for name, wanted, keeps in asked_for if wanted is not None
    ]


def test_a_whole_search_is_that_of_looking_at_every_kit() -> None:
    seen = {"ranked": 0, "opened": 0, "blocked": 0}
    for seed in range(CATALOGUES):
        case = made(seed)
        kits = by_hand(case)
        found = searched(case)
        if found is None:
            assert all(dict(case.field.kit.parts) != skus(kit) for kit in kits)
            continue

        fitting = sorted((kit for kit in kits if not kit.broken), key=lambda kit: kit.place)
        proof = found.proof
        assert proof.combinations == raw_count(case.field.offer.sizes)
        assert proof.combinations - sum(one.in_order for one in proof.rules) == len(kits)
        assert len(kits) - sum(one.in_order for one in proof.limits) == proof.fitting
        assert proof.fitting == len(fitting), seed
        assert [tuple(one.parts.values()) for one in found.ranking] == [
            tuple(part.sku for part in kit.parts) for kit in fitting[:ON_PAGE]
        ], seed
        for one in proof.limits:
            assert one.alone == sum(one.name in kit.broken for kit in kits)
        assert_openings(found, kits, fitting)
        seen["ranked"] += bool(found.ranking)
        seen["opened"] += bool(found.openings)
        seen["blocked"] += len(kits) < proof.combinations
    # So that each of the three is looked at often enough.
    assert min(seen.values()) > CATALOGUES // 20, seen


def skus(kit: ByHand) -> dict[Slot, Part]:
    return {part.slot: part for part in kit.parts}


def assert_openings(found: Any, kits: list[ByHand], fitting: list[ByHand]) -> None:  # noqa: ANN401
    broken = set() if fitting else {kit.broken for kit in kits}
    smallest = {one for one in broken if not any(other < one for other in broken)}
    assert found.openings_count == len(smallest)
    for opening in found.openings:
        gone = frozenset(opening.limits)
        assert gone in smallest
        opened = [kit for kit in kits if kit.broken <= gone]
        assert opening.kits == len(opened)
        best = min(opened, key=lambda kit: kit.place)
        assert list(opening.best.parts.values()) == [part.sku for part in best.parts]
