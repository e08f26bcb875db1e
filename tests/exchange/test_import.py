import json
from dataclasses import replace
from typing import Any

import pytest
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, assume, given, settings
from sqlmodel import Session

from service.catalog.integrity import CatalogIndex, part_problems
from service.catalog.parts import Part, PartStatus
from service.catalog.search import PartFilter
from service.catalog.slots import KIT_SLOTS, Slot
from service.catalog.store.families import load_family, put_families
from service.catalog.store.lists import find_parts
from service.catalog.store.parts import load_part, put_parts
from service.database import Database
from service.exchange.report import MAX_PROBLEMS_LISTED, FileFormat, ImportReport, Kind
from service.exchange.schemas import read_file, write_file
from service.exchange.store import find_values, import_rows
from service.revision import load_catalog_revision, lock_catalog
from tests.factories import (
    FAMILY_KEY,
    make_document,
    make_family,
    make_kit_parts,
    make_part,
    make_rule,
)
from tests.strategies import values
from tests.wire import part_json, plain_json

CSV = {"Content-Type": "text/csv"}
LINES = {"Content-Type": "application/x-ndjson"}


def line(kind: Kind, value: dict[str, Any]) -> str:
    return json.dumps({"kind": kind.value, "value": value}) + "\n"


def part_lines(*parts: Part) -> str:
    return "".join(line(Kind.PARTS, part_json(part)) for part in parts)


def whole_catalogue() -> str:
    """The family first, naming parts that come after it; the rule before the parts it names."""
    return "".join(
        [
            line(Kind.FAMILIES, plain_json(make_family())),
            line(Kind.RULES, plain_json(make_rule())),
            part_lines(*make_kit_parts().values()),
            line(Kind.DOCUMENTS, plain_json(make_document())),
        ]
    )


def imported(session: Session, text: str, *, dry_run: bool = False) -> ImportReport:
    rows = read_file(text.encode(), FileFormat.JSON_LINES, None)
    return import_rows(session, rows, dry_run=dry_run)


def test_a_file_may_hold_a_whole_catalogue_in_any_order(session: Session) -> None:
    report = imported(session, whole_catalogue())

    assert report == ImportReport(dry_run=False, created=12)
    assert load_family(session, FAMILY_KEY).value == make_family()
    assert load_part(session, "QUAY-CAMSHAFT").value == make_part(Slot.CAMSHAFT)


def test_the_same_file_again_changes_nothing(session: Session) -> None:
    imported(session, whole_catalogue())
    revision = load_catalog_revision(session)

    report = imported(session, whole_catalogue())

    assert report == ImportReport(dry_run=False, unchanged=12)
    assert load_part(session, "QUAY-CAMSHAFT").version == 1
    assert load_catalog_revision(session) == revision


def test_a_row_replaces_what_has_its_key(session: Session) -> None:
    imported(session, whole_catalogue())
    parts = [make_part(Slot.CAMSHAFT, price_cents=1), make_part(sku="NEW"), make_part()]

    report = imported(session, part_lines(*parts))

    assert report == ImportReport(dry_run=False, created=1, updated=1, unchanged=1)
    assert load_part(session, "QUAY-CAMSHAFT").value.price_cents == 1
    assert load_part(session, "QUAY-CAMSHAFT").version == 2


@pytest.mark.parametrize("text", [whole_catalogue(), whole_catalogue() + "{}\n"])
def test_a_dry_run_reports_what_the_real_run_does_and_keeps_nothing(
    session: Session, text: str
) -> None:
    dry = imported(session, text, dry_run=True)
    assert find_parts(session, PartFilter()) == []
    assert load_catalog_revision(session) == 0

    real = imported(session, text)

    assert (dry.created, dry.updated, dry.unchanged) == (real.created, real.updated, real.unchanged)
    assert (dry.rejected, dry.problem_count, dry.problems) == (
        real.rejected,
        real.problem_count,
        real.problems,
    )


