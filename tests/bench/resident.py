"""What a process holds that does nothing but search: run by itself, prints megabytes."""

import json
from dataclasses import replace
from pathlib import Path

from service.searches.api.memory import CurveMemory
from service.searches.field import field_of
from service.searches.question import Limits, SearchRequest
from service.searches.search import search
from service.searches.task import Task
from service.surfaces.schemas import read_surfaces
from tests.kits.assembled import around, assembled, level_torque, question
from tests.searches.test_screens import offer_of
from tests.seed import QUAY_BIG, SEED, shop_rules


def main() -> None:
    """List the Quay 7.6, search in it, and print what the process held before, after, at most."""
    before = _held("VmRSS")
    content = (SEED / "surfaces.json").read_bytes()
    fitted = next(one for one in read_surfaces(content) if one.family == QUAY_BIG)
    read = CurveMemory(2).read
    field = field_of(assembled(QUAY_BIG), offer_of(QUAY_BIG), shop_rules(), fitted, read=read)
    asked = SearchRequest(question=question(QUAY_BIG), limits=Limits())
    surroundings = replace(around(QUAY_BIG), surface=fitted)
    search(Task(field=field, asked=asked, around=surroundings, fitted=fitted, run=level_torque))
    held = {"before": before, "after": _held("VmRSS"), "at_most": _held("VmHWM")}
    print(json.dumps(held))  # noqa: T201 - Read by the bench.


def _held(name: str) -> float:
    lines = Path("/proc/self/status").read_text().splitlines()
    return int(next(line for line in lines if line.startswith(name)).split()[1]) / 1024.0


if __name__ == "__main__":
    main()
