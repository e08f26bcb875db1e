"""Comparisons of demo kits that several tests look at, simulated once."""

from collections.abc import Callable, Iterable
from functools import cache

from service.catalog.slots import Slot
from service.comparisons.comparison import compare
from service.comparisons.figures import Comparison
from service.comparisons.question import comparison_of
from service.engine.curve import OperatingPoint, Task, run_task
from tests.kits.assembled import assembled
from tests.seed import HEADER_KIT, MODIFIED_TWIN, QUAY_BIG

TOGETHER = "compared kits"
"""Group of the tests that share these answers, so that one worker runs them."""
KITS: dict[str, dict[Slot, str]] = {
    "factory": {},
    "twin": {Slot.INTAKE_MANIFOLD: MODIFIED_TWIN},
    "heads": {Slot.CYLINDER_HEADS: "Q76-HEADS-GNEISS"},
    "header": HEADER_KIT,
}


@cache
def point(task: Task) -> OperatingPoint:
    """Simulate a point once, whichever comparison asks for it."""
    return run_task(task)


def remembered(
    _function: Callable[[Task], OperatingPoint], tasks: Iterable[Task]
) -> list[OperatingPoint]:
    return [point(task) for task in tasks]


@cache
def comparison(a: str, b: str) -> Comparison:
    kits = assembled(QUAY_BIG, KITS[a]), assembled(QUAY_BIG, KITS[b])
    question = comparison_of(kits[0].request, kits[1].request)
    return compare(kits, question, run=remembered, catalog_revision=1)
