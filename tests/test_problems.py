"""Sources: RFC 9457 (problem documents), RFC 9110 (methods, statuses), RFC 6901 (pointers),
RFC 8259 (JSON)."""

import json
from dataclasses import dataclass
from typing import Annotated, Any, Literal

import pytest
from annotated_types import Ge, Le
from fastapi import APIRouter, HTTPException
from fastapi.testclient import TestClient
from httpx2 import Response
from hypothesis import given
from hypothesis import strategies as st
from pydantic import Discriminator

from service import errors, health
from service.app import create_app
from service.bodies import ApiRoute
from service.problem_kinds import KINDS, Kind
from service.problems import KIND_BY_ERROR, problem_responses
from service.quantities import EDGE_CONFIG, STRICT, Flag
from service.settings import Settings

router = APIRouter(prefix="/trial", route_class=ApiRoute)

MAX_BODY_BYTES = 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class Runner:
    __pydantic_config__ = EDGE_CONFIG

    kind: Literal["runner"]
    length_mm: Annotated[float, STRICT, Ge(10), Le(900)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Blade:
    __pydantic_config__ = EDGE_CONFIG

    kind: Literal["blade"]
    open: Flag


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    __pydantic_config__ = EDGE_CONFIG

    name: str
    shapes: tuple[Annotated[Runner | Blade, Discriminator("kind")], ...] = ()


@router.post("/pieces")
def create_trial_piece(body: Piece) -> str:
    return body.name


@router.put("/pieces")
def replace_trial_pieces(body: dict[str, Any]) -> list[str]:
    return sorted(body)


@router.get("/pieces")
def list_trial_pieces(count: Annotated[int, Le(9)] = 1) -> int:
    return count


@router.get("/errors/{name}", responses=problem_responses(404, 422))
def raise_trial_error(name: str) -> None:
    raise {
        "NotFound": errors.NotFound("gone"),
        "Conflict": errors.Conflict("taken"),
        "RuleBroken": errors.RuleBroken("no"),
        "InvalidInput": errors.InvalidInput(
            errors.FieldProblem(pointer="/a", code="too_long", detail="At most 5.")
        ),
        "PreconditionMissing": errors.PreconditionMissing(),
        "StaleVersion": errors.StaleVersion(7),
        "Unavailable": errors.Unavailable("later"),
        "NotAcceptable": HTTPException(406, "It can be made as text/csv."),
        "ZeroDivisionError": ZeroDivisionError("a secret"),
    }[name]


@pytest.fixture(scope="module")
def client() -> TestClient:
    settings = Settings(_env_file=None, max_body_bytes=MAX_BODY_BYTES)
    return TestClient(create_app(settings, [health.router, router]), raise_server_exceptions=False)


def post_json(client: TestClient, text: str | bytes, method: str = "POST") -> Response:
    headers = {"Content-Type": "application/json"}
    return client.request(method, "/trial/pieces", content=text, headers=headers)


@pytest.mark.parametrize(
    ("error", "status", "slug"),
    [
        ("NotFound", 404, "not-found"),
        ("Conflict", 409, "conflict"),
        ("RuleBroken", 422, "rule-broken"),
        ("InvalidInput", 422, "invalid-input"),
        ("PreconditionMissing", 428, "precondition-missing"),
        ("StaleVersion", 412, "stale-version"),
        ("Unavailable", 503, "not-ready"),
        ("NotAcceptable", 406, "not-acceptable"),
        ("ZeroDivisionError", 500, "internal-error"),
    ],
)
def test_every_error_is_a_problem_document_with_a_status_of_its_own(
    client: TestClient, error: str, status: int, slug: str
) -> None:
    answer = client.get(f"/trial/errors/{error}")

    problem = answer.json()
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert answer.status_code == problem["status"] == status
    assert problem["type"] == f"/problems/{slug}"
    assert problem["instance"] == f"/trial/errors/{error}"
    assert set(problem) == {"type", "title", "status", "detail", "instance", "errors"}


def test_an_unforeseen_error_tells_nothing_but_a_request_id(client: TestClient) -> None:
    answer = client.get("/trial/errors/ZeroDivisionError")

    assert "secret" not in answer.text
    assert answer.headers["Request-Id"]


def test_a_problem_of_a_value_says_where_which_and_the_limit(client: TestClient) -> None:
    answer = client.get("/trial/errors/InvalidInput")

    assert answer.json()["errors"] == [
        {"in": "body", "pointer": "/a", "code": "too_long", "detail": "At most 5."}
    ]


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.slug)
def test_the_type_of_every_problem_leads_to_a_page(client: TestClient, kind: Kind) -> None:
    page = client.get(kind.type_uri)

    assert page.status_code == 200
    assert page.headers["Content-Type"].startswith("text/html")
    assert kind.title in page.text


