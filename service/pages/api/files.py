"""Files that pages are made of, under names that change with what is in them.

htmx is a general library for pages that exchange a part of themselves. It stands in
`pages/vendored/` as its maker published it (npm registry, package htmx.org, licence beside
it); a test holds the file to the digest below.
"""

import gzip
import hashlib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from fastapi import APIRouter, HTTPException, Request, Response

from service.plots.style import STYLE

FOLDER = Path(__file__).parents[1]
HTMX_VERSION = "2.0.11"
HTMX_SHA256 = "d6fdc75f204e6bdefa99b69bf1e6d4ac69b8a364f77929f45c13476b4000f717"
HTMX = FOLDER / "vendored" / f"htmx-{HTMX_VERSION}.min.js"
KEEP = "public, max-age=31536000, immutable"
"""A year: what is behind a name never changes."""

router = APIRouter(prefix="/files", include_in_schema=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class PageFile:
    """One file, whole and packed."""

    name: str
    content: bytes
    packed: bytes
    media_type: str

    @property
    def address(self) -> str:
        """Where a browser finds it."""
        return f"{router.prefix}/{self.name}"


@cache
def style_sheet() -> PageFile:
    """Return the style of pages and plots."""
    text = (FOLDER / "kitwright.css").read_text() + STYLE
    return _file("kitwright", "css", text.encode(), "text/css")


@cache
def script() -> PageFile:
    """Return htmx: the only script there is."""
    return _file(f"htmx-{HTMX_VERSION}", "js", HTMX.read_bytes(), "text/javascript")


@router.get("/{name}")
def read_file(name: str, request: Request) -> Response:
    """Return a file by its present name."""
    found = {one.name: one for one in (style_sheet(), script())}.get(name)
    if found is None:
        raise HTTPException(404)
    headers = {"Cache-Control": KEEP, "Vary": "Accept-Encoding"}
    if "gzip" in request.headers.get("accept-encoding", ""):
        headers["Content-Encoding"] = "gzip"
        return Response(found.packed, media_type=found.media_type, headers=headers)
    return Response(found.content, media_type=found.media_type, headers=headers)


def _file(stem: str, ending: str, content: bytes, media_type: str) -> PageFile:
    digest = hashlib.sha256(content).hexdigest()[:12]
    return PageFile(
        name=f"{stem}-{digest}.{ending}",
        content=content,
        packed=gzip.compress(content, mtime=0),
        media_type=media_type,
    )
