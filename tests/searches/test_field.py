"""Every kit of the demo that goes together: its figures are those of its assessment."""

from functools import cache

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from service.catalog.devices import Device
from service.catalog.slots import Slot
from service.catalog.specs import CalibrationSpec, ThrottleBodySpec, ThrottleDrive
from service.compliance.appearance import KeepsStockExterior
from service.compliance.devices import DeviceState
from service.compliance.outcomes import Outcome, worst
from service.compliance.report import compliance_report
from service.kits.fitted import FittedSurface
from service.kits.money import lead_time, price_block
from service.kits.power import PowerAnswer
from service.kits.surface_power import surface_answer
from service.kits.views import application_of
from service.money import Price
from service.searches.api.memory import CurveMemory
from service.searches.field import Field, field_of
from service.searches.limits import Papers, broken, limits_of, removals
from service.searches.question import (
    Aim,
    Limits,
    Objective,
    SearchRequest,
    SpeedRange,
    TorqueAt,
)
from service.searches.ranking import values_of
from service.searches.screens import Offer
from service.surfaces.schemas import read_surfaces
from tests.kits.assembled import around, assembled
from tests.searches.test_screens import offer_of
from tests.seed import SEED, parts, shop_rules

FAMILY = "orrin-4-4"
"""The smallest: its field takes a second."""
DRAWN = 25


@cache
def surface() -> FittedSurface:
    content = (SEED / "surfaces.json").read_bytes()
    return next(one for one in read_surfaces(content) if one.family == FAMILY)


@cache
def field() -> Field:
    whole = offer_of(FAMILY)
    # Kits by the hundred thousand tell no more than by the thousand.
    few = {slot: members[:4] for slot, members in whole.members.items()}
    for slot, sku in assembled(FAMILY).family.stock_parts.items():
        stock = parts()[sku]
        few[slot] = (
            tuple(sorted({*few[slot], stock}, key=lambda part: part.sku))
            if (stock not in few[slot])
            else few[slot]
        )
    return field_of(
        assembled(FAMILY), Offer(members=few), shop_rules(), surface(), read=CurveMemory(2).read
    )


def drawn() -> list[int]:
    generator = np.random.default_rng(3)
    return [int(row) for row in generator.integers(0, len(field().rows), DRAWN)]


def test_curves_are_those_of_an_assessment_by_surface() -> None:
    """One kit at a time and all at once differ in the order of sums in single precision: 1e-4,
    a hundredth of what a surface is off by."""
    torque = field().curves.torque_at(3000.0)
    for row in drawn():
        answer = surface_answer(field().kit_at(row), surface())
        curve = int(field().curve_of[row])

        peaks, band, curves = answer.peaks, answer.band, field().curves
        assert curves.peak_power[curve] == pytest.approx(peaks.power.power_kw * 1e3, rel=5e-4)
        assert curves.peak_torque[curve] == pytest.approx(peaks.torque.torque_nm, rel=5e-4)
        assert curves.peak_power_rpm[curve] == pytest.approx(peaks.power.speed_rpm, abs=20.0)
        assert curves.band_low_rpm[curve] == pytest.approx(band.low_rpm, abs=20.0)
        assert curves.band_high_rpm[curve] == pytest.approx(band.high_rpm, abs=20.0)
        speeds = [point.speed_rpm for point in answer.curve]
        torques = [point.torque_nm for point in answer.curve]
        between = np.interp(3000.0, speeds, torques)
        assert torque[curve] == pytest.approx(between, rel=0.01)


def test_money_and_time_are_those_of_an_assessment() -> None:
    for row in drawn():
        kit = field().kit_at(row)
        (total,) = price_block(kit.parts, kit.chosen).totals or (None,)

        cents = int(field().cents[row])
        assert cents == (0 if total is None else total.cents)
        assert int(field().lead_days[row]) == lead_time(kit).days


