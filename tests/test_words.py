"""No answer, page, paper or command on the demo holds a banned word (public law, section 11).

Every operation of the OpenAPI document is asked on the demo catalogue, every page in a few
states, and every command run; printed documents are read with PDFium. The profiles quote no
law, so that nothing has to be left out.
"""

import json
import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from html import unescape
from pathlib import Path
from typing import Any

import pytest
import typer
from fastapi import FastAPI
from fastapi.testclient import TestClient
from httpx2 import Response
from pydantic import TypeAdapter
from typer.testing import CliRunner

from service import cli
from service.app import open_assessor
from service.commands import assess, compare, search, surfaces, work_sheet
from service.compliance.outcomes import closing
from service.database import Database
from service.kits.kit import AssessmentRequest
from service.problem_kinds import KINDS
from service.quotes.content import declaration_text
from service.refusals import refused_fields
from service.searches.api.searcher import Searcher
from service.settings import Settings, get_settings
from service.surfaces.schemas import read_surfaces
from service.surfaces.store import put_surface
from service.wording import banned_words
from tests.compliance.cases import PROFILES
from tests.kits.assembled import level_torque
from tests.kits.test_command import LevelPool
from tests.pages.screens import SCREENS
from tests.printed import pages
from tests.seed import SEED, documents, families, parts, shop_rules
from tests.served import READY_WITHIN_S, fill, sqlite_url
from tests.simulations.level import level_pool
from tests.test_openapi_examples import EXAMPLES, sent
from tests.test_seed_papers import QUESTIONS

SMALL = {"family": "orrin-4-4", "use": "road", "place": "us-ca", "model_year": 1990}
BOAT = {
    "family": "quay-7-6",
    "use": "marine",
    "place": "us-marine",
    "model_year": 2003,
    "parts": {"air_inlet": "Q76-INLET-STAYSAIL"},
}
CUT = {
    **QUESTIONS["factory kit"],
    "engine": {"machined": {"right": {"head_mill_mm": 0.3}}, "compression_ratio": 9.6},
}


def words_of(response: Response) -> str:
    if response.headers.get("Content-Type") != "application/pdf":
        return unescape(response.text)
    words = "\n".join(pages(response.content))
    assert words
    return words


def assert_the_flag_has_company(value: object) -> None:
    """Wherever the flag stands, who decides and what it is not stand beside it."""
    if isinstance(value, dict):
        if "street_legal_flag" in value:
            sentence = str(value.get("street_use_sentence", value.get("sentence")))
            decided_by = str(value.get("street_use_decided_by", value.get("decided_by")))
            assert sentence.endswith(closing(decided_by)), value
        for item in value.values():
            assert_the_flag_has_company(item)
    elif isinstance(value, list):
        for item in value:
            assert_the_flag_has_company(item)


@dataclass
class Walk:
    """Sends requests, reads every answer, and knows which operations were asked."""

    client: TestClient
    operations: dict[tuple[str, str], str]
    asked: set[str] = field(default_factory=set)

    def send(self, method: str, path: str, **request: Any) -> Response:  # noqa: ANN401 - as a client takes it.
        response = self.client.request(method, path, **request)
        assert response.status_code < 400, response.text
        assert banned_words(words_of(response)) == (), path
        if response.headers.get("Content-Type") == "application/json":
            assert_the_flag_has_company(response.json())
            # Trap T33 on the way out: no answer coaches anybody to hide or to mislead.
            assert list(refused_fields(response.json())) == [], path
        self.asked.add(self.operation(method, path.partition("?")[0]))
        return response

    def get(self, path: str, **request: Any) -> Response:  # noqa: ANN401 - as a client takes it.
        return self.send("GET", path, **request)

    def post(self, path: str, body: object = None, **headers: str) -> Response:
        return self.send("POST", path, json=body, headers=headers)

    def patch_nothing(self, path: str) -> None:
        tag = self.get(path).headers["ETag"]
        headers = {"Content-Type": "application/merge-patch+json", "If-Match": tag}
        self.send("PATCH", path, content="{}", headers=headers)

    def operation(self, method: str, path: str) -> str:
        for (verb, template), name in self.operations.items():
            # Only the number of a paper may hold a stroke.
            blank = ".+" if template.startswith("/v1/documents/") else "[^/]+"
            pattern = re.sub(r"\{\w+\}", blank, template)
            if verb == method and re.fullmatch(pattern, path):
                return name
        pytest.fail(f"No operation is {method} {path}.")


