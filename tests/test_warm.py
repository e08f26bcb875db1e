"""No request waits for the compiler: what warming compiles is all that an answer needs."""

import json
import subprocess
import sys

# In a process of its own: tests before this one have compiled more.
SCRIPT = """
import json, sys
from numba.core.dispatcher import Dispatcher
from service.engine.example import compile_kernels
from service.kits.assessment import assess
from tests.kits.assembled import around, assembled
from tests.seed import FAMILIES

def compiled():
    return {
        f"{name}.{each}": len(value.signatures)
        for name, module in list(sys.modules.items()) if name.startswith("service.")
        for each, value in vars(module).items() if isinstance(value, Dispatcher)
    }

compile_kernels()
before = compiled()
for family in FAMILIES:
    assess(assembled(family), around(family), run=map)
print(json.dumps([before, compiled()]))
"""


def test_an_assessment_compiles_nothing_that_warming_did_not() -> None:
    ran = subprocess.run(  # noqa: S603 - Ours.
        [sys.executable, "-c", SCRIPT], capture_output=True, text=True, check=True
    )

    before, after = json.loads(ran.stdout)
    assert any(before.values())
    assert before == after
