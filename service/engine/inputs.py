"""Small checks of physical input: each returns the value as an array, or says what is wrong."""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from service.errors import FieldProblem, InvalidInput

FloatArray = NDArray[np.float64]
"""An array of doubles; where all arguments are scalars, a numpy scalar."""

_BISECTIONS = 64
"""Halvings of an interval: one more than a double's mantissa can tell apart, and a margin."""


class NonPhysicalInput(InvalidInput):
    """A number, or several together, that no real engine or gas can have.

    Parameters
    ----------
    *names : str
        The arguments that are wrong, as the function spells them.
    limit : str
        What they should be; the rest of a sentence that starts with the name.

    Examples
    --------
    >>> print(NonPhysicalInput("bore", limit="must be above 0"))
    `bore` must be above 0
    """

    def __init__(self, *names: str, limit: str) -> None:
        super().__init__(
            *(
                FieldProblem(pointer=name, code="non_physical", detail=f"`{name}` {limit}")
                for name in names
            )
        )


def finite(name: str, value: ArrayLike) -> FloatArray:
    """Return `value` as an array, if it holds finite numbers only.

    Examples
    --------
    >>> finite("angle", 3)
    array(3.)
    """
    array = np.asarray(value, dtype=np.float64)
    if not np.all(np.isfinite(array)):
        raise NonPhysicalInput(name, limit="must be finite")
    return array


def positive(name: str, value: ArrayLike) -> FloatArray:
    """Return `value` as an array, if all of it is finite and above zero.

    Examples
    --------
    >>> positive("pressure", [1.0, -1.0])
    Traceback (most recent call last):
    service.engine.inputs.NonPhysicalInput: `pressure` must be above 0
    """
    array = finite(name, value)
    if not np.all(array > 0.0):
        raise NonPhysicalInput(name, limit="must be above 0")
    return array


def not_negative(name: str, value: ArrayLike) -> FloatArray:
    """Return `value` as an array, if all of it is finite and zero or more.

    Examples
    --------
    >>> not_negative("lift", 0.0)
    array(0.)
    """
    array = finite(name, value)
    if not np.all(array >= 0.0):
        raise NonPhysicalInput(name, limit="must not be negative")
    return array


def above(name: str, value: ArrayLike, low: float) -> FloatArray:
    """Return `value` as an array, if all of it is finite and above `low`.

    Examples
    --------
    >>> above("gamma", 1.4, 1.0)
    array(1.4)
    """
    array = finite(name, value)
    if not np.all(array > low):
        raise NonPhysicalInput(name, limit=f"must be above {low:g}")
    return array


def within(name: str, value: ArrayLike, low: float, high: float) -> FloatArray:
    """Return `value` as an array, if all of it lies between the limits, ends included.

    Examples
    --------
    >>> within("relative_humidity", 0.4, 0.0, 1.0)
    array(0.4)
    """
    array = finite(name, value)
    if not np.all((array >= low) & (array <= high)):
        raise NonPhysicalInput(name, limit=f"must lie between {low:g} and {high:g}")
    return array


def bisected_root(
    falling: Callable[[FloatArray], FloatArray], low: ArrayLike, high: ArrayLike
) -> FloatArray:
    """Root of a function that falls through zero once between two bounds, element by element.

    Parameters
    ----------
    falling : callable
        Function of an array; not negative at `low`, not positive at `high`.
    low, high : array_like, shape (n,)
        Bounds of each root.

    Returns
    -------
    ndarray, shape (n,)
        The roots, to the last digit or two.

    Notes
    -----
    Bisection: it cannot leave its bounds, which matters at the choking limit, where the
    slope of the flow function is zero and Newton's method stumbles.

    Examples
    --------
    >>> f"{bisected_root(lambda x: 2.0 - x * x, 0.0, 2.0):.9f}"
    '1.414213562'
    """
    lower, upper = np.asarray(low, np.float64), np.asarray(high, np.float64)
    for _ in range(_BISECTIONS):
        middle = 0.5 * (lower + upper)
        root_is_above = falling(middle) > 0.0
        lower = np.where(root_is_above, middle, lower)
        upper = np.where(root_is_above, upper, middle)
    return (0.5 * (lower + upper))[()]
