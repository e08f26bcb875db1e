"""Parts lists of demo kits; the numbers of bolts are those in the names of the flanges."""

from dataclasses import replace

import pytest

from service.catalog.parts import Part
from service.catalog.rules import RuleSeverity
from service.catalog.slots import KIT_SLOTS, Fuel, Slot
from service.catalog.specs import CalibrationSpec
from service.catalog.supplies import AdaptersSpec, ThreadName, WashersSpec
from service.errors import InvalidInput
from service.fitup.check import fit_findings
from service.fitup.machined import BankAsMachined, EngineAsMachined
from service.kits.kit import EngineAsItStands, Kit, kit_of
from service.kits.parts_list import PartsList, parts_list
from service.kits.views import fit_subject
from service.money import cents
from tests.kits.assembled import around, assembled, supplies
from tests.seed import (
    BOAT_KIT,
    FAMILIES,
    HEADER_KIT,
    MODIFIED_TWIN,
    OPEN_KIT,
    QUAY_BIG,
    STOCK_LOOK_KIT,
    of,
    parts,
)


def listed(kit: Kit) -> PartsList:
    shop = supplies(kit.family.key)
    findings = fit_findings(fit_subject(kit), around(kit.family.key).rules, {}, None, shop)
    return parts_list(kit, shop, findings)


def waiting(found: PartsList) -> int:
    """The longest wait, line by line from the catalogue, where nothing else is on the shelf."""
    return max(
        0 if line.on_shelf or line.instead else parts()[line.sku].lead_time_days
        for line in found.lines
    )


def counts(found: PartsList) -> dict[str, int]:
    return {line.sku: line.count for line in found.lines}


@pytest.mark.parametrize("chosen", [OPEN_KIT, BOAT_KIT, STOCK_LOOK_KIT, HEADER_KIT])
def test_kits_of_the_story_resolve_or_name_what_is_missing(chosen: dict[Slot, str]) -> None:
    """The factory's head bolts are no article of the shop: the one thing to be named."""
    found = listed(assembled(QUAY_BIG, chosen))

    heads = (
        {"20 bolts M12 x 1.75, quay seventy-six deck"} if Slot.CYLINDER_HEADS in chosen else set()
    )
    assert {item.what for item in found.missing} == heads
    assert set(chosen.values()) <= set(counts(found))
    assert found.weight_g == sum(line.weight_g or 0 for line in found.lines)
    (total,) = found.totals
    assert total.cents == sum(cents(line.price.amount) for line in found.lines if line.price)


def test_everything_is_there_in_the_right_number() -> None:
    found = counts(listed(assembled(QUAY_BIG, OPEN_KIT)))

    assert found["SHOP-BOLT-M8-50"] == 8
    assert found["SHOP-BOLT-M10-45"] == 16
    assert (found["SHOP-WASHER-M8"], found["SHOP-WASHER-M10"]) == (8, 16)
    assert "SHOP-WASHER-M6" not in found, "the throttle body's bolts stand on its flange"
    assert found["SHOP-BOLT-M6-30"] == 4
    assert found["SHOP-O-RINGS-PEARL"] == 8
    assert found["Q76-GASKET-RUSH"] == found["Q76-GASKET-HOLM"] == 1
    assert found["SHOP-LUBRICANT-EBBTIDE"] == 1


def test_the_factory_kit_takes_nothing() -> None:
    found = listed(assembled(QUAY_BIG))
    assert (found.lines, found.missing, found.totals) == ((), (), ())


@pytest.mark.parametrize("family", FAMILIES)
def test_every_single_swap_resolves(family: str) -> None:
    for slot in KIT_SLOTS:
        for part in of(family, slot):
            found = listed(assembled(family, {slot: part.sku}))
            assert all("deck" in item.what for item in found.missing), (part.sku, found.missing)


def test_what_is_not_on_the_shelf_is_told_with_what_would_do_as_well() -> None:
    """Orrin's intake takes M8 x 45, of which the demo has none; the collar bolt is its like."""
    manifold = next(part for part in of("orrin-4-4", Slot.INTAKE_MANIFOLD) if not part.factory_part)
    found = listed(assembled("orrin-4-4", {Slot.INTAKE_MANIFOLD: manifold.sku}))

    line = next(one for one in found.lines if one.sku == "SHOP-BOLT-M8-45")
    assert (line.count, line.on_shelf) == (12, False)
    assert line.instead == ("SHOP-BOLT-M8-45-COLLAR",)
    assert (line.wait_days, found.wait_days) == (0, waiting(found))
    assert "SHOP-SEALANT-TARN" not in counts(found), "an inline engine has no end rails"