def test_limits_are_kept_by_those_kits_whose_blocks_say_so() -> None:
    """All limits that look at papers, devices and looks, against the report of each kit."""
    place, least = "us-ca", Outcome.PAPER_DOES_NOT_MATCH
    device = field().kit.family.devices_fitted[0].device
    asked = SearchRequest(
        question=field().kit.request,
        limits=Limits(
            keeps_stock_exterior=True,
            devices_kept=(device,),
            paperwork_at_worst=least,
            price_at_most=Price(amount="1500", currency="USD"),
            in_stock=True,
            lead_time_at_most_days=3,
            octane_aki_at_most=90.0,
            rev_limit_at_least_rpm=5500.0,
            throttle_drive=ThrottleDrive.CABLE,
            torque_at=(TorqueAt(speed_rpm=2500.0, torque_at_least_nm=365.0),),
            band_covers=SpeedRange(low_rpm=2400.0, high_rpm=3200.0),
            power_at_least_kw=110.0,
        ),
    )
    papers = papers_of()
    limits = limits_of(asked, papers)
    bits = broken(field(), limits)
    names = [limit.name for limit in limits]

    for row in drawn():
        kept = {name: not int(bits[row]) >> number & 1 for number, name in enumerate(names)}
        told = by_blocks(row, papers, least, device)
        assert {name: kept[name] for name in told} == told, row
        assert f"paperwork_at_worst.{place}" in kept
        assert told.keys() == kept.keys()
    apart = {
        name
        for number, name in enumerate(names)
        if 0 < int((bits >> np.uint64(number) & np.uint64(1)).sum()) < len(bits)
    }
    assert {"octane_aki_at_most", "rev_limit_at_least_rpm", "torque_at.2500"} <= apart


def papers_of() -> Papers:
    surroundings = around(FAMILY)
    return Papers(
        documents=surroundings.documents,
        profiles=surroundings.profiles,
        today=surroundings.today,
    )


def by_blocks(row: int, papers: Papers, least: Outcome, device: Device) -> dict[str, bool]:
    """What an assessment's blocks say of a kit, limit by limit."""
    kit = field().kit_at(row)
    report = compliance_report(
        kit.parts.values(),
        kit.family,
        papers.documents,
        application_of(kit.request),
        papers.profiles,
        papers.today,
    )
    answer = surface_answer(kit, surface())
    (total,) = price_block(kit.parts, kit.chosen).totals or (None,)
    states = {line.device: line.state for line in report.devices.rows}
    outcome = report.paperwork.outcome
    return {
        "keeps_stock_exterior": report.appearance.keeps_stock_exterior is KeepsStockExterior.YES,
        f"devices_kept.{device}": states.get(device, DeviceState.KEPT) is DeviceState.KEPT,
        f"paperwork_at_worst.{kit.request.place}": worst((outcome, least)) is least
        or outcome is least,
        "price_at_most": total is None or total.cents <= 150_000,
        "in_stock": not lead_time(kit).waiting_for,
        "lead_time_at_most_days": lead_time(kit).days <= 3,
        "octane_aki_at_most": kit.spec(CalibrationSpec).octane_aki_min <= 90.0,
        "rev_limit_at_least_rpm": kit.rev_limit_rpm >= 5500.0,
        "throttle_drive": kit.spec(ThrottleBodySpec).drive is ThrottleDrive.CABLE,
        "torque_at.2500": _torque_at(answer, 2500.0) >= 365.0,
        "power_at_least_kw": answer.peaks.power.power_kw >= 110.0,
        "band_covers": answer.band.low_rpm <= 2400.0 and answer.band.high_rpm >= 3200.0,
    }


def _torque_at(answer: PowerAnswer, speed_rpm: float) -> float:
    speeds = [point.speed_rpm for point in answer.curve]
    return float(PchipInterpolator(speeds, [point.torque_nm for point in answer.curve])(speed_rpm))


def test_power_for_the_money_is_the_gain_over_the_factory_kit_by_what_an_assessment_charges() -> (
    None
):
    """In watts for each unit of the currency; powers of both kits to 5e-4, as above."""
    asked = SearchRequest(
        question=field().kit.request, objective=Objective(aim=Aim.POWER_PER_MONEY)
    )
    values = values_of(field(), asked)
    factory = surface_answer(field().kit, surface()).peaks.power.power_kw

    for row in drawn():
        kit = field().kit_at(row)
        (total,) = price_block(kit.parts, kit.chosen).totals or (None,)
        power = surface_answer(kit, surface()).peaks.power.power_kw
        money = 0.0 if total is None else float(total.amount)
        expected = (power - factory) * 1e3 / money if money else 0.0
        assert values[row] == pytest.approx(expected, abs=1e-3 * power * 1e3 / (money or 1.0))


def test_what_limits_remove_adds_up() -> None:
    question = field().kit.request
    asked = SearchRequest(
        question=question,
        excluded=(field().offer.members[Slot.CAMSHAFT][0].sku,),
        limits=Limits(keeps_stock_exterior=True, power_at_least_kw=100.0),
    )
    limits = limits_of(asked, papers_of())
    bits = broken(field(), limits)

    counts = removals(bits, limits)

    assert sum(in_order for in_order, _ in counts.values()) == int((bits != 0).sum())
    assert all(in_order <= alone for in_order, alone in counts.values())
    assert sum(one.in_order for one in field().removals) == field().combinations - len(bits)
