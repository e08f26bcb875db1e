import csv
import io
import json
from collections.abc import Iterable
from typing import Any

import pytest
from hypothesis import given, settings
from pydantic import TypeAdapter

from service.catalog.families import EngineFamily
from service.catalog.parts import Part
from service.catalog.rules import ShopRule
from service.catalog.slots import Slot
from service.compliance.documents import Document
from service.exchange.columns import Layout
from service.exchange.files import (
    Row,
    Unreadable,
    csv_rows,
    decoded,
    json_rows,
    write_csv,
    write_json_lines,
)
from service.exchange.report import Kind, LineProblem
from tests.factories import make_part
from tests.strategies import values

PARTS = TypeAdapter(Part)
LAYOUT = Layout(Part)
TYPES = [Part, EngineFamily, ShopRule, Document]


def parts_file(*parts: Part) -> str:
    return decoded(write_csv([PARTS.dump_python(part, mode="json") for part in parts], LAYOUT))


def values_of(rows: Iterable[Row | LineProblem]) -> list[Any]:
    return [row.value for row in rows if isinstance(row, Row)]


def problems_of(rows: Iterable[Row | LineProblem]) -> list[tuple[int, str | None, str]]:
    return [(r.row, r.column, r.code) for r in rows if isinstance(r, LineProblem)]


@pytest.mark.parametrize("row_type", TYPES)
def test_whatever_is_written_as_csv_is_read_back_the_same(row_type: type) -> None:
    adapter: TypeAdapter[Any] = TypeAdapter(row_type)
    layout = Layout(row_type)

    @settings(max_examples=60)
    @given(values(row_type))
    def round_trip(value: object) -> None:
        text = decoded(write_csv([adapter.dump_python(value, mode="json")], layout))
        (read,) = values_of(csv_rows(text, Kind.PARTS, layout))
        assert adapter.validate_python(read) == value

    round_trip()


@pytest.mark.parametrize("row_type", TYPES)
def test_whatever_is_written_as_json_lines_is_read_back_the_same(row_type: type) -> None:
    adapter: TypeAdapter[Any] = TypeAdapter(row_type)

    @settings(max_examples=40)
    @given(values(row_type))
    def round_trip(value: object) -> None:
        text = decoded(write_json_lines([adapter.dump_python(value, mode="json")]))
        (read,) = values_of(json_rows(text, Kind.PARTS))
        assert adapter.validate_python(read) == value

    round_trip()


@settings(max_examples=40)
@given(values(Part))
def test_no_cell_of_text_starts_like_a_formula(part: Part) -> None:
    """The characters are those of the OWASP page on CSV injection (from memory)."""
    header, record = csv.reader(io.StringIO(parts_file(part), newline=""))

    for name, cell in zip(header, record, strict=True):
        if LAYOUT.cells[name].value == "text":
            assert not cell.startswith(("=", "+", "-", "@", "\t", "\r"))


def test_an_apostrophe_of_ones_own_stays() -> None:
    text = parts_file(make_part(title="'=1+1"), make_part(title="'plain"))

    titles = [value["title"] for value in values_of(csv_rows(text, Kind.PARTS, LAYOUT))]

    assert titles == ["'=1+1", "'plain"]


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_the_delimiter_is_found_out(delimiter: str) -> None:
    text = f"sku{delimiter}title\nA-1{delimiter}Heron\n"

    assert values_of(csv_rows(text, Kind.PARTS, LAYOUT)) == [{"sku": "A-1", "title": "Heron"}]


def test_a_byte_order_mark_is_dropped() -> None:
    text = decoded(b"\xef\xbb\xbfsku\r\nA-1\r\n")

    assert values_of(csv_rows(text, Kind.PARTS, LAYOUT)) == [{"sku": "A-1"}]


def test_a_file_that_is_not_utf_8_says_in_which_line() -> None:
    with pytest.raises(Unreadable) as caught:
        decoded("sku,title\nA-1,Größe\n".encode("latin-1"))

    assert (caught.value.problem.row, caught.value.problem.code) == (2, "not_utf_8")


def test_dotted_columns_make_nested_values() -> None:
    text = 'sku,spec.slot,spec.bore_mm,families\nA-1,throttle_body,80.5,"[""quay-7-6""]"\n'

    assert values_of(csv_rows(text, Kind.PARTS, LAYOUT)) == [
        {
            "sku": "A-1",
            "spec": {"slot": "throttle_body", "bore_mm": 80.5},
            "families": ["quay-7-6"],
        }
    ]


def test_digits_in_a_column_of_text_stay_text() -> None:
    text = "sku,title,price_cents\n007,1e5,100\n"

    assert values_of(csv_rows(text, Kind.PARTS, LAYOUT)) == [
        {"sku": "007", "title": "1e5", "price_cents": 100}
    ]


def test_unknown_and_repeated_columns_are_named() -> None:
    assert problems_of(csv_rows("sku,colour,sku\nA,red,B\n", Kind.PARTS, LAYOUT)) == [
        (1, "colour", "unknown_column"),
        (1, "sku", "repeated"),
    ]


def test_a_row_longer_than_the_header_is_named_and_the_next_one_read() -> None:
    rows = list(csv_rows("sku\nA,B\nC\n", Kind.PARTS, LAYOUT))

    assert problems_of(rows) == [(2, None, "too_many_cells")]
    assert values_of(rows) == [{"sku": "C"}]


def test_rows_are_counted_as_a_spreadsheet_counts_them() -> None:
    """The first record spans two lines of the file and is one row."""
    rows = list(csv_rows('sku,title\nA,"two\nlines"\nB,C,D\n', Kind.PARTS, LAYOUT))

    assert problems_of(rows) == [(3, None, "too_many_cells")]


def test_an_empty_file_is_told_that_it_has_no_header() -> None:
    assert problems_of(csv_rows("", Kind.PARTS, LAYOUT)) == [(1, None, "missing")]


def test_a_line_may_name_its_own_kind() -> None:
    text = json.dumps({"kind": "shop-rules", "value": {"key": "a", "kind": "limits"}})

    (row,) = json_rows(text, Kind.PARTS)

    assert isinstance(row, Row)
    assert (row.kind, row.value) == (Kind.RULES, {"key": "a", "kind": "limits"})


def test_lines_that_are_no_json_or_no_kind_are_named() -> None:
    text = '{"sku"\n\n{"kind": "gadgets", "value": {}}\n{"sku": "A"}\n'

    assert problems_of(json_rows(text, None)) == [
        (1, None, "not_json"),
        (3, None, "unknown_kind"),
        (4, None, "missing"),
    ]


def test_only_columns_in_use_are_written() -> None:
    header = parts_file(make_part(Slot.INJECTORS)).splitlines()[0].split(",")

    assert "spec.static_flow_lb_per_h" in header
    assert "spec.lobe_separation_deg" not in header
