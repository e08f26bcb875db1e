"""Appearance trait by trait, the list of devices, and the flag as what it is drawn from."""

from dataclasses import replace

import pytest
from fastapi.testclient import TestClient

from service.catalog.appearance import Exterior, FactoryTrait, Trait, TraitDifference
from service.catalog.devices import DEVICE_TERMS, Device, DeviceFitting
from service.catalog.parts import Part
from service.catalog.slots import Slot, UseClass
from service.compliance.appearance import Look, TraitLook, appearance_block
from service.compliance.outcomes import Outcome
from tests.compliance.cases import application, paper, report, scope, shop_part
from tests.factories import make_family, make_part
from tests.wire import part_json

SHOWN_ON = {
    Trait.CASTING_OUTLINE: Slot.INTAKE_MANIFOLD,
    Trait.FINISH: Slot.INTAKE_MANIFOLD,
    Trait.VISIBLE_WELDS: Slot.INTAKE_MANIFOLD,
    Trait.RUNNER_SHAPE: Slot.INTAKE_MANIFOLD,
    Trait.PLENUM_SHAPE: Slot.INTAKE_MANIFOLD,
    Trait.THROTTLE_SIZE: Slot.THROTTLE_BODY,
    Trait.FASTENERS: Slot.INTAKE_MANIFOLD,
    Trait.HOSES: Slot.AIR_INLET,
    Trait.BRACKETS: Slot.INTAKE_MANIFOLD,
    Trait.LABELS: Slot.INTAKE_MANIFOLD,
    Trait.AIR_INLET: Slot.AIR_INLET,
    Trait.EXHAUST: Slot.EXHAUST_MANIFOLD,
}
"""A slot on which each trait shows (common practice, no source)."""


def look_of(trait: Trait, part: Part) -> TraitLook:
    factory = FactoryTrait(trait=trait, description="As drawn.", source="demo: photograph")
    return next(one for one in appearance_block((part,), (factory,)).traits if one.trait is trait)


@pytest.mark.parametrize("trait", list(Trait))
def test_each_trait_is_as_stock_or_differs_or_was_not_assessed(trait: Trait) -> None:
    """The list: casting outline, finish, visible welds, runner and plenum shape, throttle size,
    fasteners, hoses, brackets, labels, air inlet, exhaust."""
    part = shop_part(SHOWN_ON[trait])
    seen = TraitDifference(trait=trait, what="Another shape.", seen_from="Above, bonnet open.")

    stock = look_of(trait, replace(part, exterior=Exterior(assessed=True)))
    other = look_of(trait, replace(part, exterior=Exterior(assessed=True, differences=(seen,))))
    unknown = look_of(trait, replace(part, exterior=Exterior(assessed=False)))

    assert [one.look for one in (stock, other, unknown)] == [
        Look.AS_STOCK,
        Look.DIFFERS,
        Look.NOT_ASSESSED,
    ]
    assert {one.factory for one in (stock, other, unknown)} == {"As drawn."}
    (difference,) = other.differences
    assert (difference.sku, difference.what, difference.seen_from) == (
        part.sku,
        seen.what,
        seen.seen_from,
    )
    assert stock.differences == unknown.differences == ()


@pytest.mark.parametrize("declared", [None, "Runners opened up."])
def test_a_change_inside_stands_beside_the_look_and_alters_none(declared: str | None) -> None:
    part = shop_part(exterior=Exterior(assessed=True, internal_change=declared))

    block = appearance_block((part,))

    assert block.look is Look.AS_STOCK
    assert block.parts[0].internal_change == declared


def test_the_devices_are_those_of_the_list() -> None:
    """Public law, section 9; keys after SAE J1930 / ISO 15031-2, terms from memory."""
    listed = [
        "pcv",
        "egr",
        "evap",
        "fill_restrictor",
        "cap",
        "air",
        "pair",
        "oc",
        "twc",
        "wu_twc",
        "o2s",
        "ho2s",
        "tac",
        "efe",
        "spark",
        "carb",
        "tb",
        "tbi",
        "mfi",
        "sfi",
        "iac",
        "tp",
        "map",
        "maf",
        "iat",
        "ect",
        "ecm",
        "pcm",
        "cal_id",
        "cvn",
        "mil",
        "dtc",
        "dlc",
        "obd",
        "readiness",
        "vac",
        "veci",
        "marine_label",
        "marine_diag",
        "marine_flame",
        "cover",
    ]

    assert {device.value for device in Device} == set(listed)
    assert set(DEVICE_TERMS) == set(Device)


@pytest.mark.parametrize(
    "device",
    [Device.DTC, Device.READINESS, Device.CALIBRATION_ID, Device.CALIBRATION_VERIFICATION],
)
def test_a_calibration_of_our_own_leaves_what_the_computer_tells_in_question(
    device: Device,
) -> None:
    family = make_family(
        devices_fitted=(
            DeviceFitting(
                device=device, first_model_year=1996, last_model_year=2004, source="demo: label"
            ),
        )
    )

    def state(part: Part) -> str:
        (row,) = report(part, family=family).devices.rows
        return row.state.value

    assert state(shop_part(Slot.CALIBRATION, "LAMP", device_changes=())) == "unknown"
    assert state(shop_part(Slot.CAMSHAFT, "OWL", device_changes=())) == "kept"
    assert state(make_part(Slot.CALIBRATION)) == "kept"


def test_nobody_sets_the_flag_by_hand(client: TestClient) -> None:
    body = {**part_json(make_part(Slot.CAMSHAFT)), "street_legal_flag": "documented"}

    response = client.post("/v1/parts", json=body)

    assert [error["pointer"] for error in response.json()["errors"]] == ["/street_legal_flag"]
    assert response.json()["errors"][0]["code"] == "unknown_field"


def test_row_5_californias_scheme_for_off_road_engines_takes_an_order_for_that_use() -> None:
    """VC 38390-38397; 13 CCR 2470-2476."""
    order = paper(lines=(scope(use=UseClass.NONROAD),))
    off_road = application(use=UseClass.NONROAD)

    def outcome(app_use: UseClass) -> Outcome:
        found = report(shop_part(), papers=[order], app=replace(off_road, use=app_use))
        return found.paperwork.outcome

    assert outcome(UseClass.NONROAD) is Outcome.PAPER_MATCHES
    assert outcome(UseClass.ROAD) is Outcome.PAPER_DOES_NOT_MATCH
