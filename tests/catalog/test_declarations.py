"""A declared change inside is taken back or reworded only with a correction and its reason."""

import json
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from fastapi.testclient import TestClient
from sqlmodel import Session

from service.catalog.appearance import Correction, Exterior, declaration_problems
from service.catalog.devices import Device, DeviceChange, DeviceEffect
from service.catalog.slots import Slot
from service.catalog.store.families import add_family
from service.catalog.store.parts import add_part, load_part, put_parts
from service.database import Database
from service.errors import InvalidInput
from tests.factories import make_family, make_part
from tests.wire import part_json

CAM = "/v1/parts/QUAY-CAMSHAFT"
DECLARED = Exterior(assessed=True, internal_change="Runners opened up.")
CORRECTION = Correction(
    corrected_on=date(2026, 11, 25),
    was="Runners opened up.",
    now=None,
    reason="The record was written for another casting.",
    corrected_by="Demo clerk",
)


def codes(before: Exterior, after: Exterior) -> list[str]:
    return [problem.code for problem in declaration_problems(before, after)]


def test_a_declaration_is_not_dropped_or_reworded_without_a_correction() -> None:
    assert codes(DECLARED, Exterior(assessed=True)) == ["declared"]
    assert codes(DECLARED, Exterior(assessed=True, internal_change="Polished.")) == ["declared"]
    assert codes(Exterior(assessed=True), DECLARED) == []
    assert codes(DECLARED, DECLARED) == []


def test_a_correction_with_its_reason_takes_it_back_and_stays() -> None:
    corrected = Exterior(assessed=True, corrections=(CORRECTION,))

    assert codes(DECLARED, corrected) == []
    assert codes(corrected, Exterior(assessed=True)) == ["append_only"]


def test_a_correction_names_what_stands_on_record() -> None:
    wrong = Correction(
        corrected_on=CORRECTION.corrected_on,
        was="Something else.",
        now=None,
        reason=CORRECTION.reason,
        corrected_by="Demo clerk",
    )

    assert codes(DECLARED, Exterior(assessed=True, corrections=(wrong,))) == ["not_on_record"]


def test_a_file_cannot_drop_a_declaration_either(session: Session) -> None:
    add_family(session, make_family(stock_parts={}))
    part = add_part(session, make_part(Slot.CAMSHAFT, exterior=DECLARED)).value

    with pytest.raises(InvalidInput, match="is declared"):
        put_parts(session, [replace(part, exterior=Exterior(assessed=True))])
    put_parts(session, [replace(part, exterior=Exterior(assessed=True, corrections=(CORRECTION,)))])

    assert load_part(session, part.sku).value.exterior.internal_change is None


@pytest.mark.parametrize("missing", ["reason", "corrected_by", "corrected_on"])
def test_a_correction_says_why_who_and_when(client: TestClient, missing: str) -> None:
    exterior = replace(DECLARED, corrections=(CORRECTION,))
    body = part_json(make_part(Slot.CAMSHAFT, exterior=exterior))
    del body["exterior"]["corrections"][0][missing]

    response = client.post("/v1/parts", json=body)

    pointers = {error["pointer"] for error in response.json()["errors"]}
    assert f"/exterior/corrections/0/{missing}" in pointers


def test_over_http_the_same_holds(client: TestClient, database: Database) -> None:
    with database.writing() as session:
        add_family(session, make_family(stock_parts={}))
        add_part(session, make_part(Slot.CAMSHAFT))

    def patch(exterior: dict[str, Any]) -> int:
        tag = client.get(CAM).headers["ETag"]
        headers = {"Content-Type": "application/merge-patch+json", "If-Match": tag}
        return client.patch(CAM, json={"exterior": exterior}, headers=headers).status_code

    correction = {
        "corrected_on": "2026-11-25",
        "was": "Runners opened up.",
        "now": None,
        "reason": "The record was written for another casting.",
        "corrected_by": "Demo clerk",
    }

    assert patch({"internal_change": "Runners opened up."}) == 200
    assert patch({"internal_change": None}) == 422
    assert patch({"internal_change": None, "corrections": [correction]}) == 200
    assert patch({"corrections": []}) == 422


def test_a_recorded_loss_of_a_device_is_taken_back_only_with_its_reason(
    client: TestClient, database: Database
) -> None:
    lost = DeviceChange(device=Device.EGR, effect=DeviceEffect.REMOVES)
    with database.writing() as session:
        add_family(session, make_family(stock_parts={}))
        add_part(session, make_part(Slot.CAMSHAFT, device_changes=(lost,)))
    headers = {"Content-Type": "application/merge-patch+json"}
    why = {
        "corrected_on": "2026-11-25",
        "device": "egr",
        "was": "removes",
        "now": "keeps",
        "reason": "The record was written for another casting.",
        "corrected_by": "Demo clerk",
    }

    def change(**body: Any) -> Any:  # noqa: ANN401 - a response.
        etag = client.get(CAM).headers["ETag"]
        return client.patch(CAM, json=body, headers={**headers, "If-Match": etag})

    for less in ([{"device": "egr", "effect": "keeps"}], []):
        refused = change(device_changes=less).json()["errors"]
        assert [(e["pointer"], e["code"]) for e in refused] == [("/device_changes", "declared")]
    wrong = change(device_changes=[], device_corrections=[{**why, "was": "changes"}])
    assert wrong.json()["errors"][0]["pointer"] == "/device_corrections/0/was"
    kept = [{"device": "egr", "effect": "keeps"}]
    assert change(device_changes=kept, device_corrections=[why]).status_code == 200
    assert change(device_corrections=[]).json()["errors"][0]["code"] == "append_only"


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"title": "Street-legal smog-safe manifold"}, "/title"),
        (
            {"device_changes": [{"device": "egr", "effect": "keeps", "note": "Approved."}]},
            "/device_changes/0/note",
        ),
    ],
)
def test_no_text_of_a_part_says_what_nothing_of_ours_says(
    client: TestClient, database: Database, change: dict[str, Any], pointer: str
) -> None:
    """Banned words: public law, section 11."""
    with database.writing() as session:
        add_family(session, make_family(stock_parts={}))
    body = {**part_json(make_part(Slot.CAMSHAFT)), **change}

    response = client.post("/v1/parts", json=body)
    told = client.post(
        "/v1/imports",
        content=json.dumps({"kind": "parts", "value": body}),
        headers={"Content-Type": "application/x-ndjson"},
    )

    errors = response.json()["errors"]
    assert [(error["pointer"], error["code"]) for error in errors] == [(pointer, "banned_word")]
    assert [one["code"] for one in told.json()["report"]["problems"]] == ["banned_word"]
