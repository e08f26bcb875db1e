"""Printed documents: a template and plain data become a PDF, the same bytes each time.

Templates are package data beside the slice that prints them (`quotes/quote.typ`);
`page.typ` holds what all of them share. Bytes repeat because nothing enters but template
and data: no fonts of the machine, no date, no address to load from. The PDF is tagged
(PDF/UA-1), so that it can be read aloud.
"""

import json
import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path

import typst

from service.errors import RuleBroken

TEMPLATES = Path(__file__).parent
"""What a template may import or read; `/` in it means this folder."""

_NO_GLYPH = re.compile(r"the text `(?P<text>.+)` could not be displayed")


class NotPrintable(RuleBroken):
    """A text has a character that none of the documents' fonts can draw."""

    def __init__(self, text: str) -> None:
        super().__init__(
            f"{text} cannot be printed: the fonts of the documents have Latin, Greek, "
            "Cyrillic, Hebrew and Arabic letters."
        )


class TemplateRefused(Exception):
    """A template does not compile with the data that it was given: a fault of the service."""


def typeset(template: str, data: Mapping[str, object]) -> bytes:
    """Return the PDF of a template, named from the service's folder, with its data.

    Text in the data is printed as it is: markup in it means nothing.

    Raises
    ------
    NotPrintable
        If a text of the data has a character that no font has.
    """
    compiler = typst.Compiler(
        TEMPLATES / template,
        root=TEMPLATES,
        font_paths=_fonts(),
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(data)},
    )
    try:
        drawn, warnings = compiler.compile_with_warnings(format="pdf", pdf_standards="ua-1")
    except typst.TypstError as error:
        if found := _NO_GLYPH.search(error.message):
            raise NotPrintable(found["text"]) from error
        raise TemplateRefused(error.diagnostic) from error
    if warnings or not isinstance(drawn, bytes):
        raise TemplateRefused("; ".join(warning.message for warning in warnings))
    return drawn


@cache
def _fonts() -> typst.Fonts:
    """Unpack the fonts that come with the typesetter, once for all documents."""
    return typst.Fonts(include_system_fonts=False)
