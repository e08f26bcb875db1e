"""Parts imported from a file."""

import json
import time
from pathlib import Path
from typing import Any

from service.exchange.report import FileFormat
from service.exchange.schemas import read_file
from service.exchange.store import import_rows
from tests.bench.figures import migrated, spread
from tests.seed import lines
from tests.served import fill, sqlite_url

IMPORT_REPEATS = 3
IMPORT_ROWS = 1000


def import_figures(folder: Path) -> dict[str, Any]:
    content = part_lines()
    rates = []
    for place in range(IMPORT_REPEATS):
        database = migrated(sqlite_url(folder / f"import-{place}.db"))
        fill(database)
        with database.writing() as session:
            start = time.perf_counter()
            report = import_rows(
                session, read_file(content, FileFormat.JSON_LINES, None), dry_run=False
            )
            rates.append(report.created / (time.perf_counter() - start))
        database.close()
    return {"rows": IMPORT_ROWS, "rows_per_s": spread(rates)}


def part_lines() -> bytes:
    """The demo's parts again and again, each time under other SKUs."""
    seeds = list(lines("parts_quay_7_6"))
    rows = []
    for place in range(IMPORT_ROWS):
        row = json.loads(json.dumps(seeds[place % len(seeds)]))
        row["value"]["sku"] = f"BENCH-{place}"
        row["value"]["maker_reference"] = f"BENCH-REF-{place}"
        rows.append(json.dumps(row))
    return "\n".join(rows).encode()