def test_the_same_article_for_two_joints_is_one_line() -> None:
    """Here the throttle body stands on the same holes as the intake, its flange .4 mm thicker."""
    shop = supplies(QUAY_BIG)
    kit = assembled(QUAY_BIG, OPEN_KIT)
    intake = kit.family.bolt_layouts[0]
    layouts = tuple(
        replace(one, flange_mm=20.4, washer_mm=2.0, holes=intake.holes)
        if one.pattern == "single four bolt"
        else one
        for one in kit.family.bolt_layouts
    )
    kit = replace(kit, family=replace(kit.family, bolt_layouts=layouts))
    found = parts_list(kit, shop, ())

    (line,) = [one for one in found.lines if one.sku.startswith("SHOP-BOLT-M8")]
    assert line.count == 12
    assert len(line.needed_for) == 2


def test_machining_stands_with_its_price_where_a_finding_asks_for_it() -> None:
    milled = EngineAsMachined(right=BankAsMachined(head_mill_mm=1.0))
    kit = assembled(
        QUAY_BIG, {Slot.INTAKE_MANIFOLD: MODIFIED_TWIN}, engine=EngineAsItStands(machined=milled)
    )
    (work,) = listed(kit).machining

    assert (work.finding, work.sku) == ("intake.needs_machining", "Q76-WORK-ADZE")
    assert work.price is not None
    assert listed(assembled(QUAY_BIG, {Slot.INTAKE_MANIFOLD: MODIFIED_TWIN})).machining == ()


TWO_BORES = "Q76-THROTTLE-STABLE-DOOR"
PLATE = "Q76-ADAPTER-GANGWAY"
"""The throttle body of two bores on a manifold for one: the shop has a plate for it."""
THROTTLE_NEED = "interface.throttle_flange"


def found_in(kit: Kit, shop: tuple[Part, ...]) -> dict[str, RuleSeverity]:
    findings = fit_findings(fit_subject(kit), (), {}, None, shop)
    return {
        finding.code: finding.severity
        for finding in findings
        if finding.code.startswith(THROTTLE_NEED)
    }


def test_a_kit_that_an_adapter_joins_goes_together_with_it_on_the_list() -> None:
    kit = assembled(QUAY_BIG, {Slot.THROTTLE_BODY: TWO_BORES, Slot.INTAKE_MANIFOLD: MODIFIED_TWIN})
    shop = supplies(QUAY_BIG)
    without = tuple(part for part in shop if part.sku != PLATE)

    assert found_in(kit, without) == {THROTTLE_NEED: RuleSeverity.BLOCKS}
    assert found_in(kit, shop) == {f"{THROTTLE_NEED}.adapter": RuleSeverity.WARNS}
    (plate,) = [line for line in listed(kit).lines if line.sku == PLATE]
    assert (plate.count, str(plate.price)) == (1, "94.00 USD")


def test_an_adapter_has_a_gasket_and_bolts_on_each_of_its_faces() -> None:
    """Four bolts through either face, as both patterns have; no plate, no second face."""
    joined = counts(listed(assembled(QUAY_BIG, {Slot.THROTTLE_BODY: TWO_BORES})))
    assert (joined["Q76-GASKET-VETCH"], joined["Q76-GASKET-CLOVER"]) == (1, 1)
    assert joined["SHOP-BOLT-M6-30"] == 8


def test_no_bolt_is_chosen_for_holes_of_an_adapter_that_nobody_recorded() -> None:
    """Those of the manifold are deeper than the plate is thick: a bolt for them would bottom."""
    shop = tuple(
        replace(part, spec=replace(part.spec, holes=None))
        if isinstance(part.spec, AdaptersSpec)
        else part
        for part in supplies(QUAY_BIG)
    )
    found = parts_list(assembled(QUAY_BIG, {Slot.THROTTLE_BODY: TWO_BORES}), shop, ())
    assert [item.what for item in found.missing] == ["bolts, two bore"]


