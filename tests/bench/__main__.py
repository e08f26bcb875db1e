"""`poe bench` runs every section, `poe bench engine import` these two. JSON on standard output.

All of them together take some minutes and end by themselves. Nothing is asserted: a number
of seconds depends on the machine, and no test of the suite is timed.
"""

import json
import sys
from argparse import ArgumentParser
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from tests.bench.engine import engine_figures
from tests.bench.figures import machine
from tests.bench.imports import import_figures
from tests.bench.pages import page_figures
from tests.bench.quotes import quote_figures
from tests.bench.searches import search_figures
from tests.bench.serving import http_figures
from tests.bench.surfaces import surface_figures

SECTIONS: dict[str, Callable[[Path], dict[str, Any]]] = {
    "http": http_figures,
    "engine": engine_figures,
    "surface": surface_figures,
    "search": search_figures,
    "import": import_figures,
    "pages": page_figures,
    "quotes": quote_figures,
}
"""A section takes a folder of its own, removed afterwards, and answers what JSON can say."""


def main() -> None:
    parser = ArgumentParser(prog="poe bench", description=__doc__)
    parser.add_argument(
        "sections", nargs="*", metavar="section", help=f"{', '.join(SECTIONS)}; all by default"
    )
    chosen = parser.parse_args().sections or list(SECTIONS)
    if unknown := set(chosen) - set(SECTIONS):
        parser.error(f"no such section: {', '.join(sorted(unknown))}")
    figures = {"machine": machine()}
    for name in chosen:
        with TemporaryDirectory() as folder:
            figures[name] = SECTIONS[name](Path(folder))
    json.dump(figures, sys.stdout, indent=2)
    sys.stdout.write("\n")


if __name__ == "__main__":
    main()
