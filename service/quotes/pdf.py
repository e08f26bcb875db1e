"""Quotes drawn to PDF."""

from collections.abc import Mapping

from service.typesetting import typeset


def quote_pdf(document: Mapping[str, object]) -> bytes:
    """Return a copy of a quote as a tagged PDF, the same bytes for the same document."""
    return typeset("quotes/quote.typ", document)
