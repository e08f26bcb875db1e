"""Tests told of with a question: rows 3 and 17 of the decision table."""

from datetime import date, timedelta

import pytest

from service.catalog.devices import Device
from service.catalog.flags import StreetLegalFlag
from service.compliance.days import TEST_COUNTS_FOR_DAYS
from service.compliance.inspections import DeviceTest, Functional
from service.compliance.report import ComplianceReport
from tests.compliance.cases import FITTED, TODAY, application, paper, report, rows, shop_part, told


def asked(*tests: DeviceTest, **changes: object) -> ComplianceReport:
    app = application(device_tests=tests, **changes)
    return report(shop_part(), papers=[paper()], app=app)


def test_row_3_a_device_refitted_after_repair_and_tested_working_is_put_on_record() -> None:
    """42 USC 7522(a), closing text: the device functions properly afterwards."""
    repaired = told(Device.EGR, after_repair=True)

    found = asked(repaired, *(told(device) for device in FITTED if device is not Device.EGR))

    assert 2 not in rows(found)
    assert 1 not in rows(found)
    note = found.jurisdiction_note
    assert any(text.startswith("egr: refitted after repair and passed") for text in note.documented)
    assert not any("A test on the vehicle" in text for text in note.missing)


def test_row_3_a_repair_without_a_test_afterwards_stays_a_question() -> None:
    found = asked(told(Device.EGR, Functional.NOT_TESTED, after_repair=True))

    assert rows(found)[2] == {"device_question"}


def test_row_2_a_failed_test_is_a_question_and_leaves_the_flag_open() -> None:
    found = asked(*(told(device) for device in FITTED), told(Device.EGR, Functional.FAILED))

    assert rows(found)[2] == {"device_question"}
    assert found.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED


def test_of_two_tests_the_later_counts_and_of_one_day_the_worse() -> None:
    earlier = told(Device.EGR, Functional.FAILED, tested_on=date(2026, 11, 1))

    def functional(*tests: DeviceTest) -> Functional:
        row = next(row for row in asked(*tests).devices.rows if row.device is Device.EGR)
        return row.functional

    assert functional(told(Device.EGR), earlier) is Functional.PASSED
    assert functional(told(Device.EGR, Functional.FAILED), told(Device.EGR)) is Functional.FAILED


@pytest.mark.parametrize(
    ("tested_on", "changed_on", "counts"),
    [
        (date(1980, 1, 1), None, False),
        (date(2040, 1, 1), None, False),
        (TODAY - timedelta(days=TEST_COUNTS_FOR_DAYS), None, True),
        (TODAY - timedelta(days=TEST_COUNTS_FOR_DAYS + 1), None, False),
        (date(2026, 11, 20), date(2026, 11, 21), False),
        (date(2026, 6, 1), date(2026, 5, 31), True),
    ],
)
def test_row_2_a_test_of_the_vehicle_before_its_parts_or_to_come_does_not_count(
    tested_on: date,
    changed_on: date | None,
    counts: bool,  # noqa: FBT001 - a parameter.
) -> None:
    tests = [told(device, tested_on=tested_on) for device in FITTED]

    found = asked(*tests, changed_on=changed_on)
    old = told(Device.EGR, Functional.FAILED, tested_on=date(1980, 1, 1))
    failed = asked(*tests, old, changed_on=changed_on)

    flag = StreetLegalFlag.DOCUMENTED if counts else StreetLegalFlag.UNDETERMINED
    assert found.street_use.street_legal_flag is flag
    assert any("count: none" in text for text in found.jurisdiction_note.missing) is not counts
    if not counts:
        assert 2 in rows(failed)


@pytest.mark.parametrize(
    ("model_year", "incomplete", "exceeded"),
    [
        (1998, ("evap",), False),
        (1998, ("egr",), False),
        (1998, ("egr", "evap"), True),
        (2001, ("evap",), False),
        (2001, ("egr",), True),
    ],
)
def test_row_17_readiness_past_its_allowance_is_a_question(
    model_year: int,
    incomplete: tuple[str, ...],
    exceeded: bool,  # noqa: FBT001 - a parameter.
) -> None:
    """California's referee: gasoline 1996 to 1999 one incomplete, from 2000 EVAP alone."""
    found = asked(
        *(told(device) for device in FITTED),
        model_year=model_year,
        monitors_incomplete=incomplete,
    )

    assert (rows(found).get(17) == {"device_question"}) is exceeded
    flag = StreetLegalFlag.UNDETERMINED if exceeded else StreetLegalFlag.DOCUMENTED
    assert found.street_use.street_legal_flag is flag


def test_row_17_trap_t34_monitors_are_not_asked_for_before_1996() -> None:
    """16 CCR 3340.42.2: the diagnostics of model year 1996 and later."""
    assert 17 not in rows(asked(model_year=1995, monitors_incomplete=("egr", "evap")))