def test_an_adapter_that_finds_no_seat_itself_closes_nothing() -> None:
    """The plate stands on a single four bolt flange; this manifold has a square of four bores."""
    kit = assembled(
        QUAY_BIG, {Slot.THROTTLE_BODY: TWO_BORES, Slot.INTAKE_MANIFOLD: "Q76-MANIFOLD-FULMAR"}
    )
    assert found_in(kit, supplies(QUAY_BIG)) == {THROTTLE_NEED: RuleSeverity.BLOCKS}
    assert PLATE not in counts(listed(kit))


def test_rings_are_those_that_bear_the_fuel() -> None:
    kit = assembled(QUAY_BIG, STOCK_LOOK_KIT)
    calibration = kit.parts[Slot.CALIBRATION]
    assert isinstance(calibration.spec, CalibrationSpec)
    propane = replace(calibration, spec=replace(calibration.spec, fuel=Fuel.PROPANE))
    found = listed(replace(kit, parts={**kit.parts, Slot.CALIBRATION: propane}))

    assert counts(listed(kit))["SHOP-O-RINGS-PEARL"] == 8
    assert "o-rings, ring seat, for propane" in {item.what for item in found.missing}


def test_an_opening_that_nothing_uses_is_plugged_or_its_plug_named() -> None:
    kit = assembled(QUAY_BIG, {Slot.INTAKE_MANIFOLD: MODIFIED_TWIN})
    idle = tuple(need for need in kit.family.needs if need.code not in {"purge", "map"})
    found = listed(replace(kit, family=replace(kit.family, needs=idle)))
    assert {sku for sku in counts(found) if "PLUG" in sku} == {"SHOP-PLUG-HOLM", "SHOP-PLUG-TOR"}

    bare = parts_list(replace(kit, family=replace(kit.family, needs=idle)), (), ())
    assert {"plug, vacuum port purge", "plug, sensor bung map"} <= {
        item.what for item in bare.missing
    }


def test_a_gap_too_wide_for_a_bead_asks_for_strip_seals() -> None:
    """R11: a bead seals up to 6 mm; beyond, strips that the demo's shop does not list."""
    chosen = {Slot.INTAKE_MANIFOLD: MODIFIED_TWIN}
    seals = {}
    for gap in (5.9, 6.1):
        machined = EngineAsMachined(right=BankAsMachined(), end_rail_gap_mm=gap)
        kit = assembled(QUAY_BIG, chosen, engine=EngineAsItStands(machined=machined))
        seals[gap] = [item.what for item in listed(kit).missing if "strip" in item.what]
    assert seals == {5.9: [], 6.1: ["2 strip seals, 6.1 mm (0.24 in)"]}


def test_a_washer_of_another_thickness_or_too_wide_for_the_boss_is_named_as_missing() -> None:
    """The grip was reckoned with 2 mm under the head; ISO 7089 has 16 mm outside for M8."""
    kit = assembled(QUAY_BIG, HEADER_KIT | {Slot.INTAKE_MANIFOLD: MODIFIED_TWIN})
    plain = WashersSpec(thread=ThreadName.M8, thickness_mm=2.0, outside_mm=16.0)
    for spec in (replace(plain, thickness_mm=1.6), replace(plain, outside_mm=30.0)):
        shop = tuple(
            replace(part, spec=spec) if part.sku == "SHOP-WASHER-M8" else part
            for part in supplies(QUAY_BIG)
        )
        missing = {item.what for item in parts_list(kit, shop, ()).missing}
        assert "8 washers M8 x 1.25, 2 mm (0.079 in)" in missing


def test_prices_are_left_out_where_nobody_asked_for_them() -> None:
    kit = assembled(QUAY_BIG, HEADER_KIT, include_prices=False)
    found = listed(kit)
    assert found.totals == ()
    assert {line.price for line in found.lines} == {None}


def test_a_slot_of_supplies_is_no_place_of_a_kit() -> None:
    kit = assembled(QUAY_BIG)
    bolt = of(QUAY_BIG, Slot.FASTENERS)[0]
    with pytest.raises(InvalidInput) as told:
        kit_of(kit.request, kit.family, {**kit.parts, Slot.FASTENERS: bolt}, None)
    assert [each.pointer for each in told.value.problems] == ["/parts/fasteners"]


def test_a_casting_that_the_family_does_not_record_is_refused() -> None:
    machined = EngineAsMachined(right=BankAsMachined(), casting_generation="ninth")
    with pytest.raises(InvalidInput) as told:
        assembled(QUAY_BIG, engine=EngineAsItStands(machined=machined))
    assert [each.pointer for each in told.value.problems] == ["/engine/machined/casting_generation"]
