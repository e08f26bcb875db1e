import time
from dataclasses import dataclass
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.params import Form
from fastapi.routing import APIRoute, iter_route_contexts
from fastapi.testclient import TestClient

from service.app import ROUTERS, create_app
from service.bodies import ApiRoute
from service.settings import Settings

COMPILED_WITHIN_S = 180
METHODS = {"get", "put", "post", "patch", "delete"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One operation of the document."""

    name: str
    value: dict[str, Any]


@pytest.fixture(scope="session")
def operations(whole_app: FastAPI) -> list[Operation]:
    found = [
        Operation(name=f"{method} {path}", value=operation)
        for path, methods in whole_app.openapi()["paths"].items()
        for method, operation in methods.items()
        if method in METHODS
    ]
    assert len(found) > len(ROUTERS)
    return found


def test_a_process_that_answers_is_alive(client: TestClient) -> None:
    answer = client.get("/livez")

    assert (answer.status_code, answer.json()) == (200, {"status": "alive"})


def test_a_migrated_database_makes_the_service_ready(client: TestClient) -> None:
    give_up = time.monotonic() + COMPILED_WITHIN_S
    while "compiled" in (answer := client.get("/readyz")).text and time.monotonic() < give_up:
        time.sleep(0.1)

    assert (answer.status_code, answer.json()) == (200, {"status": "ready"})


@pytest.mark.parametrize(
    ("url", "reason"),
    [
        ("sqlite:///{folder}/empty.db", "kitwright migrate"),
        ("postgresql://nobody@127.0.0.1:1/none", "does not answer"),
    ],
)
def test_without_its_tables_or_its_database_the_service_is_alive_but_not_ready(
    tmp_path_factory: pytest.TempPathFactory, url: str, reason: str
) -> None:
    folder = tmp_path_factory.mktemp("unready")
    settings = Settings(_env_file=None, database_url=url.format(folder=folder))

    with TestClient(create_app(settings, ROUTERS[:1])) as client:
        answer = client.get("/readyz")

        assert client.get("/livez").status_code == 200
        assert answer.status_code == 503
        assert answer.headers["Retry-After"]
        assert reason in answer.json()["detail"]
        assert "nobody" not in answer.text


@pytest.fixture(scope="module")
def bare_client() -> TestClient:
    """A client of an application whose database nobody asks."""
    return TestClient(create_app(Settings(_env_file=None), ROUTERS[:1]))


def test_every_answer_has_a_request_id_of_its_own(bare_client: TestClient) -> None:
    ids = [bare_client.get(path).headers["Request-Id"] for path in ("/livez", "/livez", "/none")]

    assert len(set(ids)) == len(ids)


@pytest.mark.parametrize("path", ["/livez", "/nowhere", "/problems/conflict", "/openapi.json"])
def test_every_answer_has_the_security_headers(bare_client: TestClient, path: str) -> None:
    """Sources: CSP Level 3, Referrer Policy and Permissions Policy of the W3C; the Fetch
    standard for nosniff."""
    headers = bare_client.get(path).headers

    assert "default-src 'none'" in headers["Content-Security-Policy"]
    assert "unsafe" not in headers["Content-Security-Policy"]
    assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"
    assert headers["Permissions-Policy"]


def test_head_answers_like_get_without_the_content(bare_client: TestClient) -> None:
    """RFC 9110, section 9.3.2."""
    got, head = bare_client.get("/problems/conflict"), bare_client.head("/problems/conflict")

    assert head.status_code == got.status_code == 200
    assert head.content == b""
    assert head.headers["Content-Type"] == got.headers["Content-Type"]
    assert head.headers["Content-Length"] == str(len(got.content))


def test_no_page_of_the_framework_loads_code_from_elsewhere(bare_client: TestClient) -> None:
    for path in ("/docs", "/redoc", "/docs/oauth2-redirect"):
        assert bare_client.get(path).status_code == 404


def test_the_limit_of_the_settings_holds_for_every_route(whole_app: FastAPI) -> None:
    for route in iter_route_contexts(whole_app.routes):
        if isinstance(route.original_route, APIRoute):
            assert route.max_body_size is not None, route.path


def test_every_route_reads_a_json_body_strictly(whole_app: FastAPI) -> None:
    for route in iter_route_contexts(whole_app.routes):
        body = getattr(route.original_route, "body_field", None)
        if body is not None and not isinstance(body.field_info, Form):
            assert isinstance(route.original_route, ApiRoute), route.path


def test_every_operation_has_an_id_of_its_own_that_is_a_plain_name(
    operations: list[Operation],
) -> None:
    ids = [operation.value["operationId"] for operation in operations]

    assert len(set(ids)) == len(ids)
    assert all(name.isidentifier() for name in ids)


def test_every_operation_is_described_and_stands_in_one_described_section(
    whole_app: FastAPI, operations: list[Operation]
) -> None:
    sections = {tag["name"]: tag["description"] for tag in whole_app.openapi()["tags"]}

    used = set()
    for operation in operations:
        assert operation.value.get("description"), operation.name
        (section,) = operation.value["tags"]
        used.add(section)
    assert used == set(sections)
    assert all(sections.values())


def test_every_parameter_says_what_it_does_unless_it_is_in_the_path(
    operations: list[Operation],
) -> None:
    for operation in operations:
        for parameter in operation.value.get("parameters", []):
            assert parameter["in"] == "path" or parameter["description"], operation.name


def test_every_documented_error_is_a_problem_document(operations: list[Operation]) -> None:
    for operation in operations:
        for status, response in operation.value["responses"].items():
            if int(status) >= 400:
                assert list(response["content"]) == ["application/problem+json"], operation.name


def test_every_operation_with_a_body_documents_what_happens_to_a_wrong_one(
    operations: list[Operation],
) -> None:
    for operation in operations:
        if "requestBody" in operation.value:
            assert {"413", "422"} <= set(operation.value["responses"]), operation.name


def test_no_schema_is_there_twice_under_two_names(whole_app: FastAPI) -> None:
    names = set(whole_app.openapi()["components"]["schemas"])

    assert not {name for name in names if name.endswith(("-Input", "-Output"))}
    assert not {name for name in names if name.startswith("Body_")}
    assert "HTTPValidationError" not in names
