"""Documents are read back with PDFium, which is not what writes them."""

import hashlib
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pypdfium2
import pytest
from pypdfium2 import raw

from service import typesetting
from service.typesetting import NotPrintable, TemplateRefused, typeset
from tests.printed import pages

TEMPLATE = """
#import "/page.typ": data, drawing, listing, sheet
#show: sheet.with(title: data.title, shop: "A shop", about: data.title, note: "A note")
= #data.title
#listing(
  columns: (auto, 1fr), align: (left, right), header: ("Key", "Words"), rows: data.rows,
)
#drawing(data.svg, "A line")
"""
SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 10">'
    '<path d="M0 5 H100" stroke="black"/></svg>'
)
MARKUP = '#read("/etc/passwd") *bold* _x_ $x^2$ = head <a> @ref \\ // # [x]'


@pytest.fixture
def template(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    (tmp_path / "page.typ").write_text((typesetting.TEMPLATES / "page.typ").read_text())
    (tmp_path / "sample.typ").write_text(TEMPLATE)
    monkeypatch.setattr(typesetting, "TEMPLATES", tmp_path)
    return "sample.typ"


def sample(*words: str) -> Mapping[str, object]:
    return {"title": "A sample", "rows": [["K", each] for each in words], "svg": SVG}


def test_the_same_data_are_the_same_bytes_in_another_process(template: str) -> None:
    program = (
        "import hashlib, sys; from pathlib import Path; from service import typesetting;"
        f"typesetting.TEMPLATES = Path({str(typesetting.TEMPLATES)!r});"
        f"pdf = typesetting.typeset({template!r}, {sample('one', 'two')!r});"
        "print(hashlib.sha256(pdf).hexdigest())"
    )
    there = subprocess.run(  # noqa: S603 - Every word is ours.
        [sys.executable, "-c", program],
        env={"TZ": "Pacific/Auckland", "SOURCE_DATE_EPOCH": "86400", "LANG": "C"},
        capture_output=True,
        text=True,
        check=True,
    )

    here = [hashlib.sha256(typeset(template, sample("one", "two"))).hexdigest() for _ in range(2)]

    assert [here[0], here[1], there.stdout.strip()] == [here[0]] * 3


def test_other_data_are_other_bytes(template: str) -> None:
    assert typeset(template, sample("one")) != typeset(template, sample("two"))


def test_a_document_is_tagged_and_says_its_language_and_standard(template: str) -> None:
    """ISO 14289-1 (PDF/UA-1): marked content, a language, `pdfuaid:part` in the metadata."""
    pdf = typeset(template, sample("one"))

    document = pypdfium2.PdfDocument(pdf)
    assert raw.FPDFCatalog_IsTagged(document)
    assert document.get_metadata_dict()["Title"] == "A sample"
    document.close()
    assert b"<pdfuaid:part>1</pdfuaid:part>" in pdf
    assert b"/Lang(en" in pdf


def test_markup_in_the_data_is_printed_as_text(template: str) -> None:
    (text,) = pages(typeset(template, sample(MARKUP)))

    assert MARKUP in " ".join(text.split())


def test_a_long_table_repeats_its_header_and_counts_its_pages(template: str) -> None:
    texts = pages(typeset(template, sample(*(f"row {number}" for number in range(120)))))

    assert len(texts) > 1
    for number, text in enumerate(texts, start=1):
        assert f"page {number} of {len(texts)}" in text
        assert "A note" in text
        if "row" in text:
            assert "Words" in text


def test_a_drawing_stays_vectors(template: str) -> None:
    pdf = typeset(template, sample("one"))

    document = pypdfium2.PdfDocument(pdf)
    kinds = {each.type for page in document for each in page.get_objects()}
    document.close()
    assert raw.FPDF_PAGEOBJ_IMAGE not in kinds
    assert raw.FPDF_PAGEOBJ_PATH in kinds


def test_a_character_that_no_font_has_is_named(template: str) -> None:
    with pytest.raises(NotPrintable, match="山"):
        typeset(template, sample("山田"))


def test_a_template_that_does_not_know_its_data_is_a_fault(template: str) -> None:
    with pytest.raises(TemplateRefused):
        typeset(template, {"title": "No rows"})
