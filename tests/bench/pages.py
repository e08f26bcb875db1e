"""A swapped part as a page, and what a browser fetches before it shows the first one."""

import gzip
from functools import partial
from pathlib import Path
from typing import Any
from urllib.request import urlopen

from service.catalog.slots import KIT_SLOTS
from service.pages.api.files import script, style_sheet
from tests.bench.figures import spread, timed_ms
from tests.pages.screens import SITUATION, shop
from tests.seed import of

FAMILY = "orrin-4-4"
LISTED = {
    FAMILY: SITUATION,
    "quay-7-6": "family=quay-7-6&model_year=1999&use=road&place=us-ca&aim=mean_torque",
}
"""The smallest family, and the one with the most points in its trade-off."""
FIRST_PAGE = ("/desk", style_sheet().address, script().address)


def page_figures(_folder: Path) -> dict[str, Any]:
    """Each swap is one that nobody has asked for before; the kit before it is known."""
    swaps = [f"{slot}={part.sku}" for slot in KIT_SLOTS for part in of(FAMILY, slot)]
    with shop() as address:

        def swap(parts: str) -> None:
            # Both kits of the page: the factory's, and it with one other part.
            fetch(f"{address}/desk/kit?{SITUATION}&{parts}&before_camshaft=O44-CAM-OVERHAND")

        fetch(f"{address}/desk/kit?{SITUATION}")
        swap_ms = spread([timed_ms(partial(swap, parts)) for parts in swaps])
        first, *files = (len(gzip.compress(fetch(address + path))) for path in FIRST_PAGE)
        kits = {
            family: len(gzip.compress(fetch(f"{address}/desk?{asked}"))) + sum(files)
            for family, asked in LISTED.items()
        }
    return {
        "swap_ms": swap_ms,
        "first_page_compressed_bytes": first + sum(files),
        "kits_page_compressed_bytes": kits,
    }


def fetch(address: str) -> bytes:
    with urlopen(address) as answer:  # noqa: S310 - On this machine.
        found: bytes = answer.read()
    return found
