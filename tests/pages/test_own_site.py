"""Forms are taken from pages of this service alone, and pages are made of known files."""

import hashlib
import json
import re
from html import unescape

import pytest
from fastapi import APIRouter, FastAPI
from fastapi.testclient import TestClient

from service.app import create_app
from service.errors import NotFound
from service.pages.api import files
from service.pages.api.page_route import PageRoute
from service.pages.own_site import is_from_own_site
from service.settings import Settings

HOST = "shop.example"


@pytest.mark.parametrize(
    ("headers", "taken"),
    [
        ({"sec-fetch-site": "same-origin"}, True),
        ({"sec-fetch-site": "none"}, True),
        ({"sec-fetch-site": "same-site"}, False),
        ({"sec-fetch-site": "cross-site"}, False),
        ({"sec-fetch-site": "cross-site", "origin": f"https://{HOST}"}, False),
        ({"origin": f"https://{HOST}"}, True),
        ({"origin": f"https://{HOST}:8443"}, False),
        ({"origin": f"https://{HOST}.evil.example"}, False),
        ({"origin": "null"}, False),
        ({}, False),
    ],
)
def test_a_form_is_taken_from_a_page_of_this_host_only(
    headers: dict[str, str], *, taken: bool
) -> None:
    """Fetch Metadata (W3C): the values of Sec-Fetch-Site; RFC 6454, section 7: Origin, `null`."""
    assert is_from_own_site({"host": HOST, **headers}) is taken


@pytest.fixture(scope="module")
def small() -> FastAPI:
    router = APIRouter(route_class=PageRoute)
    taken: list[str] = []

    @router.post("/form")
    def submit() -> list[str]:
        taken.append("form")
        return taken

    @router.get("/gone")
    def show() -> None:
        message = "Nothing <is> here."
        raise NotFound(message)

    @router.get("/count/{number}")
    def count(number: int) -> int:
        return number

    return create_app(Settings(_env_file=None), [router])


def test_the_form_of_another_site_is_refused_with_a_page_and_does_nothing(small: FastAPI) -> None:
    client = TestClient(small)

    refused = client.post("/form", headers={"Sec-Fetch-Site": "cross-site"})
    own = client.post("/form", headers={"Sec-Fetch-Site": "same-origin"})

    assert refused.status_code == 403
    assert "nothing was changed" in refused.text
    assert own.json() == ["form"]


def test_an_error_under_a_page_is_a_page_that_says_it(small: FastAPI) -> None:
    client = TestClient(small)

    gone, wrong = client.get("/gone"), client.get("/count/many")

    assert (gone.status_code, wrong.status_code) == (404, 422)
    assert "Nothing &lt;is&gt; here." in gone.text
    assert "valid integer" in wrong.text
    assert "<title>Error:" in wrong.text


def test_htmx_is_the_file_that_was_published_with_its_licence() -> None:
    content = files.HTMX.read_bytes()
    licence = files.HTMX.with_name(f"htmx-{files.HTMX_VERSION}-LICENSE.txt")

    assert hashlib.sha256(content).hexdigest() == files.HTMX_SHA256
    assert f'version:"{files.HTMX_VERSION}"'.encode() in content.replace(b"'", b'"')
    assert "Zero-Clause BSD" in licence.read_text()


def test_a_page_names_files_that_may_be_kept_for_a_year_and_nothing_from_elsewhere() -> None:
    """RFC 9111 and RFC 8246: `max-age` and `immutable`; the name changes with the content."""
    client = TestClient(create_app(Settings(_env_file=None), [files.router]))
    page = TestClient(create_app(Settings(_env_file=None), [files.router])).get("/files/none.css")
    assert page.status_code == 404

    for file in (files.style_sheet(), files.script()):
        plain = client.get(file.address, headers={"Accept-Encoding": "identity"})
        packed = client.get(file.address, headers={"Accept-Encoding": "gzip"})

        assert hashlib.sha256(file.content).hexdigest()[:12] in file.address
        assert plain.content == packed.content == file.content
        assert packed.headers["Content-Encoding"] == "gzip"
        assert "max-age=31536000, immutable" in plain.headers["Cache-Control"]
        assert plain.headers["Vary"] == "Accept-Encoding"


def test_no_page_holds_what_the_policy_forbids_and_the_script_is_told_so(small: FastAPI) -> None:
    """CSP Level 3: no inline style, no handler in an attribute, no address of another site."""
    text = TestClient(small).get("/gone").text

    settings = re.search(r'name="htmx-config" content="([^"]*)"', text)
    assert settings is not None
    told = json.loads(unescape(settings[1]))
    assert (told["allowEval"], told["allowScriptTags"]) == (False, False)
    assert told["includeIndicatorStyles"] is False
    assert not re.search(r"\sstyle=|\son\w+=|<style|(?:src|href)=\"(?:https?:)?//", text)


def test_an_address_without_a_page_is_answered_by_one_and_the_bare_one_leads_to_the_desk(
    client: TestClient,
) -> None:
    """RFC 9110, 15.4.4: 303 leads to another resource."""
    start = client.get("/", follow_redirects=False)
    nowhere = [client.get(path) for path in ("/desk/none", "/builder/a/b", "/shop/none")]

    assert (start.status_code, start.headers["Location"]) == (303, "/desk")
    assert [one.status_code for one in nowhere] == [404] * 3
    assert all("No such page." in one.text for one in nowhere)
    assert 'href="/shop' in nowhere[2].text
    assert client.get("/v1/none").headers["Content-Type"] == "application/problem+json"


def test_the_way_back_from_a_refused_question_leaves_the_refused_words_out(
    client: TestClient,
) -> None:
    """The project's own rule: public-law.md, row 33."""
    asked = {"family": "swap stock parts before the smog test", "model_year": "1990"}

    refused = client.get("/desk", params=asked)

    back = re.search(r'href="(/desk\?[^"]*)">Back', unescape(refused.text))
    assert refused.status_code == 422
    assert back
    assert "model_year=1990" in back[1]
    assert "smog" not in back[1]
