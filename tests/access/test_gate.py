"""Who is let in: every operation of the OpenAPI document, with, without and with another key."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.access.api import BELIEVED_S, KeyRing
from service.access.keys import THIS_MACHINE, Scope, key_digest
from service.access.rights import is_open, scopes_for
from service.access.store import add_access_key, find_access_keys, revoke_access_key
from service.access.tables import AccessKeyRow
from service.database import Database
from tests.quotes.made import ADDRESS, content, issue, shop

Json = dict[str, Any]
OPEN_OPERATIONS = {"read_liveness", "read_readiness", "show_problem"}
COSTS = {"margin", "unit_cost"}


@pytest.fixture
def keys(database: Database) -> dict[Scope, str]:
    with database.writing() as session:
        return {scope: add_access_key(session, f"demo-{scope}", [scope]) for scope in Scope}


@pytest.fixture
def client(app: FastAPI, database: Database, keys: dict[Scope, str]) -> Iterator[TestClient]:
    del keys
    with shop(app, database) as client:
        yield client


def bearer(key: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {key}"}


def operations(app: FastAPI) -> list[tuple[str, str, Json]]:
    """Return method, an address and the description of every operation."""
    return [
        (method.upper(), re.sub(r"\{\w+\}", "1", path), operation)
        for path, methods in app.openapi()["paths"].items()
        for method, operation in methods.items()
    ]


def test_every_operation_is_closed_without_a_key_and_opens_for_its_scopes_alone(
    app: FastAPI, client: TestClient, keys: dict[Scope, str]
) -> None:
    """RFC 6750, section 3: 401 with a challenge, 403 with the scope that is missing."""
    for method, address, operation in operations(app):
        allowed = scopes_for(method, address)
        if operation["operationId"] in OPEN_OPERATIONS:
            assert is_open(address)
            continue
        assert allowed, operation["operationId"]
        assert {scope for each in operation["security"] for scope in each["key"]} == allowed
        without = client.request(method, address)
        wrong = client.request(method, address, headers=bearer("kw_guessed"))
        for answer, word in ((without, "realm"), (wrong, "invalid_token")):
            assert answer.status_code == 401, (method, address)
            assert answer.headers["Content-Type"] == "application/problem+json"
            assert word in answer.headers["WWW-Authenticate"]
        for scope in set(Scope) - allowed:
            refused = client.request(method, address, headers=bearer(keys[scope]))
            assert refused.status_code == 403, (method, address, scope)
            assert "insufficient_scope" in refused.headers["WWW-Authenticate"]
        for scope in allowed - {Scope.SHOP}:
            # A job's stream would be followed; the rest ends with what it finds.
            if not address.endswith("/events"):
                answer = client.request(method, address, headers=bearer(keys[scope]))
                assert answer.status_code not in (401, 403), (method, address, scope)


def test_health_and_the_description_stay_open_and_unknown_addresses_are_closed(
    client: TestClient,
) -> None:
    for address in ("/livez", "/readyz", "/openapi.json", "/problems/not-found"):
        assert client.get(address).status_code in (200, 503)
    assert client.get("/v1/thought-of-later").status_code == 401
    assert client.get("/login/../v1/quotes").status_code == 401


def properties(schema: object, document: Json, seen: set[str]) -> set[str]:
    """Return the name of every property that an answer of this schema may have."""
    if isinstance(schema, list):
        return set().union(*(properties(each, document, seen) for each in schema))
    if not isinstance(schema, dict):
        return set()
    if (reference := schema.get("$ref")) is not None:
        if reference in seen:
            return set()
        seen.add(reference)
        name = reference.rsplit("/", 1)[-1]
        return properties(document["components"]["schemas"][name], document, seen)
    named = set(schema.get("properties", {}))
    return named.union(*(properties(each, document, seen) for each in schema.values()))


def test_no_answer_that_a_storefront_can_have_has_a_place_for_costs(app: FastAPI) -> None:
    """By the document; the one that has a place is tried below, and leaves it empty."""
    document = app.openapi()

    with_costs = {
        operation["operationId"]
        for method, address, operation in operations(app)
        if Scope.STOREFRONT in scopes_for(method, address)
        if COSTS & properties(operation["responses"], document, set())
    }

    assert with_costs == {"create_quote"}


def test_a_storefront_begins_a_draft_and_sees_no_cost_of_it(
    client: TestClient, keys: dict[Scope, str]
) -> None:
    body = {"by": "Demo storefront", "content": content()}
    said = {"by": "Demo storefront", "content": content(lines=[{**LINE, "unit_cost": COST}])}

    made = client.post(ADDRESS, json=body, headers=bearer(keys[Scope.STOREFRONT]))
    refused = client.post(ADDRESS, json=said, headers=bearer(keys[Scope.STOREFRONT]))
    seen = client.get(f"{ADDRESS}/1", headers=bearer(keys[Scope.STOREFRONT]))
    by_desk = client.get(f"{ADDRESS}/1", headers=bearer(keys[Scope.DESK]))

    assert made.status_code == 201
    assert made.json()["margin"] is None
    assert refused.json()["errors"][0]["pointer"] == "/content/lines/0/unit_cost"
    assert seen.status_code == 403
    assert by_desk.json()["margin"] is not None


COST = {"amount": "10.00", "currency": "USD"}
LINE = {"kind": "labour", "title": "Fitting", "unit_price": {"amount": "90.00", "currency": "USD"}}


def test_the_history_of_a_quote_names_the_key(client: TestClient, keys: dict[Scope, str]) -> None:
    client.headers.update(bearer(keys[Scope.DESK]))
    made = client.post(ADDRESS, json={"by": "Demo desk", "content": content()}).json()
    issue(client, made)

    history = client.get(f"{ADDRESS}/1/history").json()

    assert {each["key"] for each in history} == {"demo-desk"}


def test_what_a_key_named_once_is_not_told_to_another_key(
    client: TestClient, keys: dict[Scope, str]
) -> None:
    """A kept answer stays behind the gate: the same Idempotency-Key without a key is a 401."""
    body = {"by": "Demo desk", "content": content()}
    once = {"Idempotency-Key": "demo-once"}

    made = client.post(ADDRESS, json=body, headers={**bearer(keys[Scope.DESK]), **once})
    stranger = client.post(ADDRESS, json=body, headers=once)
    other = client.post(ADDRESS, json=body, headers={**bearer(keys[Scope.STOREFRONT]), **once})

    assert made.json()["margin"] is not None
    assert stranger.status_code == 401
    assert other.json()["margin"] is None


def test_a_key_is_kept_as_its_digest_with_its_last_day_and_ends_when_it_is_revoked(
    client: TestClient, database: Database, keys: dict[Scope, str]
) -> None:
    """FIPS 180-4: SHA-256 has 64 hexadecimal digits."""
    key = keys[Scope.STOREFRONT]
    assert client.get("/v1/parts", headers=bearer(key)).status_code == 200
    with database.writing() as session:
        (row,) = session.exec(_with_digest(key))
        used = {each.name: each.last_used_on for each in find_access_keys(session)}
        revoke_access_key(session, "demo-storefront")

    ring: KeyRing = client.app.state.key_ring  # type: ignore[attr-defined]
    start = ring.clock()
    ring.clock = lambda: start + BELIEVED_S + 1.0

    assert len(row.sha256) == 64
    assert key not in str(row.model_dump())
    assert used["demo-storefront"] is not None
    assert used["demo-shop"] is None
    assert client.get("/v1/parts", headers=bearer(key)).status_code == 401


def _with_digest(key: str) -> Any:  # noqa: ANN401 - A statement.
    from sqlmodel import select  # noqa: PLC0415

    return select(AccessKeyRow).where(AccessKeyRow.sha256 == key_digest(key))


def test_without_any_key_this_machine_alone_is_answered(app: FastAPI, database: Database) -> None:
    """RFC 5737: 192.0.2.1 is nobody's."""
    del database
    with TestClient(app, client=("127.0.0.1", 50_000)) as here:
        assert here.get("/v1/parts").status_code == 200
    with TestClient(app, client=("192.0.2.1", 50_000)) as elsewhere:
        assert elsewhere.get("/v1/parts").status_code == 401
    assert THIS_MACHINE.sees_costs
