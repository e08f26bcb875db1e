"""The factory kit and its twin with the open throat, simulated once for several tests."""

from functools import cache

from service.catalog.slots import Slot
from service.kits.kit import Kit
from service.kits.ladder import RestrictionLadder, restriction_ladder
from service.kits.power import PowerAnswer, power_answer
from tests.kits.assembled import assembled
from tests.seed import MODIFIED_TWIN, QUAY_BIG

TOGETHER = "simulated kits"
"""Group of the tests that share these answers, so that one worker runs them."""


def factory_kit() -> Kit:
    return assembled(QUAY_BIG)


def twin_kit() -> Kit:
    """The calibration that goes with it is left out: only the throat differs."""
    return assembled(QUAY_BIG, {Slot.INTAKE_MANIFOLD: MODIFIED_TWIN})


@cache
def factory_power() -> PowerAnswer:
    return power_answer(factory_kit(), run=map)


@cache
def twin_power() -> PowerAnswer:
    return power_answer(twin_kit(), run=map)


@cache
def factory_ladder() -> RestrictionLadder:
    return restriction_ladder(factory_kit(), factory_power(), run=map)
