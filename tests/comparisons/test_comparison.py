"""What is left in the difference of two kits: arithmetic of errors, and what a shop expects.

Errors that are common to both terms of a difference cancel, others add as squares: the
law of propagation, JCGM 100:2008 (GUM), section 5.
"""

from dataclasses import replace
from math import hypot

import numpy as np
import pytest
from scipy.stats import norm

from service.catalog.slots import Slot
from service.comparisons.figures import Comparison, Treatment, Verdict
from service.comparisons.question import OtherKit, comparison_of
from service.comparisons.sharing import SingleError
from service.engine.uncertainty import BOUND_WIDTH, UNCERTAINTIES
from service.errors import InvalidInput
from service.kits.kit import EngineAsItStands
from service.kits.power import power_answer
from tests.comparisons.made import KITS, TOGETHER, comparison, remembered
from tests.kits.assembled import assembled, question
from tests.seed import QUAY_BIG

pytestmark = pytest.mark.xdist_group(TOGETHER)

OTHERS = ("twin", "heads", "header")


def widths(compared: Comparison) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.array([each.torque.high_nm - each.torque.low_nm for each in compared.speeds])


def test_a_kit_compared_with_itself_differs_by_nothing_and_surely() -> None:
    same = comparison("factory", "factory")

    for each in same.speeds:
        assert each.torque.difference_nm == each.torque.low_nm == each.torque.high_nm == 0.0
        assert each.power.difference_kw == each.power.low_kw == each.power.high_kw == 0.0
        assert each.verdict is Verdict.NOT_TOLD_APART
    assert same.peaks.power.power.high_kw == same.band.torque.torque.high_nm == 0.0
    assert same.changed == ()


@pytest.mark.parametrize("other", OTHERS)
def test_swapping_the_kits_mirrors_every_figure(other: str) -> None:
    there, back = comparison("factory", other), comparison(other, "factory")
    mirrored = {Verdict.BETTER: Verdict.WORSE, Verdict.WORSE: Verdict.BETTER}

    for one, two in zip(there.speeds, back.speeds, strict=True):
        assert two.torque.difference_nm == pytest.approx(-one.torque.difference_nm)
        assert two.torque.low_nm == pytest.approx(-one.torque.high_nm)
        assert two.power.high_kw == pytest.approx(-one.power.low_kw)
        assert two.probability_b_better == pytest.approx(1.0 - one.probability_b_better)
        assert two.verdict is mirrored.get(one.verdict, one.verdict)
    assert back.peaks.power.power.low_kw == pytest.approx(-there.peaks.power.power.high_kw)
    assert back.band.power.power.low_kw == pytest.approx(-there.band.power.power.high_kw)


@pytest.mark.parametrize("other", OTHERS)
def test_the_difference_is_known_better_than_two_kits_on_their_own(other: str) -> None:
    """The bounds of both assessments, added as if nothing were shared."""
    compared = comparison("factory", other)
    curves = [
        power_answer(assembled(QUAY_BIG, KITS[each]), run=remembered).curve
        for each in ("factory", other)
    ]

    alone = [
        hypot(*(point.torque_high_nm - point.torque_low_nm for point in points))
        for points in zip(*curves, strict=True)
    ]

    assert (widths(compared) < 0.6 * np.array(alone)).all()


def test_a_part_that_differs_brings_its_own_errors() -> None:
    """Heads: bench flow, and half of clearance and burning; the camshaft is in both kits."""
    found = {each.name: each for each in comparison("factory", "heads").assumptions}

    assert found["port_bench_flow"].treatment is Treatment.OWN
    assert found["port_bench_flow"].own_to == (Slot.CYLINDER_HEADS,)
    assert found["compression"].treatment is Treatment.PARTLY_SHARED
    assert found["cam_checking_height"].treatment is Treatment.SHARED
    assert (
        found["port_bench_flow"].share_of_variance > found["cam_checking_height"].share_of_variance
    )


def test_other_heads_leave_the_difference_less_sure_than_another_throat() -> None:
    """Both move torque by a few per cent; a throat differs in one discharge coefficient, heads
    in what two benches read."""
    throat, heads = comparison("factory", "twin"), comparison("factory", "heads")

    assert widths(heads)[-1] > widths(throat)[-1]


@pytest.mark.parametrize("other", OTHERS)
def test_every_assumption_states_its_size_and_source_and_they_make_up_the_whole(other: str) -> None:
    found = comparison("factory", other).assumptions

    assert {each.name for each in UNCERTAINTIES} < {each.name for each in found}
    assert all(each.size and each.source for each in found)
    assert sum(each.share_of_variance for each in found) == pytest.approx(1.0)


@pytest.mark.parametrize("other", OTHERS)
def test_interval_probability_and_verdict_say_the_same(other: str) -> None:
    """Normal distribution, by another library."""
    for each in comparison("factory", other).speeds:
        deviation = (each.torque.high_nm - each.torque.low_nm) / (2.0 * BOUND_WIDTH)
        expected = norm.sf(0.0, loc=each.torque.difference_nm, scale=deviation)
        assert each.probability_b_better == pytest.approx(expected, abs=1e-9)
        assert (each.verdict is Verdict.BETTER) == (each.torque.low_nm > 0.0)
        assert (each.verdict is Verdict.WORSE) == (each.torque.high_nm < 0.0)


def test_an_open_throat_is_better_at_the_top_and_told_apart_there_only() -> None:
    """The throat costs the top and hardly the bottom: common practice, no source."""
    speeds = comparison("factory", "twin").speeds

    assert speeds[-1].verdict is Verdict.BETTER
    assert speeds[0].verdict is Verdict.NOT_TOLD_APART


def test_power_is_torque_times_speed() -> None:
    for each in comparison("factory", "twin").speeds:
        expected = each.torque.difference_nm * each.speed_rpm * np.pi / 30e3
        assert each.power.difference_kw == pytest.approx(expected)


def test_peaks_are_those_of_each_kit_and_means_lie_between_the_speeds() -> None:
    compared = comparison("factory", "header")

    power = compared.peaks.power.power
    assert power.b_kw - power.a_kw == pytest.approx(power.difference_kw)
    assert power.a_kw >= max(each.power.a_kw for each in compared.speeds) * (1.0 - 1e-9)
    differences = [each.torque.difference_nm for each in compared.speeds]
    assert min(differences) < compared.band.torque.torque.difference_nm < max(differences)


@pytest.mark.parametrize(
    ("is_shared", "expected"), [(True, (9.0 - 4.0) ** 2), (False, 4.0**2 + 9.0**2)]
)
def test_a_shared_error_cancels_and_another_adds(is_shared: bool, expected: float) -> None:  # noqa: FBT001
    nothing = np.zeros(1)
    error = SingleError(name="any", slot=None, is_shared=is_shared, a=nothing, b=nothing)

    assert error.variance(4.0, 9.0) == expected


def test_the_other_kit_stands_on_the_same_engine_in_the_same_air_unless_told() -> None:
    first = question(QUAY_BIG, engine=EngineAsItStands(compression_ratio=9.0))
    asked = replace(comparison_of(first, first), b=OtherKit(parts=KITS["twin"]))

    second = asked.questions[1]

    assert (second.engine, second.weather) == (first.engine, first.weather)
    assert second.parts == KITS["twin"]


def test_kits_of_two_families_are_not_compared() -> None:
    with pytest.raises(InvalidInput, match=QUAY_BIG):
        comparison_of(question(QUAY_BIG), question("orrin-4-4"))
