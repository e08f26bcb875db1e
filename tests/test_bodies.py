import json
from dataclasses import dataclass
from typing import Annotated, Any

import pytest
from annotated_types import Ge
from fastapi import APIRouter
from fastapi.testclient import TestClient
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from service.app import create_app
from service.bodies import ApiRoute, MergePatchBody, merge_patch, read_document
from service.errors import InvalidInput
from service.quantities import EDGE_CONFIG, STRICT
from service.settings import Settings

router = APIRouter(prefix="/trial", route_class=ApiRoute)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bolt:
    __pydantic_config__ = EDGE_CONFIG

    name: str
    torque_nm: Annotated[float, STRICT, Ge(0)] = 0.0


BOLT = TypeAdapter(Bolt)


@router.patch("/bolt")
def update_trial_bolt(body: MergePatchBody) -> Bolt:
    return read_document(BOLT, merge_patch({"name": "head", "torque_nm": 80.0}, body))


@pytest.fixture(scope="module")
def client() -> TestClient:
    return TestClient(create_app(Settings(_env_file=None), [router]))


@pytest.mark.parametrize(
    ("target", "patch", "result"),
    [
        ({"a": "b"}, {"a": "c"}, {"a": "c"}),
        ({"a": "b"}, {"b": "c"}, {"a": "b", "b": "c"}),
        ({"a": "b"}, {"a": None}, {}),
        ({"a": "b", "b": "c"}, {"a": None}, {"b": "c"}),
        ({"a": ["b"]}, {"a": "c"}, {"a": "c"}),
        ({"a": "c"}, {"a": ["b"]}, {"a": ["b"]}),
        ({"a": {"b": "c"}}, {"a": {"b": "d", "c": None}}, {"a": {"b": "d"}}),
        ({"a": [{"b": "c"}]}, {"a": [1]}, {"a": [1]}),
        (["a", "b"], ["c", "d"], ["c", "d"]),
        ({"a": "b"}, ["c"], ["c"]),
        ({"a": "foo"}, None, None),
        ({"a": "foo"}, "bar", "bar"),
        ({"e": None}, {"a": 1}, {"e": None, "a": 1}),
        ([1, 2], {"a": "b", "c": None}, {"a": "b"}),
        ({}, {"a": {"bb": {"ccc": None}}}, {"a": {"bb": {}}}),
    ],
)
def test_a_merge_patch_does_what_the_standard_says(target: Any, patch: Any, result: Any) -> None:  # noqa: ANN401 - JSON holds anything.
    """The fifteen cases of RFC 7396, appendix A."""
    before = json.dumps([target, patch])

    assert merge_patch(target, patch) == result
    assert json.dumps([target, patch]) == before


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=3),
    lambda inner: (
        st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=2), inner, max_size=3)
    ),
)


@given(target=JSON, patch=JSON)
def test_the_same_patch_twice_changes_nothing_more(target: Any, patch: Any) -> None:  # noqa: ANN401 - The same.
    once = merge_patch(target, patch)

    assert merge_patch(once, patch) == once


def patch_bolt(client: TestClient, text: str, media_type: str) -> Any:  # noqa: ANN401 - An answer.
    return client.patch("/trial/bolt", content=text, headers={"Content-Type": media_type})


def test_a_patch_changes_what_it_names(client: TestClient) -> None:
    answer = patch_bolt(client, '{"torque_nm": 95.0}', "application/merge-patch+json")

    assert answer.json() == {"name": "head", "torque_nm": 95.0}


def test_a_patch_that_leads_outside_the_limits_is_a_422_with_a_pointer(client: TestClient) -> None:
    answer = patch_bolt(client, '{"torque_nm": -1.0, "name": null}', "application/merge-patch+json")

    found = {(error["pointer"], error["code"]) for error in answer.json()["errors"]}
    assert answer.status_code == 422
    assert found == {("/torque_nm", "greater_than_equal"), ("/name", "missing")}


def test_plain_json_is_no_patch(client: TestClient) -> None:
    """RFC 5789, section 2.2: 415, with Accept-Patch."""
    answer = patch_bolt(client, '{"torque_nm": 95.0}', "application/json")

    assert answer.status_code == 415
    assert answer.headers["Accept-Patch"] == "application/merge-patch+json"


@pytest.mark.parametrize("text", ["[]", "null", "1", '"text"'])
def test_a_patch_that_is_no_object_is_a_422(client: TestClient, text: str) -> None:
    assert patch_bolt(client, text, "application/merge-patch+json").status_code == 422


def test_the_document_names_the_media_type_of_a_patch(client: TestClient) -> None:
    patch = client.get("/openapi.json").json()["paths"]["/trial/bolt"]["patch"]

    assert list(patch["requestBody"]["content"]) == ["application/merge-patch+json"]


def test_a_document_is_read_or_refused_with_pointers() -> None:
    with pytest.raises(InvalidInput) as refused:
        read_document(BOLT, {"name": 5})

    (problem,) = refused.value.problems
    assert (problem.pointer, problem.code) == ("/name", "string_type")
