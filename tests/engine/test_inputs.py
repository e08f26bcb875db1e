"""What no engine can have is refused early, by name."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import ArrayLike

from service.engine import inputs
from service.engine.inputs import NonPhysicalInput
from service.errors import InvalidInput


@pytest.mark.parametrize("wrong", [np.nan, np.inf, -np.inf, [1.0, np.nan]], ids=str)
@pytest.mark.parametrize(
    "check",
    [
        lambda v: inputs.finite("bore", v),
        lambda v: inputs.positive("bore", v),
        lambda v: inputs.not_negative("bore", v),
        lambda v: inputs.above("bore", v, 0.0),
        lambda v: inputs.within("bore", v, 0.0, 1.0),
    ],
    ids=["finite", "positive", "not_negative", "above", "within"],
)
def test_a_number_that_is_none_is_refused_by_every_check(
    check: Callable[[ArrayLike], object], wrong: ArrayLike
) -> None:
    with pytest.raises(NonPhysicalInput, match="`bore` must be finite"):
        check(wrong)


def test_the_error_names_field_and_limit_and_is_invalid_input() -> None:
    with pytest.raises(InvalidInput) as caught:
        inputs.positive("bore", 0.0)

    (problem,) = caught.value.problems
    assert (problem.pointer, problem.code) == ("bore", "non_physical")
    assert problem.detail == "`bore` must be above 0"


def test_limits_count_as_inside_where_zero_or_an_end_is_allowed() -> None:
    assert inputs.not_negative("lash", 0.0) == 0.0
    assert inputs.within("share", [0.0, 1.0], 0.0, 1.0).tolist() == [0.0, 1.0]


def test_limits_count_as_outside_where_the_value_must_be_above() -> None:
    with pytest.raises(NonPhysicalInput, match="must be above 1"):
        inputs.above("gamma", 1.0, 1.0)
    with pytest.raises(NonPhysicalInput, match="must not be negative"):
        inputs.not_negative("lash", -1e-9)
    with pytest.raises(NonPhysicalInput, match="between 0 and 1"):
        inputs.within("share", 1.0001, 0.0, 1.0)


def test_bisection_finds_each_of_several_roots() -> None:
    """Square roots by another route."""
    targets = np.array([2.0, 3.0, 5.0])

    roots = inputs.bisected_root(lambda x: targets - x * x, np.zeros(3), targets)

    assert roots == pytest.approx(np.sqrt(targets), rel=1e-14)
