"""Random catalogues: parts of no meaning, screens, prices and curves drawn by chance."""

from dataclasses import replace
from itertools import product

import numpy as np

from service.catalog.parts import Part
from service.catalog.slots import KIT_SLOTS, Slot
from service.fitup.spans import Span
from service.kits.kit import AssessmentRequest, Kit
from service.kits.power import CURVE_POINTS
from service.searches.curves import read_curves
from service.searches.field import Field, fit_removals, price_cents
from service.searches.joining import Screen, listing, raw_count
from service.searches.screens import Offer
from tests.factories import make_family, make_part
from tests.kits.assembled import question

LIMITS_RPM = (5000.0, 5600.0)
PRICES = (0, 100, 100, 250, 400)
"""Few, so that ties are common. [cents]"""


def random_screens(sizes: tuple[int, ...], generator: np.random.Generator) -> list[Screen]:
    screens = []
    for number in range(int(generator.integers(0, 7))):
        count = int(generator.integers(1, min(4, len(sizes) + 1)))
        places = tuple(sorted(generator.choice(len(sizes), size=count, replace=False).tolist()))
        shape = [sizes[place] for place in places]
        allowed = generator.random(shape) < generator.uniform(0.5, 1.0)
        screens.append(Screen(name=f"screen-{number % 4}", places=places, allowed=allowed))
    return screens


def passing_by_hand(sizes: tuple[int, ...], screens: list[Screen]) -> list[tuple[int, ...]]:
    """Every choice, looked at one by one."""
    return [
        choice
        for choice in product(*(range(size) for size in sizes))
        if all(
            screen.allowed[tuple(choice[place] for place in screen.places)] for screen in screens
        )
    ]


def random_offer(generator: np.random.Generator, most: int = 3) -> Offer:
    members: dict[Slot, tuple[Part, ...]] = {}
    for slot in KIT_SLOTS:
        stock = make_part(slot)
        others = [
            replace(
                stock,
                sku=f"{stock.sku}-{number}",
                factory_part=False,
                price_cents=int(generator.choice(PRICES)),
            )
            for number in range(int(generator.integers(0, most)))
        ]
        members[slot] = tuple(sorted((stock, *others), key=lambda part: part.sku))
    return Offer(members=members)


def random_field(seed: int) -> Field:
    """A field whose curves and screens are drawn by chance; torques repeat, so that kits tie."""
    generator = np.random.default_rng(seed)
    offer = random_offer(generator)
    screens = random_screens(offer.sizes, generator)
    rows = listing(offer.sizes, screens, 100_000).rows
    kinds = max(1, len(rows) // 3)
    torque = generator.integers(300, 330, size=(kinds, CURVE_POINTS)).astype(float)
    curves = read_curves(torque, generator.integers(0, 2, size=kinds), LIMITS_RPM, 0.9)
    curve_of = generator.integers(0, kinds, size=len(rows)).astype(np.int32)
    kit = stock_kit(offer)
    cents = np.array(
        [sum(price_cents(kit, p) for p in offer.parts_of(row).values()) for row in rows.tolist()],
        dtype=np.int64,
    ).reshape(-1)
    return Field(
        kit=kit,
        offer=offer,
        screens=tuple(screens),
        combinations=raw_count(offer.sizes),
        removals=tuple(fit_removals(offer.sizes, screens)),
        rows=rows,
        cents=cents,
        lead_days=np.zeros(len(rows), dtype=np.int32),
        curve_of=curve_of,
        by_curve=np.lexsort((cents, curve_of)).astype(np.int32),
        curves=curves,
        currency="USD",
        complete=True,
        proven=(),
    )


def plain_question() -> AssessmentRequest:
    return replace(question("quay-7-6"), family=make_family().key)


def stock_kit(offer: Offer) -> Kit:
    family = make_family()
    by_sku = {part.sku: part for parts in offer.members.values() for part in parts}
    parts = {slot: by_sku[family.stock_parts[slot]] for slot in KIT_SLOTS}
    return Kit(
        family=family,
        parts=parts,
        chosen=(),
        bore_mm=family.bore_mm,
        stroke_mm=family.stroke_mm,
        compression_ratio=family.compression_ratio,
        compression_range=Span.exactly(family.compression_ratio),
        rev_limit_rpm=family.rev_limit_rpm,
        octane_aki=None,
        request=plain_question(),
    )