def test_one_wrong_line_keeps_all_others_out(client: TestClient) -> None:
    bad = {**part_json(make_part(sku="BAD")), "stock_count": -1}

    response = client.post(
        "/v1/imports", content=whole_catalogue() + line(Kind.PARTS, bad), headers=LINES
    )

    assert response.status_code == 422
    assert response.headers["Content-Type"] == "application/problem+json"
    assert response.json()["report"]["rejected"] == 1
    assert client.get("/v1/parts").json()["items"] == []
    assert client.get("/v1/engine-families").json()["items"] == []


def test_every_wrong_cell_is_named_by_row_column_and_value(
    client: TestClient, database: Database
) -> None:
    with database.writing() as session:
        put_families(session, [make_family(stock_parts={})])
    header = "sku,title,maker_reference,families,spec.slot,spec.count,spec.height_mm,"
    header += "spec.static_flow_lb_per_h,spec.rated_pressure_kpa,price.amount,factory_part"
    good = 'I-1,Set,R,"[""quay-7-6""]",injectors,8,64,28.5,300,99.00,false'
    bad = 'I-2,,R,"[""nowhere""]",injectors,8.5,sixty,28.5,300,1e2,maybe'
    lost = 'I-3,Set,R,"[""nowhere""]",injectors,8,64,28.5,300,99.00,true'

    response = client.post(
        "/v1/imports?kind=parts", content=f"{header}\n{good}\n{bad}\n{lost}\n", headers=CSV
    )

    report = response.json()["report"]
    found = {(p["row"], p["column"], p["value"], p["code"]) for p in report["problems"]}
    assert found == {
        (3, "title", None, "missing"),
        (3, "spec.count", "8.5", "int_type"),
        (3, "spec.height_mm", "sixty", "float_type"),
        (3, "price.amount", "1e2", "value_error"),
        (3, "factory_part", "maybe", "bool_type"),
        (4, "families", '["nowhere"]', "unknown_reference"),
    }
    assert report["rejected"] == 2
    assert report["problem_count"] == 6


def test_every_wrong_value_of_a_line_is_named_by_row_and_pointer(session: Session) -> None:
    value = part_json(make_part(Slot.THROTTLE_BODY))
    value["spec"]["bore_mm"] = True
    value["colour"] = "red"

    report = imported(session, "\n" + line(Kind.PARTS, value))

    assert [(p.row, p.pointer, p.value) for p in report.problems] == [
        (2, "/spec/bore_mm", "true"),
        (2, "/colour", "red"),
    ]


def test_a_key_that_stands_twice_in_a_file_is_refused(session: Session) -> None:
    imported(session, whole_catalogue())

    report = imported(session, part_lines(make_part(), make_part(title="Other")))

    assert [(p.row, p.pointer, p.code) for p in report.problems] == [(2, "/sku", "repeated")]


def test_who_names_a_line_that_cannot_be_read_is_not_blamed(session: Session) -> None:
    kit = make_kit_parts()
    bad = {**part_json(kit.pop(Slot.CAMSHAFT)), "title": 7}
    text = line(Kind.FAMILIES, plain_json(make_family())) + part_lines(*kit.values())

    report = imported(session, text + line(Kind.PARTS, bad))

    assert [(p.row, p.pointer) for p in report.problems] == [(10, "/title")]


def test_more_problems_than_are_listed_are_counted(session: Session) -> None:
    text = "{}\n" * (MAX_PROBLEMS_LISTED + 5)

    report = imported(session, text)

    assert len(report.problems) == MAX_PROBLEMS_LISTED
    assert report.problem_count == report.rejected == MAX_PROBLEMS_LISTED + 5


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(values(Part))
@pytest.mark.parametrize("file_format", list(FileFormat))
def test_what_is_exported_is_imported_unchanged(
    session: Session, file_format: FileFormat, part: Part
) -> None:
    keys = tuple(sorted(set(part.families)))
    families = [make_family(key=key, stock_parts={}) for key in keys]
    part = replace(part, families=keys, status=PartStatus.CURRENT, superseded_by=None)
    assume(not part_problems(part, CatalogIndex(stock_parts={key: {} for key in keys}, parts={})))
    with session.begin_nested() as savepoint:
        lock_catalog(session)
        put_families(session, families)
        put_parts(session, [part])
        content = write_file(Kind.PARTS, file_format, find_values(session, Kind.PARTS))

        rows = read_file(content, file_format, Kind.PARTS)
        report = import_rows(session, rows, dry_run=False)

        assert report == ImportReport(dry_run=False, unchanged=1)
        savepoint.rollback()