@pytest.fixture(scope="module")
def shop(
    whole_app: FastAPI, sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[TestClient]:
    """The demo catalogue with its surfaces; engines give one level torque."""
    file = tmp_path_factory.mktemp("words") / "kitwright.db"
    shutil.copy(sqlite_template, file)
    database = Database.open(sqlite_url(file), pool_size=1)
    fill(database)
    with database.writing() as session:
        for fitted in read_surfaces((SEED / "surfaces.json").read_bytes()):
            put_surface(session, fitted)
    database.close()
    whole_app.state.settings = Settings(
        _env_file=None, database_url=sqlite_url(file), job_worker=False
    )
    with TestClient(whole_app) as client:
        whole_app.state.assessor = open_assessor(whole_app.state.database, level_torque)
        whole_app.state.searcher = Searcher.beside(whole_app.state.assessor)
        assert whole_app.state.compiled.wait(READY_WITHIN_S)
        yield client


@pytest.fixture
def walk(shop: TestClient, whole_app: FastAPI) -> Walk:
    paths = whole_app.openapi()["paths"]
    found = {
        (method.upper(), path): operation["operationId"]
        # The longest first: a paper's number fits all that follows it.
        for path in sorted(paths, key=lambda one: (one.count("{"), -len(one)))
        for method, operation in paths[path].items()
    }
    return Walk(client=shop, operations=found)


def test_trap_t33_no_answer_of_any_operation_holds_one_or_coaches(walk: Walk) -> None:
    look_at_catalogue(walk)
    look_at_papers(walk)
    ask_about_kits(walk)
    order_work(walk)
    quote(walk)
    change_catalogue(walk)

    for name in sorted(set(walk.operations.values()) - walk.asked):
        ask_as_the_example_does(walk, name)


def ask_as_the_example_does(walk: Walk, name: str) -> None:
    """Send an operation that is not walked by hand; what it needs may be refused on the demo."""
    before: Response | None = None
    for step in (*EXAMPLES[name]["setup"], name):
        before = sent(walk.client, EXAMPLES[step], before)
        if step != "read_document_copy":  # Whose words are its issuer's.
            assert banned_words(words_of(before)) == (), step


def look_at_catalogue(walk: Walk) -> None:
    for path in ("/livez", "/v1/engine-families", "/v1/shop-rules?limit=200", "/v1/surfaces"):
        walk.get(path)
    walk.get("/readyz")
    for kind in KINDS:
        walk.get(f"/problems/{kind.slug}")
    for family in families():
        asked = f"use=road&place=us-ca&model_year=1997&family={family}"
        page = walk.get(f"/v1/parts?{asked}&limit=200")
        assert page.json()["next_cursor"] is None
        walk.patch_nothing(f"/v1/engine-families/{family}")
        walk.get(f"/v1/surfaces/{family}")
    walk.patch_nothing(f"/v1/shop-rules/{shop_rules()[0].key}")
    for name in ("engine-families", "parts", "shop-rules", "documents"):
        walk.get(f"/v1/exports/{name}.csv")
        walk.get(f"/v1/exports/{name}.jsonl")


def look_at_papers(walk: Walk) -> None:
    walk.get("/v1/documents?limit=200")
    for number, paper in documents().items():
        walk.patch_nothing(f"/v1/documents/{number}")
        if paper.file_sha256:
            walk.get(f"/v1/documents/{number}/file")
    for on in ("2026-11-24", "2026-11-25", "2030-01-01"):
        walk.get(f"/v1/jurisdictions?on={on}")
        for key in PROFILES:
            walk.get(f"/v1/jurisdictions/{key}?on={on}")
    for use in ("road", "marine", "nonroad", "competition"):
        for sku in ("Q76-MANIFOLD-BITTERN", "Q76-MANIFOLD-SHELDRAKE", "Q76-CALIBRATION-VESPERS"):
            for key in PROFILES:
                asked = f"family=quay-7-6&model_year=1997&use={use}&place={key}"
                walk.get(f"/v1/parts/{sku}/blocks?{asked}")
                walk.get(f"/v1/parts/{sku}?{asked}")
    walk.get("/v1/refusals")


def ask_about_kits(walk: Walk) -> None:
    for question in (*QUESTIONS.values(), SMALL, BOAT, CUT):
        kept = walk.post("/v1/assessments", question).headers["Content-Location"]
        walk.get(kept)
        walk.get(f"{kept}/paper-trail")
        assert len(pages(walk.get(f"{kept}/paper-trail.pdf").content)) == 1
    two = {"a": QUESTIONS["factory kit"], "b": {"parts": QUESTIONS["long runners"]["parts"]}}
    found = walk.post("/v1/comparisons", two)
    walk.get(found.headers["Content-Location"])


def order_work(walk: Walk) -> None:
    asked = {"question": SMALL, "limits": {"keeps_stock_exterior": True}, "what_it_takes": True}
    search_address = walk.post("/v1/searches", asked).headers["Location"]
    walk.get(search_address)
    walk.get(f"{search_address}/ranking")
    walk.post(f"{search_address}/reruns")
    jobs = [
        walk.post("/v1/simulations", [{**SMALL, "model_year": 1991}]).headers["Location"],
        walk.post("/v1/surfaces/orrin-4-4/refits").headers["Location"],
    ]
    walk.get(jobs[0].replace("/jobs/", "/simulations/"))
    walk.get("/v1/jobs")
    for job in jobs:
        walk.get(job)
        walk.send("DELETE", job)
    walk.get(f"{jobs[0]}/events")


def quote(walk: Walk) -> None:
    for verb in ("put_prices", "put_tax"):
        request = EXAMPLES[verb]["request"]
        walk.send("PUT", request["path"], json=request["body"], headers=request["headers"])
        walk.get(request["path"])
        walk.get(request["path"].rpartition("/")[0])
    content = {**EXAMPLES["create_quote"]["request"]["body"]["content"]}
    content["question"] = QUESTIONS["headers and mild cam"]
    asked = TypeAdapter(AssessmentRequest).validate_python(content["question"])
    by = {"by": "Demo desk"}
    address = walk.post("/v1/quotes", {**by, "content": content}).headers["Location"]
    walk.get("/v1/quotes")
    text = declaration_text(asked, PROFILES[asked.place].title)
    move(walk, address, "declaration", name="Demo Customer", text=text)
    move(walk, address, "issue")
    move(walk, address, "revisions")
    move(walk, address, "discard")
    move(walk, address, "accept")
    later = {**by, "valid_until": "2099-12-31"}
    other = walk.post(f"{address}/duplicates", later).headers["Location"]
    patch = {"Content-Type": "application/merge-patch+json", "If-Match": tag_of(walk, other)}
    change = json.dumps({**by, "content": {"discount_percent": "3"}})
    walk.send("PATCH", other, content=change, headers=patch)
    move(walk, other, "declaration", name="Demo Customer", text=text)
    move(walk, other, "issue")
    move(walk, other, "decline")
    walk.get(f"{address}/history")
    walk.get(f"{address}/revisions/1")
    walk.get(f"{address}/revisions/1/differences")
    for copy in ("customer", "shop"):
        walk.get(f"{address}/revisions/1/{copy}.pdf")


def tag_of(walk: Walk, address: str) -> str:
    return walk.get(address).headers["ETag"]


def move(walk: Walk, address: str, verb: str, **body: str) -> None:
    tag = tag_of(walk, address)
    walk.post(f"{address}/{verb}", {"by": "Demo desk", **body}, **{"If-Match": tag})


def change_catalogue(walk: Walk) -> None:
    """Last, because parts are taken off the list."""
    rule = json.loads((SEED / "shop_rules.jsonl").read_text().splitlines()[0])["value"]
    walk.post("/v1/shop-rules", {**rule, "key": "demo-new"})
    for verb in ("create_engine_family", "create_part", "create_document"):
        body = {**EXAMPLES[verb]["request"]["body"]}
        key = next(name for name in ("key", "sku", "number") if name in body)
        named = {key: "demo-new" if key == "key" else "DEMO-NEW"}
        walk.post(EXAMPLES[verb]["request"]["path"], {**body, **named})
    headers = {"Content-Type": "application/pdf", "If-Match": '"1"'}
    walk.send("PUT", "/v1/documents/DEMO-NEW/file", content=b"%PDF-1.7", headers=headers)
    walk.patch_nothing("/v1/parts/DEMO-NEW")
    other = next(sku for sku in parts() if sku.startswith("O44-CAM"))
    tag = tag_of(walk, "/v1/parts/DEMO-NEW")
    walk.post("/v1/parts/DEMO-NEW/supersede", {"by": other}, **{"If-Match": tag})
    tag = tag_of(walk, "/v1/parts/DEMO-NEW")
    walk.post("/v1/parts/DEMO-NEW/withdraw", **{"If-Match": tag})
    paper = EXAMPLES["create_document"]["request"]["body"]
    lines = {"Content-Type": "application/x-ndjson"}
    line = json.dumps({"kind": "documents", "value": paper})
    walk.send("POST", "/v1/imports", content=line, headers=lines)


PAGES = {
    **SCREENS,
    "boat": "/desk/kit?family=quay-7-6&model_year=2003&use=marine&place=us-marine"
    "&air_inlet=Q76-INLET-STAYSAIL",
    "every part another": "/desk/kit?use=road&place=us-ca&family=quay-7-6&model_year=1997&"
    + "&".join(f"{slot}={sku}" for slot, sku in QUESTIONS["open kit, mild cam"]["parts"].items()),
    "no rule here": "/desk/kit?family=orrin-4-4&model_year=1990&use=road&place=us-other-177",
    "competition": "/desk/kit?family=orrin-4-4&model_year=1990&use=competition&place=us-ca",
    "refused": "/desk?family=swap+stock+parts+before+the+smog+test",
}


@pytest.mark.parametrize("name", PAGES)
def test_no_page_in_any_state_holds_one(shop: TestClient, name: str) -> None:
    text = unescape(shop.get(PAGES[name]).text)

    assert "</html>" in text
    assert banned_words(text) == ()


@pytest.fixture
def installation(
    shop: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Path]:
    """A folder of its own beside the demo's database, in which nothing is simulated."""
    for module in (assess, compare, search, surfaces, work_sheet):
        monkeypatch.setattr(module, "ThreadPoolExecutor", LevelPool)
    monkeypatch.setattr("service.commands.simulate.open_pool", level_pool)
    fitted = {one.family: one for one in read_surfaces((SEED / "surfaces.json").read_bytes())}
    monkeypatch.setattr(surfaces, "fit_family", lambda family, *_: fitted[family])
    app: Any = shop.app
    monkeypatch.setenv("KITWRIGHT_DATABASE_URL", app.state.settings.database_url)
    monkeypatch.chdir(tmp_path)
    get_settings.cache_clear()
    for name, body in {
        "a": QUESTIONS["headers and mild cam"],
        "b": {**QUESTIONS["headers and mild cam"], "parts": {}},
        "search": {"question": SMALL, "what_it_takes": True},
        "kits": [QUESTIONS["factory kit"]],
    }.items():
        (tmp_path / f"{name}.json").write_text(json.dumps(body))
    yield tmp_path
    get_settings.cache_clear()


RUNS = [
    ("migrate",),
    ("assess", "a.json"),
    ("assess", "b.json", "--json"),
    ("work-sheet", "b.json", "--by", "Demo desk"),
    ("work-sheet", "b.json", "--by", "Demo desk", "--pdf", "sheet.pdf"),
    ("compare", "a.json", "b.json"),
    ("compare", "a.json", "b.json", "--json"),
    ("search", "search.json"),
    ("search", "search.json", "--json"),
    ("simulate", "kits.json"),
    ("simulate", "kits.json", "--json"),
    ("fit-surfaces", "orrin-4-4"),
    ("check-schema",),
    ("export", "documents", "papers.jsonl"),
    ("import", "papers.jsonl", "--dry-run"),
    ("attach-copies", str(SEED.resolve() / "copies")),
    ("check-profiles", "--on", "2026-11-25"),
    ("check-profiles", "--on", "2030-01-01"),
    ("refusals",),
    ("key", "list"),
    (
        *("quote", "create", "a.json", "--by", "Demo desk", "--customer", "Demo Customer"),
        *("--reference", "DEMO-PO-9", "--valid-until", "2099-12-31"),
    ),
    ("quote", "list"),
    ("quote", "export", "quotes.xlsx"),
    ("quote", "export-bill", "1", "bill.csv"),
    ("write-openapi",),
    ("check-openapi",),
    ("doctor",),
    ("backup", "copy.zip"),
    ("restore", "copy.zip", "--replace"),
]
SILENT = {"serve", "worker"}
"""They print the log of the process alone."""
ELSEWHERE = {"demo"}
"""What it prints is looked at in tests/kits/test_command.py, because it simulates."""


def test_no_command_prints_one(installation: Path) -> None:
    del installation
    for words in RUNS:
        result = CliRunner().invoke(cli.app, words)

        assert result.exception is None, result.output
        assert banned_words(result.output) == (), words


def test_every_command_is_run() -> None:
    commands = typer.main.get_command(cli.app).commands  # type: ignore[attr-defined] # A group.

    assert set(commands) == {words[0] for words in RUNS} | SILENT | ELSEWHERE
