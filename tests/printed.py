"""Printed documents read back with PDFium, which is not what writes them."""

import re

import pypdfium2


def pages(pdf: bytes) -> list[str]:
    """Return the text of each page."""
    document = pypdfium2.PdfDocument(pdf)
    texts = [str(page.get_textpage().get_text_bounded()) for page in document]
    document.close()
    return texts


def one_line(text: str) -> str:
    return re.sub(r"\s+", " ", text)
