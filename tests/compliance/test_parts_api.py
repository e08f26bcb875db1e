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
    found = client.get(f"{HERON}/blocks", params={**ASKED, "certified_for_road": True}).json()
    listed = client.get(HERON, params={**ASKED, "certified_for_road": True}).json()

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
    params = {**ASKED, "certified_for_road": True, **weighed}

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
