"""`kitwright quote`: from an answer to the paper, on a database file of its own."""

import hashlib
import json
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from typer.testing import CliRunner

from service import cli
from service.commands import quote as command
from service.database import Database
from service.money import Price
from service.quotes.price_lists import PriceBreak, PriceItem, PriceList
from service.quotes.store.prices import PRICE_LISTS
from tests.kits import test_command
from tests.kits.test_command import LevelPool, said
from tests.printed import pages

installation = test_command.installation
question = test_command.question
WORK = PriceItem(
    item="milling",
    title="Milling",
    breaks=(PriceBreak(from_quantity=1, unit_price=Price(amount="180.00")),),
)
BY = ("--by", "Demo desk")
WHOM = (
    *("--customer", "Demo Customer", "--reference", "DEMO-PO-9"),
    *("--valid-until", "2099-12-31"),
)


@pytest.fixture(autouse=True)
def _level(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(command, "ThreadPoolExecutor", LevelPool)


def refused(*words: str) -> str:
    result = CliRunner().invoke(cli.app, words)
    assert result.exception is not None
    return str(result.exception)


def test_an_assessment_becomes_a_quote_that_is_declared_issued_and_printed(
    question: Path, installation: Path
) -> None:
    answer = installation / "answer.json"
    answer.write_text(said("assess", str(question), "--json"))

    draft = json.loads(said("quote", "create", str(answer), *BY, *WHOM, "--json"))
    assert "not acknowledged" in said("quote", "show", "1")
    assert "acknowledged" in refused("quote", "issue", "1", *BY)
    words = ("--name", "Demo Customer", "--words", draft["declaration_text"])
    said("quote", "declare", "1", *BY, *words)
    issued = json.loads(said("quote", "issue", "1", *BY, "--json"))
    shown = said("quote", "show", "1")
    printed = said("quote", "pdf", "1", "quote.pdf")

    assert draft["content"]["question"]["parts"] == test_command.QUESTION["parts"]
    assert issued["state"] == "issued"
    assert issued["bill"] == draft["bill"]
    total = issued["bill"]["total"]
    assert f"Total {total['amount']} {total['currency']}" in shown
    assert f"{total['amount']} {total['currency']}" in said("quote", "list", "--state", "issued")
    assert "DEMO-PO-9" not in said("quote", "list", "--state", "draft")
    content = (installation / "quote.pdf").read_bytes()
    assert hashlib.sha256(content).hexdigest() in printed
    assert f"Total, USD {total['amount']}" in pages(content)[0]


def test_quotes_bills_and_price_lists_are_written_for_spreadsheet_programs(
    question: Path, installation: Path
) -> None:
    said("quote", "create", str(question), *BY, *WHOM)
    prices = PriceList(key="demo", title="Demo", valid_from=date(2026, 1, 1), items=(WORK,))
    database = Database.open(f"sqlite:///{installation / 'kitwright.db'}", pool_size=1)
    with database.writing() as session:
        PRICE_LISTS.put(session, prices, versions=None)
    database.close()

    said("quote", "export", "quotes.xlsx", "--reference", "DEMO-PO-9")
    said("quote", "export-bill", "1", "bill.csv")
    said("quote", "export-prices", "demo", "prices.csv")

    sheet = openpyxl.load_workbook(installation / "quotes.xlsx").active
    assert [cell.value for cell in sheet["D"]] == ["customer_reference", "DEMO-PO-9"]
    total = sheet["G2"].value
    assert (installation / "bill.csv").read_text().splitlines()[-1].split(",")[8] == f"{total:.2f}"
    assert "milling,Milling,1,180.00,,,USD" in (installation / "prices.csv").read_text()
    assert ".csv or .xlsx" in refused("quote", "export", "quotes.ods")


def test_a_quote_is_begun_from_an_answer_that_is_kept(question: Path, installation: Path) -> None:
    said("assess", str(question), "--json")
    database = Database.open(f"sqlite:///{installation / 'kitwright.db'}", pool_size=1)
    with database.engine.connect() as connection:
        (key,) = connection.exec_driver_sql("SELECT key FROM assessment").one()
    database.close()

    begun = said("quote", "create", *BY, *WHOM, "--assessment", str(key))

    assert "Q76-CAM-BOWLINE" in begun
    assert "Name a file or an assessment" in refused("quote", "create", *BY, *WHOM)