@pytest.mark.parametrize("kind", list(Kind))
@pytest.mark.parametrize("file_format", list(FileFormat))
def test_every_export_is_taken_back_by_the_import(
    client: TestClient, kind: Kind, file_format: FileFormat
) -> None:
    client.post("/v1/imports", content=whole_catalogue(), headers=LINES)
    exported = client.get(f"/v1/exports/{kind.value}.{file_format.value}")

    response = client.post(
        f"/v1/imports?kind={kind.value}",
        content=exported.content,
        headers={"Content-Type": exported.headers["Content-Type"]},
    )

    assert response.status_code == 200
    count = {Kind.PARTS: len(KIT_SLOTS)}.get(kind, 1)
    assert response.json()["unchanged"] == count
    assert response.json()["created"] == response.json()["updated"] == 0


def test_a_price_of_a_spreadsheet_is_text_with_two_places_at_most(client: TestClient) -> None:
    client.post("/v1/imports", content=whole_catalogue(), headers=LINES)
    text = client.get("/v1/exports/parts.csv").text.replace(",389.99,", ",389.5,")

    assert client.post("/v1/imports?kind=parts", content=text, headers=CSV).status_code == 200
    assert client.get("/v1/parts/QUAY-CAMSHAFT").json()["price"]["amount"] == "389.50"


def test_a_formula_in_a_title_is_defused_in_the_export_and_comes_back(client: TestClient) -> None:
    client.post("/v1/imports", content=whole_catalogue(), headers=LINES)
    part = make_part(sku="TRICK", title='=HYPERLINK("x")')
    client.post("/v1/parts", json=part_json(part))

    exported = client.get("/v1/exports/parts.csv").text

    assert '"\'=HYPERLINK(""x"")"' in exported
    assert client.post("/v1/imports?kind=parts", content=exported, headers=CSV).json() == {
        "dry_run": False,
        "created": 0,
        "updated": 0,
        "unchanged": len(KIT_SLOTS) + 1,
        "rejected": 0,
        "problem_count": 0,
        "problems": [],
    }


def test_an_export_that_is_held_already_is_a_304_until_something_is_written(
    client: TestClient,
) -> None:
    client.post("/v1/imports", content=whole_catalogue(), headers=LINES)
    address = "/v1/exports/parts.csv"
    held = {"If-None-Match": client.get(address).headers["ETag"]}

    assert client.get(address, headers=held).status_code == 304
    client.post("/v1/parts", json=part_json(make_part(sku="NEW")))
    assert client.get(address, headers=held).status_code == 200


@pytest.mark.parametrize("headers", [{"Content-Type": "application/json"}, {}])
def test_a_file_of_another_media_type_is_a_415(client: TestClient, headers: dict[str, str]) -> None:
    assert client.post("/v1/imports", content=b"{}", headers=headers).status_code == 415


def test_a_csv_file_needs_its_kind_beside_it(client: TestClient) -> None:
    response = client.post("/v1/imports", content="sku\nA\n", headers=CSV)

    assert [p["code"] for p in response.json()["report"]["problems"]] == ["missing"]


def test_a_file_may_be_larger_than_other_bodies(client: TestClient) -> None:
    """The general limit is 2 MB; blank lines are no rows."""
    text = whole_catalogue() + "\n" * 3_000_000

    assert client.post("/v1/imports", content=text, headers=LINES).status_code == 200