def test_an_unknown_address_and_an_unknown_kind_are_404_problems(client: TestClient) -> None:
    for path in ("/nowhere", "/problems/nothing"):
        answer = client.get(path)

        assert answer.status_code == 404
        assert answer.json()["type"] == "/problems/not-found"


def test_allow_lists_the_methods_of_all_routes_of_a_path(client: TestClient) -> None:
    """RFC 9110, section 15.5.6."""
    answer = client.delete("/trial/pieces")

    assert answer.status_code == 405
    assert answer.headers["Allow"] == "GET, HEAD, POST, PUT"


def test_a_wrong_value_is_found_inside_a_list_of_a_tagged_union(client: TestClient) -> None:
    shapes = [{"kind": "blade", "open": True}, {"kind": "runner", "length_mm": 5.0}]
    answer = client.post("/trial/pieces", json={"name": "Heron", "shapes": shapes})

    (error,) = answer.json()["errors"]
    assert answer.status_code == 422
    assert (error["in"], error["pointer"]) == ("body", "/shapes/1/length_mm")
    assert error["code"] == "greater_than_equal"
    assert "10" in error["detail"]


def test_missing_and_unknown_fields_are_named(client: TestClient) -> None:
    shapes = [{"kind": "runner"}]
    answer = client.post("/trial/pieces", json={"nam/e": "Heron", "shapes": shapes})

    found = {(error["pointer"], error["code"]) for error in answer.json()["errors"]}
    assert found == {
        ("/name", "missing"),
        ("/shapes/0/length_mm", "missing"),
        ("/nam~1e", "unknown_field"),
    }


def test_a_wrong_query_parameter_is_named(client: TestClient) -> None:
    (error,) = client.get("/trial/pieces?count=10").json()["errors"]

    assert (error["in"], error["pointer"], error["code"]) == ("query", "count", "less_than_equal")


@pytest.mark.parametrize("value", ["true", '"50"', "null"])
def test_a_number_is_a_number(client: TestClient, value: str) -> None:
    shapes = f'[{{"kind": "runner", "length_mm": {value}}}]'
    answer = post_json(client, f'{{"name": "Heron", "shapes": {shapes}}}')

    (error,) = answer.json()["errors"]
    assert (error["pointer"], error["code"]) == ("/shapes/0/length_mm", "float_type")


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity", "1e400", "-1e400"])
def test_numbers_that_are_not_finite_are_refused_wherever_they_stand(
    client: TestClient, value: str
) -> None:
    """RFC 8259, section 6: NaN and infinities are no JSON; 1e400 exceeds a binary64."""
    answer = post_json(client, f'{{"any": [0, {{"b": {value}}}]}}', "PUT")

    (error,) = answer.json()["errors"]
    assert answer.status_code == 422
    assert (error["pointer"], error["code"]) == ("/any/1/b", "finite_number")
    json.loads(answer.text, parse_constant=pytest.fail)


def test_malformed_json_is_a_400_that_says_where(client: TestClient) -> None:
    answer = post_json(client, '{"name": "Heron",\n "shapes": [1 2]}')

    assert answer.status_code == 400
    assert answer.json()["type"] == "/problems/bad-request"
    assert "line 2, column 15" in answer.json()["detail"]


