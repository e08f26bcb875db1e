"""Source of the rules: RFC 9110, sections 8.8.3 (ETag), 13.1.1 (If-Match), 13.1.2
(If-None-Match), 15.4.5 (304); RFC 6585, section 3 (428)."""

from typing import Annotated

import pytest
from fastapi import APIRouter, Query, Response
from fastapi.testclient import TestClient
from hypothesis import given
from hypothesis import strategies as st

from service.app import create_app
from service.bodies import ApiRoute
from service.conditional import ExpectedVersionDep, ValidatorsDep, content_etag, version_etag
from service.settings import Settings

CURRENT = 3

router = APIRouter(prefix="/trial", route_class=ApiRoute)


@router.get("/item")
def read_trial_item(response: Response, validators: ValidatorsDep) -> str:
    response.headers["Cache-Control"] = "max-age=60"
    validators.send(version_etag(CURRENT))
    return "item"


@router.put("/item")
def replace_trial_item(expected: ExpectedVersionDep) -> int:
    return expected.require(CURRENT)


@router.get("/answer")
def read_trial_answer(validators: ValidatorsDep, x: Annotated[int, Query()]) -> int:
    validators.send(content_etag("model 1", x))
    return x * x


@pytest.fixture(scope="module")
def client() -> TestClient:
    return TestClient(create_app(Settings(_env_file=None), [router]))


def test_an_item_has_the_strong_tag_of_its_version(client: TestClient) -> None:
    assert client.get("/trial/item").headers["ETag"] == '"3"'


@pytest.mark.parametrize("held", ['"3"', 'W/"3"', '"1", "3"', "*", ' "2" ,W/"3"'])
def test_what_the_caller_holds_already_is_not_sent_again(client: TestClient, held: str) -> None:
    answer = client.get("/trial/item", headers={"If-None-Match": held})

    assert answer.status_code == 304
    assert answer.content == b""
    assert answer.headers["ETag"] == '"3"'
    assert answer.headers["Cache-Control"] == "max-age=60"
    assert "Content-Type" not in answer.headers


@pytest.mark.parametrize("held", ['"2"', "3", '"33"', "", '"3'])
def test_what_the_caller_does_not_hold_is_sent(client: TestClient, held: str) -> None:
    assert client.get("/trial/item", headers={"If-None-Match": held}).json() == "item"


@pytest.mark.parametrize("named", ['"3"', '"2", "3"'])
def test_a_change_of_the_current_version_is_done(client: TestClient, named: str) -> None:
    assert client.put("/trial/item", headers={"If-Match": named}).json() == CURRENT


@pytest.mark.parametrize("named", ['"2"', 'W/"3"', "3", '"three"', '"03"', f'"{"9" * 50}"'])
def test_a_change_of_another_version_is_a_412(client: TestClient, named: str) -> None:
    """A weak tag never matches here: If-Match compares strongly."""
    answer = client.put("/trial/item", headers={"If-Match": named})

    assert answer.status_code == 412
    assert answer.json()["type"] == "/problems/stale-version"


@pytest.mark.parametrize("headers", [{}, {"If-Match": ""}, {"If-Match": "*"}])
def test_a_change_that_names_no_version_is_a_428(
    client: TestClient, headers: dict[str, str]
) -> None:
    answer = client.put("/trial/item", headers=headers)

    assert answer.status_code == 428
    assert answer.json()["type"] == "/problems/precondition-missing"


def test_a_computed_answer_is_tagged_by_what_it_was_computed_from(client: TestClient) -> None:
    first = client.get("/trial/answer?x=2").headers["ETag"]

    again = client.get("/trial/answer?x=2", headers={"If-None-Match": first})
    other = client.get("/trial/answer?x=3", headers={"If-None-Match": first})

    assert again.status_code == 304
    assert other.json() == 9


@given(st.lists(st.text(max_size=3), max_size=4), st.lists(st.text(max_size=3), max_size=4))
def test_two_answers_have_one_tag_only_if_they_have_the_same_parts(
    one: list[str], other: list[str]
) -> None:
    assert (content_etag(*one) == content_etag(*other)) == (one == other)
