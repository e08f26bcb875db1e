"""Every operation has an example under openapi_examples/ that the service answers as written.

A file names the examples that come before it in `setup`. Its path may take a header of
the answer before it, as `{Content-Location}`; a body may take the key at the end of that
address, as `{key}`. `lines` is a body of JSON Lines, `text` one of
plain text. Of the answer, status, headers and the fields given are compared; there may be
more fields. What creates something is sent again with its key.
No answer holds a banned word (public law, section 11).
"""

import json
import time
from http import HTTPStatus
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from httpx2 import Response

from service.wording import banned_words
from tests.printed import pages

FOLDER = Path(__file__).parent.parent / "openapi_examples"
DOCUMENT = FOLDER / "openapi.json"
EXAMPLES: dict[str, dict[str, Any]] = {
    file.stem: json.loads(file.read_text()) for file in FOLDER.glob("*.json") if file != DOCUMENT
}
CREATED = (201, 202)
READY_WITHIN_S = 180
"""On a new machine the physics is compiled first; until then the answer is 503."""


def sent(
    client: TestClient, example: dict[str, Any], before: Response | None, **headers: str
) -> Response:
    request = example["request"]
    path = request["path"].format_map(before.headers if before is not None else {})
    content = b""
    if "body" in request:
        address = "" if before is None else before.headers.get("Content-Location", "")
        body = json.dumps(request["body"]).replace("{key}", address.rpartition("/")[2])
        content = body.encode()
    if "text" in request:
        content = request["text"].encode()
    if "lines" in request:
        content = "".join(f"{json.dumps(line)}\n" for line in request["lines"]).encode()
    give_up = time.monotonic() + READY_WITHIN_S
    while True:
        response = client.request(
            request["method"], path, content=content, headers=request["headers"] | headers
        )
        if response.status_code != HTTPStatus.SERVICE_UNAVAILABLE or time.monotonic() > give_up:
            return response
        time.sleep(0.1)


def words_of(response: Response) -> str:
    """The text of an answer; a copy of somebody's paper has words of its own."""
    if response.headers.get("Content-Type") != "application/pdf":
        return response.text
    if "attachment" in response.headers["Content-Disposition"]:
        return ""
    return "\n".join(pages(response.content))


def assert_holds(actual: Any, expected: Any, place: str = "") -> None:  # noqa: ANN401 - any JSON value.
    """Fields that are not expected may be there; lists are compared item by item."""
    if isinstance(expected, dict):
        assert isinstance(actual, dict), place
        for name, value in expected.items():
            assert name in actual, f"{place}/{name}"
            assert_holds(actual[name], value, f"{place}/{name}")
    elif isinstance(expected, list):
        assert isinstance(actual, list), place
        assert len(actual) == len(expected), place
        for number, (one, other) in enumerate(zip(actual, expected, strict=True)):
            assert_holds(one, other, f"{place}/{number}")
    else:
        assert (type(actual), actual) == (type(expected), expected), place


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_the_service_answers_each_example_as_written(client: TestClient, name: str) -> None:
    example, before = EXAMPLES[name], None
    for step in example["setup"]:
        before = sent(client, EXAMPLES[step], before)
        assert before.status_code == EXAMPLES[step]["response"]["status"], before.text

    creates = example["request"]["method"] == "POST" and example["response"]["status"] in CREATED
    keyed = {"Idempotency-Key": name} if creates else {}
    response = sent(client, example, before, **keyed)

    assert banned_words(words_of(response)) == ()
    expected = example["response"]
    assert response.status_code == expected["status"], response.text
    for header, value in expected.get("headers", {}).items():
        assert response.headers[header] == value
    if "body" in expected:
        assert_holds(response.json(), expected["body"])
    if keyed:
        # The draft of the header, section 2.6: the same answer, and nothing is done again.
        again = sent(client, example, before, **keyed)
        assert again.headers["Idempotent-Replayed"] == "true"
        assert (again.status_code, again.content) == (response.status_code, response.content)


def test_every_operation_of_the_document_has_an_example_of_its_own(app: FastAPI) -> None:
    operations = {
        operation["operationId"]: method.upper()
        for methods in app.openapi()["paths"].values()
        for method, operation in methods.items()
    }

    assert {name: example["request"]["method"] for name, example in EXAMPLES.items()} == operations
    assert all(example["operation"] == name for name, example in EXAMPLES.items())
