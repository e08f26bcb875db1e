"""Kits of the demo catalogue without a database, and the engines that the physics makes of them."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any

from service.catalog.parts import Part
from service.catalog.slots import KIT_SLOTS, SUPPLY_SLOTS, Slot, UseClass
from service.compliance.profiles.store import load_profiles
from service.engine.curve import OperatingPoint, Task, operating_point
from service.engine.model import EngineSpec
from service.kits.assessment import Surroundings
from service.kits.kit import AssessmentRequest, Kit, Weather, kit_of
from service.kits.translation import ambient, engine_spec
from service.units import rpm_to_rad_per_s
from tests.seed import documents, families, of, parts, shop_rules

STANDARD_AIR = ambient(Weather())
"""Reference state of SAE J1349."""


def question(family: str, **changes: Any) -> AssessmentRequest:  # noqa: ANN401 - any field of a question.
    """A road engine of the family's first year in California, all factory; changes replace."""
    plain = AssessmentRequest(
        family=family,
        use=UseClass.ROAD,
        place="us-ca",
        model_year=families()[family].first_model_year,
    )
    return replace(plain, **changes)


def assembled(family: str, chosen: dict[Slot, str] | None = None, **changes: Any) -> Kit:  # noqa: ANN401 - any field of a question.
    """The factory kit with other parts in the slots named."""
    home = families()[family]
    skus = {**home.stock_parts, **(chosen or {})}
    found: dict[Slot, Part] = {slot: parts()[skus[slot]] for slot in KIT_SLOTS}
    return kit_of(
        question(family, parts=chosen or {}, **changes),
        home,
        found,
        parts()[home.stock_parts[Slot.CYLINDER_HEADS]],
    )


@cache
def stock_engine(family: str) -> EngineSpec:
    return engine_spec(assembled(family))


@cache
def point_at(spec: EngineSpec, speed_rpm: float) -> OperatingPoint:
    """One simulated point in the air of SAE J1349; the same is not simulated twice."""
    return operating_point(spec, STANDARD_AIR, float(rpm_to_rad_per_s(speed_rpm)))


def supplies(family: str) -> tuple[Part, ...]:
    """What the demo shop has to bolt a kit of this family on with."""
    return tuple(part for slot in SUPPLY_SLOTS for part in of(family, slot))


def around(family: str) -> Surroundings:
    """Everything of the demo catalogue that bears on a family, on a fixed day."""
    return Surroundings(
        rules=shop_rules(),
        alternatives={slot: tuple(of(family, slot)) for slot in KIT_SLOTS},
        supplies=supplies(family),
        documents=tuple(documents().values()),
        profiles=load_profiles(date(2026, 11, 25)),
        today=date(2026, 11, 25),
        catalog_revision=1,
    )


def level_torque(
    _function: Callable[[Task], OperatingPoint], tasks: Iterable[Task]
) -> list[OperatingPoint]:
    """Stands in for the simulation where no figure matters: one torque, whatever is asked."""
    point = point_at(stock_engine("quay-7-6"), 6000.0)
    return [
        replace(point, angular_speed=task.angular_speed, power=point.torque * task.angular_speed)
        for task in tasks
    ]
