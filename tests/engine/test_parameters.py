"""An engine as a row of numbers, and back."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from service.catalog.slots import KIT_SLOTS, Slot
from service.engine.model import EngineSpec
from service.engine.parameters import (
    INDEX,
    PARAMETERS,
    engine_at,
    fixed_differences,
    parameters_of,
)
from service.kits.translation import engine_spec
from tests.kits.assembled import STANDARD_AIR, assembled, point_at, stock_engine
from tests.seed import FAMILIES, HEADER_KIT, OPEN_KIT, QUAY_BIG, STOCK_LOOK_KIT, of

OFF_BY_THE_ROW = 0.01
"""What a row may lose of a kit: the ports' flow between three lifts, the lash of a tappet."""


def every_swap(family: str) -> list[EngineSpec]:
    return [
        engine_spec(assembled(family, {slot: part.sku}))
        for slot in KIT_SLOTS
        for part in of(family, slot)
    ]


@pytest.mark.parametrize("family", FAMILIES)
def test_the_engine_of_a_row_has_that_row(family: str) -> None:
    base = stock_engine(family)

    for spec in every_swap(family):
        row = parameters_of(spec, STANDARD_AIR)
        again = parameters_of(*engine_at(base, row))
        assert again == pytest.approx(row, rel=1e-9)


@pytest.mark.parametrize("chosen", [OPEN_KIT, STOCK_LOOK_KIT, HEADER_KIT])
@pytest.mark.parametrize("speed_rpm", [2500.0, 5500.0])
def test_the_engine_of_a_row_makes_the_torque_of_the_kit(
    chosen: dict[Slot, str], speed_rpm: float
) -> None:
    """The simulation itself says how little is lost when a kit becomes a row."""
    kit = engine_spec(assembled(QUAY_BIG, chosen))
    made, _ = engine_at(stock_engine(QUAY_BIG), parameters_of(kit, STANDARD_AIR))

    lost = point_at(made, speed_rpm).torque / point_at(kit, speed_rpm).torque - 1.0

    assert abs(lost) < OFF_BY_THE_ROW


def test_a_throat_under_the_plenum_and_no_throat_come_back_as_they_are() -> None:
    base = stock_engine(QUAY_BIG)
    open_twin = replace(base, below_plenum=(), gallery_volume=0.0)

    for spec in (base, open_twin):
        made, _ = engine_at(open_twin, parameters_of(spec, STANDARD_AIR))
        assert bool(made.below_plenum) == bool(spec.below_plenum)
        assert made.gallery_volume == pytest.approx(spec.gallery_volume)
        assert made.plenum_volume == pytest.approx(spec.plenum_volume)


def test_what_no_parameter_carries_is_named() -> None:
    base = stock_engine(QUAY_BIG)
    bored = replace(base, bore=base.bore + 0.5e-3, cylinders_per_collector=8)

    assert set(fixed_differences(bored, base)) == {"bore", "cylinders_per_collector"}


def test_every_field_of_an_engine_is_a_parameter_or_fixed() -> None:
    """Changing any field by itself shows, either in the row or as a fixed difference."""
    base = stock_engine(QUAY_BIG)
    row = parameters_of(base, STANDARD_AIR)

    for name in base.__dataclass_fields__:
        changed = _changed(base, name)
        differs = not np.array_equal(parameters_of(changed, STANDARD_AIR), row)
        assert differs or name in fixed_differences(changed, base), name


def test_names_are_unique_and_in_order() -> None:
    assert list(INDEX) == [parameter.name for parameter in PARAMETERS]


def _changed(base: EngineSpec, name: str) -> EngineSpec:
    return replace(base, **{name: _other(getattr(base, name), name)})


def _other(value: Any, name: str) -> Any:  # noqa: ANN401 - any field of an engine.
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return value + 1
    if isinstance(value, tuple):
        return tuple(replace(each, effective_area=2.0 * each.effective_area) for each in value)
    if isinstance(value, str):
        return "methanol"
    field = {
        "intake": "centreline",
        "exhaust": "centreline",
        "runner": "length",
        "primary": "length",
        "assumptions": "burn_duration",
    }[name]
    return replace(value, **{field: getattr(value, field) + 1.0})
