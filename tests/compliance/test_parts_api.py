"""One part alone: the same four blocks, and the same flag as in lists."""

import pytest
from fastapi.testclient import TestClient

from service.catalog.store.families import add_family
from service.catalog.store.parts import add_part
from service.compliance.files import FileType, document_file
from service.compliance.store import add_document, attach_file
from service.database import Database
from tests.compliance.cases import PROFILES, paper, scope, shop_part
from tests.factories import make_family

ASKED: dict[str, str | int] = {
    "family": "quay-7-6",
    "use": "road",
    "place": "us-ca",
    "model_year": 2000,
}
OWN_ENGINE = {"certified_for_road": True, "engine_swapped": False, "specially_constructed": False}
HERON = "/v1/parts/HERON"


@pytest.fixture
def client(client: TestClient, database: Database) -> TestClient:
    """A started service with one shop part and a paper that names it up to a weight."""
    with database.writing() as session:
        add_family(session, make_family(stock_parts={}))
        add_part(session, shop_part())
        add_document(session, paper(lines=(scope(max_gross_weight_kg=3855),)))
        attach_file(session, "DEMO-17", document_file(b"%PDF-1.7", FileType.PDF), int)
    return client


def test_the_blocks_and_the_flag_of_a_part_are_those_of_its_list(client: TestClient) -> None:
    found = client.get(f"{HERON}/blocks", params={**ASKED, **OWN_ENGINE}).json()
    listed = client.get(HERON, params={**ASKED, **OWN_ENGINE}).json()

    blocks = found["blocks"]
    assert set(blocks) == {"appearance", "devices", "paperwork", "jurisdiction_note", "street_use"}
    assert blocks["street_use"]["street_legal_flag"] == listed["street_legal_flag"]
    assert blocks["street_use"]["sentence"] == listed["street_use_sentence"]
    assert {one["place"] for one in found["street_use_by_place"]} == set(PROFILES)
    assert len(blocks["appearance"]["traits"]) == 12


@pytest.mark.parametrize(
    ("weight", "outcome"), [(3855, "paper_matches"), (3856, "paper_does_not_match"), (None, None)]
)
def test_what_a_paper_restricts_is_asked_of_a_part_too(
    client: TestClient, weight: int | None, outcome: str | None
) -> None:
    weighed = {} if weight is None else {"gross_weight_kg": weight}
    params = {**ASKED, **OWN_ENGINE, **weighed}

    found = client.get(f"{HERON}/blocks", params=params).json()["blocks"]["paperwork"]["outcome"]

    assert found == (outcome or "paper_partial")


@pytest.mark.parametrize("missing", sorted(ASKED))
def test_without_one_of_the_four_that_the_law_asks_for_there_is_no_answer(
    client: TestClient, missing: str
) -> None:
    params = {name: value for name, value in ASKED.items() if name != missing}

    response = client.get(f"{HERON}/blocks", params=params)

    assert response.status_code == 422
    assert [error["pointer"] for error in response.json()["errors"]] == [missing]


def test_a_part_or_family_that_is_not_there_is_a_404(client: TestClient) -> None:
    assert client.get("/v1/parts/NONE/blocks", params=ASKED).status_code == 404
    assert client.get(f"{HERON}/blocks", params={**ASKED, "family": "none"}).status_code == 404


@pytest.mark.parametrize("unsaid", ["engine_swapped", "specially_constructed"])
def test_what_is_not_said_of_the_vehicle_is_not_known(client: TestClient, unsaid: str) -> None:
    said = {name: value for name, value in OWN_ENGINE.items() if name != unsaid}
    params = {**ASKED, "gross_weight_kg": 3855, **said}

    blocks = client.get(f"{HERON}/blocks", params=params).json()["blocks"]

    assert blocks["paperwork"]["outcome"] == "paper_partial"
    outcomes = {one["outcome"] for one in blocks["jurisdiction_note"]["statements"]}
    assert "authority_must_decide" in outcomes


@pytest.mark.parametrize("address", [f"{HERON}/blocks", "/v1/parts"])
def test_a_parameter_that_is_not_read_is_refused_by_name(client: TestClient, address: str) -> None:
    response = client.get(address, params={**ASKED, "device_tested": "all"})

    assert response.status_code == 422
    (error,) = response.json()["errors"]
    assert (error["in"], error["pointer"], error["code"]) == (
        "query",
        "device_tested",
        "unknown_field",
    )


def test_a_list_is_filtered_and_sorted_by_the_flag_page_by_page(
    client: TestClient, database: Database
) -> None:
    with database.writing() as session:
        for sku in ("AUK", "SMEW"):
            add_part(session, shop_part(sku=sku))

    def listed(**params: str | int) -> tuple[list[str], str | None]:
        page = client.get("/v1/parts", params={**ASKED, **OWN_ENGINE, **params}).json()
        return [item["sku"] for item in page["items"]], page["next_cursor"]

    first, cursor = listed(sort="street_legal_flag", limit=2)
    assert first == ["HERON", "AUK"]
    assert cursor is not None
    assert listed(sort="street_legal_flag", limit=2, cursor=cursor) == (["SMEW"], None)
    assert listed(street_legal_flag="not_documented")[0] == ["AUK", "SMEW"]
    assert listed(street_legal_flag="documented")[0] == []
