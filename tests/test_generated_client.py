"""A client that a public generator makes from the OpenAPI document, against a real server.

The generator is openapi-python-client. It leaves out operations whose bodies are files,
sent or answered; those are all it may leave out.
"""

import json
import shutil
from collections.abc import Iterator
from http import HTTPStatus
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from openapi_python_client import generate
from openapi_python_client.config import Config, ConfigFile, MetaType

from service.app import create_app
from service.database import Database
from service.openapi import describe
from service.settings import Settings
from tests.factories import make_part
from tests.seed import FACTORY_MANIFOLD, MODIFIED_TWIN, QUAY_BIG, parts
from tests.served import HOST, fill, served, sqlite_url
from tests.wire import part_json

PACKAGE = "generated_kitwright_client"
FILES = {"text/csv", "application/x-ndjson", "application/pdf", "image/jpeg", "image/png"}
"""Media types of bodies that are files, sent or answered."""


@pytest.fixture(scope="module")
def settings(tmp_path_factory: pytest.TempPathFactory, sqlite_template: Path) -> Settings:
    path = tmp_path_factory.mktemp("served") / "kitwright.db"
    shutil.copy(sqlite_template, path)
    database = Database.open(sqlite_url(path), pool_size=1)
    fill(database)
    database.close()
    return Settings(_env_file=None, database_url=sqlite_url(path))


@pytest.fixture(scope="module")
def generated(tmp_path_factory: pytest.TempPathFactory, settings: Settings) -> Iterator[list[str]]:
    """Make the package and put it where it can be imported; gives what was left out."""
    folder = tmp_path_factory.mktemp("generated")
    document = folder / "openapi.json"
    document.write_text(json.dumps(describe(create_app(settings))))
    config = Config.from_sources(
        ConfigFile(post_hooks=[], package_name_override=PACKAGE),
        meta_type=MetaType.NONE,
        document_source=document,
        file_encoding="utf-8",
        overwrite=False,
        output_path=folder / PACKAGE,
    )
    problems = generate(config=config)
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(folder)
        yield [str(problem.detail) for problem in problems]


@pytest.fixture(scope="module")
def client(generated: list[str], settings: Settings) -> Iterator[Any]:
    assert generated is not None
    with served(create_app(settings)) as port:
        package = import_module(PACKAGE)
        # The first assessment may wait for the compiler.
        with package.Client(base_url=f"http://{HOST}:{port}", timeout=60.0) as client:
            yield client


def operation(tag: str, name: str) -> Any:  # noqa: ANN401 - Generated at run time.
    return import_module(f"{PACKAGE}.api.{tag}.{name}").sync_detailed


def model(name: str) -> Any:  # noqa: ANN401 - The same.
    return getattr(import_module(f"{PACKAGE}.models"), name)


def test_the_generator_understands_everything_but_bodies_that_are_files(
    generated: list[str],
) -> None:
    left_out = {line for detail in generated for line in detail.splitlines() if line}

    told = {line: [name for name in FILES if name in line] for line in left_out}
    assert all(told.values()), left_out
    assert {name for names in told.values() for name in names} == FILES


def test_a_part_that_was_created_comes_back_with_its_version(client: Any) -> None:  # noqa: ANN401
    sent = part_json(make_part(sku="DEMO-CREATED"))

    answer = operation("catalogue", "create_part")(
        client=client, body=model("PartIn").from_dict(sent)
    )

    assert answer.status_code is HTTPStatus.CREATED
    assert answer.parsed.sku == "DEMO-CREATED"
    assert answer.headers["etag"]


def test_an_assessed_kit_is_parsed_to_its_last_block(client: Any) -> None:  # noqa: ANN401
    question = model("AssessmentRequest").from_dict(
        {
            "family": QUAY_BIG,
            "parts": {"intake_manifold": MODIFIED_TWIN},
            "use": "road",
            "place": "us-ca",
            "model_year": 1997,
        }
    )

    answer = operation("assessments", "create_assessment")(client=client, body=question)

    assert answer.status_code is HTTPStatus.OK
    assert isinstance(answer.parsed, model("Assessment"))
    assert answer.parsed.score.peak_power_kw == answer.parsed.peaks.power.power_kw
    assert answer.parsed.to_dict() == json.loads(answer.content)


def test_a_part_that_is_not_there_is_a_404_that_is_parsed(client: Any) -> None:  # noqa: ANN401
    answer = operation("catalogue", "read_part")("NOT-THERE", client=client)

    assert isinstance(answer.parsed, model("Problem"))
    assert answer.parsed.status == HTTPStatus.NOT_FOUND
    assert "NOT-THERE" in answer.parsed.detail


def test_a_change_to_a_version_that_is_gone_is_a_412_that_is_parsed(
    client: Any,  # noqa: ANN401
) -> None:
    patch = model("UpdatePartBody").from_dict({"stock_count": 1})
    gone = '"999"'
    assert FACTORY_MANIFOLD in parts()

    answer = operation("catalogue", "update_part")(
        FACTORY_MANIFOLD, client=client, body=patch, if_match=gone
    )

    assert isinstance(answer.parsed, model("Problem"))
    assert answer.parsed.status == HTTPStatus.PRECONDITION_FAILED