@pytest.mark.parametrize(
    "text",
    [
        b'{"name": "\xff"}',
        b'{"name": ' + b"[" * 500 + b"]" * 500 + b"}",
        b"{",
        b"\xef\xbb\xbf{}",
        b'{"a": ' + b"9" * 900 + b"}",
    ],
    ids=["not UTF-8", "nested", "cut off", "byte order mark", "long number"],
)
def test_no_body_makes_the_service_fail(client: TestClient, text: bytes) -> None:
    answer = post_json(client, text)

    assert answer.status_code in (400, 422)
    assert answer.headers["Content-Type"] == "application/problem+json"


def test_half_a_surrogate_pair_is_refused_in_text_and_in_keys(client: TestClient) -> None:
    """RFC 8259, section 8.2: such text is not interoperable; UTF-8 cannot carry it."""
    for text in (r'{"a": "\ud800"}', r'{"\udfff": 1}'):
        answer = post_json(client, text, "PUT")

        assert answer.status_code == 422
        assert answer.json()["errors"][0]["code"] == "string_unicode"


@given(text=st.binary(max_size=200))
def test_any_bytes_get_an_answer_that_is_no_failure(client: TestClient, text: bytes) -> None:
    answer = post_json(client, text, "PUT")

    assert answer.status_code < 500


@pytest.mark.parametrize("declared", [True, False])
def test_a_body_over_the_limit_is_a_413_problem(client: TestClient, *, declared: bool) -> None:
    text = b'{"name": "' + b"x" * MAX_BODY_BYTES + b'"}'
    content = text if declared else iter([text])
    headers = {"Content-Type": "application/json"}

    answer = client.post("/trial/pieces", content=content, headers=headers)

    assert answer.status_code == 413
    assert answer.json()["type"] == "/problems/body-too-large"
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert answer.headers["Request-Id"]


@pytest.mark.parametrize("media_type", [None, "text/plain", "application/xml", "nonsense"])
def test_a_body_of_another_media_type_is_a_415_problem(
    client: TestClient, media_type: str | None
) -> None:
    headers = {} if media_type is None else {"Content-Type": media_type}
    answer = client.post("/trial/pieces", content=b'{"name": "Heron"}', headers=headers)

    assert answer.status_code == 415
    assert answer.headers["Accept"] == "application/json"
    assert answer.json()["type"] == "/problems/unsupported-media-type"


def test_a_character_set_beside_the_media_type_is_no_other_media_type(client: TestClient) -> None:
    headers = {"Content-Type": "Application/JSON; charset=utf-8"}
    answer = client.post("/trial/pieces", content=b'{"name": "Heron"}', headers=headers)

    assert answer.status_code == 200


def test_the_document_declares_errors_as_problem_documents_and_nothing_else(
    client: TestClient,
) -> None:
    document = client.get("/openapi.json").json()

    responses = document["paths"]["/trial/errors/{name}"]["get"]["responses"]
    for status in ("404", "422"):
        assert responses[status]["content"] == {
            "application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}
        }
    schemas = document["components"]["schemas"]
    assert set(schemas["Problem"]["required"]) == {
        "type",
        "title",
        "status",
        "detail",
        "instance",
        "errors",
    }
    assert set(schemas["ProblemError"]["properties"]) == {"in", "pointer", "code", "detail"}
    assert not {"HTTPValidationError", "ValidationError"} & set(schemas)


def test_the_table_of_kinds_has_one_slug_each() -> None:
    assert len({kind.slug for kind in KINDS}) == len(KINDS)


def test_every_error_of_the_tree_has_a_kind() -> None:
    own = {value for value in vars(errors).values() if isinstance(value, type)}
    tree = {cls for cls in own if issubclass(cls, errors.ServiceError)}
    assert tree == set(KIND_BY_ERROR)
