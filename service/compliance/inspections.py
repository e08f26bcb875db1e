"""What somebody saw on the vehicle: devices tested, monitors that were not ready."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Annotated

from annotated_types import MaxLen

from service.catalog.devices import Device
from service.compliance.days import TEST_COUNTS_FOR_DAYS, is_to_come, to_come
from service.errors import FieldProblem
from service.quantities import EDGE_CONFIG, Count, Flag, IsoDate, Key, Name, Text, Year

FIRST_OBD_MODEL_YEAR = 1996
"""Readiness monitors came with the diagnostics of model year 1996 (16 CCR 3340.42.2)."""


class Functional(StrEnum):
    """Whether the device was seen working; never concluded from its presence."""

    NOT_TESTED = "not_tested"
    PASSED = "passed"
    FAILED = "failed"


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceTest:
    """One device tested on the vehicle, as somebody tells it."""

    __pydantic_config__ = EDGE_CONFIG

    device: Device
    result: Functional
    method: Text
    """How it was tested."""
    by_whom: Name
    tested_on: IsoDate
    after_repair: Flag = False
    """Whether it had been off for a repair and was refitted before the test."""


DeviceTests = Annotated[tuple[DeviceTest, ...], MaxLen(100)]
Monitors = Annotated[tuple[Key, ...], MaxLen(40)]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadinessAllowance:
    """How many monitors may be incomplete in a periodic test."""

    __pydantic_config__ = EDGE_CONFIG

    first_model_year: Year
    last_model_year: Year
    incomplete_count: Count
    only: tuple[Key, ...] = ()
    """Monitors that may be; empty: any."""

    def is_exceeded(self, incomplete: Iterable[str]) -> bool:
        """Return whether more is incomplete than it leaves room for."""
        found = set(incomplete)
        others = found - set(self.only) if self.only else set()
        return len(found) > self.incomplete_count or bool(others)


def counting_tests(
    tests: Iterable[DeviceTest], changed_on: date | None, today: date
) -> tuple[DeviceTest, ...]:
    """Return the tests that speak of the vehicle as it is: those after the parts were fitted.

    Where nobody says when that was, those of the last days. One that was failed counts however
    old it is, until the device passes.
    """
    first = changed_on or today - timedelta(days=TEST_COUNTS_FOR_DAYS)
    return tuple(
        test
        for test in tests
        if test.result is Functional.FAILED
        or (first <= test.tested_on and not is_to_come(test.tested_on, today))
    )


def days_to_come(
    tests: Iterable[DeviceTest], changed_on: date | None, today: date
) -> list[FieldProblem]:
    """Return what is wrong with days that somebody tells of a vehicle."""
    return to_come("/changed_on", changed_on, today) + [
        problem
        for place, test in enumerate(tests)
        for problem in to_come(f"/device_tests/{place}/tested_on", test.tested_on, today)
    ]


def latest_tests(tests: Iterable[DeviceTest]) -> dict[Device, DeviceTest]:
    """Return the latest test of each device; of one day the worse result counts."""
    worse_last = tuple(Functional)
    ordered = sorted(tests, key=lambda test: (test.tested_on, worse_last.index(test.result)))
    return {test.device: test for test in ordered}
