from dataclasses import replace

from service.catalog.slots import Slot
from service.kits.kit import Kit
from service.kits.money import lead_time, price_block
from tests.kits.assembled import assembled
from tests.seed import QUAY_BIG

CHOSEN = {Slot.CAMSHAFT: "Q76-CAM-BOWLINE", Slot.EXHAUST_MANIFOLD: "Q76-EXHAUST-PIKE"}


def changed(kit: Kit, slot: Slot, **changes: object) -> Kit:
    return replace(kit, parts={**kit.parts, slot: replace(kit.parts[slot], **changes)})  # type: ignore[arg-type] # Any field of a part.


def test_the_factory_kit_costs_nothing_and_waits_for_nothing() -> None:
    kit = assembled(QUAY_BIG)
    block = price_block(kit.parts, kit.chosen)

    assert (block.lines, block.totals) == ((), ())
    assert lead_time(assembled(QUAY_BIG)).days == 0


def test_the_total_is_the_sum_of_the_lines_to_the_cent() -> None:
    kit = assembled(QUAY_BIG, CHOSEN)
    block = price_block(kit.parts, kit.chosen)

    (total,) = block.totals
    assert {line.slot for line in block.lines} == set(CHOSEN)
    assert total.cents == sum(line.price.cents for line in block.lines)


def test_amounts_of_different_currencies_are_not_added() -> None:
    kit = assembled(QUAY_BIG, CHOSEN)
    mixed = changed(
        changed(kit, Slot.CAMSHAFT, currency="CAD", price_cents=10_050),
        Slot.EXHAUST_MANIFOLD,
        currency="USD",
        price_cents=99,
    )

    block = price_block(mixed.parts, mixed.chosen)
    totals = [(each.currency, each.amount) for each in block.totals]

    assert totals == [("CAD", "100.50"), ("USD", "0.99")]


def test_the_longest_wait_counts_and_only_of_what_is_not_on_the_shelf() -> None:
    kit = assembled(QUAY_BIG, CHOSEN)
    waiting = changed(
        changed(kit, Slot.CAMSHAFT, stock_count=0, lead_time_days=9),
        Slot.EXHAUST_MANIFOLD,
        stock_count=1,
        lead_time_days=40,
    )

    wait = lead_time(waiting)

    assert wait.days == 9
    assert wait.waiting_for == ("Q76-CAM-BOWLINE",)


def test_factory_parts_that_stay_keep_nobody_waiting() -> None:
    kit = changed(assembled(QUAY_BIG, CHOSEN), Slot.INTAKE_MANIFOLD, stock_count=0)

    assert "Q76-MANIFOLD-HERON" not in lead_time(kit).waiting_for
