"""Keep the committed OpenAPI document in step with the code."""

import json
from pathlib import Path

import typer

from service.app import create_app
from service.errors import Conflict
from service.openapi import describe
from service.settings import get_settings

DOCUMENT = Path("openapi_examples/openapi.json")

commands = typer.Typer()


class DocumentDiffers(Conflict):
    """The committed document is not the one that the code makes."""

    def __init__(self) -> None:
        super().__init__(f"{DOCUMENT} is out of date; run `kitwright write-openapi`, then review.")


@commands.command()
def write_openapi() -> None:
    """Write the OpenAPI document into the repository; run it at the top."""
    DOCUMENT.parent.mkdir(exist_ok=True)
    DOCUMENT.write_text(document_text())


@commands.command()
def check_openapi() -> None:
    """Compare the committed OpenAPI document with the code."""
    if not DOCUMENT.exists() or DOCUMENT.read_text() != document_text():
        raise DocumentDiffers


def document_text() -> str:
    """Return the document as it is committed."""
    document = describe(create_app(get_settings()))
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"
