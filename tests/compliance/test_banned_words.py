"""Banned words of section 11 in what the service prints beside its answers.

Every operation, page, printed document and command is walked on the demo by
`tests/test_words.py`.
"""

import json

import pytest
import typer
from fastapi import FastAPI
from typer.testing import CliRunner

from service.catalog.devices import DEVICE_TERMS, Device
from service.cli import app as command
from service.openapi import describe
from service.problem_kinds import KINDS
from service.wording import banned_words

COMMANDS = sorted(typer.main.get_command(command).commands)  # type: ignore[attr-defined]


def test_the_document_of_the_api_holds_none(whole_app: FastAPI) -> None:
    assert banned_words(json.dumps(describe(whole_app))) == ()


@pytest.mark.parametrize("name", COMMANDS)
def test_the_help_of_a_command_holds_none(name: str) -> None:
    assert banned_words(CliRunner().invoke(command, [name, "--help"]).output) == ()


def test_profiles_and_problems_and_devices_hold_none() -> None:
    late = CliRunner().invoke(command, ["check-profiles", "--on", "2030-01-01"]).output

    assert banned_words(late) == ()
    assert banned_words(" ".join(f"{kind.title} {kind.help}" for kind in KINDS)) == ()
    assert banned_words(" ".join(term.title for term in DEVICE_TERMS.values())) == ()


def test_every_device_has_a_term() -> None:
    assert set(DEVICE_TERMS) == set(Device)


def test_every_vocabulary_is_documented_as_open(whole_app: FastAPI) -> None:
    schemas = describe(whole_app)["components"]["schemas"]

    closed = [
        name
        for name, schema in schemas.items()
        if "enum" in schema and "more may" not in schema.get("description", "").lower()
    ]
    assert closed == []
