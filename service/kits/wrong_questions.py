"""What can be wrong with a question once the catalogue is looked at."""

from service.catalog.families import EngineFamily
from service.catalog.parts import Part
from service.catalog.slots import Fuel, Slot
from service.errors import FieldProblem, InvalidInput
from service.fitup.stated_torques import StatedTorque


class DayToCome(InvalidInput):
    """A day that tells of something past has not begun."""


class SlotHoldsAnother(InvalidInput):
    """A SKU was named for a slot that it does not go into."""

    def __init__(self, slot: Slot, part: Part) -> None:
        super().__init__(
            FieldProblem(
                pointer=f"/parts/{slot}",
                code="wrong_slot",
                detail=f"{part.sku} goes into the slot {part.slot}, not {slot}.",
            )
        )


class SlotIsNoPlace(InvalidInput):
    """A part was named for a slot of supplies, which the service chooses itself."""

    def __init__(self, slot: Slot) -> None:
        super().__init__(
            FieldProblem(
                pointer=f"/parts/{slot}",
                code="no_place_of_a_kit",
                detail=f"{slot} are chosen for the kit and stand in its parts list; leave it out.",
            )
        )


class YearOutsideFamily(InvalidInput):
    """The model year is not one in which the family was built."""

    def __init__(self, family: EngineFamily) -> None:
        super().__init__(
            FieldProblem(
                pointer="/model_year",
                code="outside_family",
                detail=(
                    f"{family.title} was built from {family.first_model_year} "
                    f"to {family.last_model_year}."
                ),
            )
        )


class CastingNotKnown(InvalidInput):
    """The family records no casting of this name."""

    def __init__(self, family: EngineFamily, generation: str) -> None:
        known = ", ".join(casting.name for casting in family.castings) or "none"
        super().__init__(
            FieldProblem(
                pointer="/engine/machined/casting_generation",
                code="unknown",
                detail=f"{family.key} has no casting {generation!r}; recorded are: {known}.",
            )
        )


class PatternNotKnown(InvalidInput):
    """A torque was stated for a pattern of bolts that the family does not record."""

    def __init__(self, family: EngineFamily, place: int, stated: StatedTorque) -> None:
        known = [one.pattern for one in family.bolt_layouts if one.place is stated.joint]
        super().__init__(
            FieldProblem(
                pointer=f"/engine/machined/stated_torques/{place}/pattern",
                code="unknown",
                detail=(
                    f"{family.key} records no pattern {stated.pattern!r} of the "
                    f"{stated.joint.value.replace('_', ' ')}; recorded are: "
                    f"{', '.join(known) or 'none'}."
                ),
            )
        )


class FuelNotServed(InvalidInput):
    """The fuel asked for is not the one the calibration is written for."""

    def __init__(self, asked: Fuel, written_for: Fuel) -> None:
        super().__init__(
            FieldProblem(
                pointer="/engine/fuel",
                code="fuel_differs",
                detail=(
                    f"The calibration is written for {written_for}; choose one for {asked} "
                    "or leave `fuel` out."
                ),
            )
        )


class SlotIsEmpty(InvalidInput):
    """No part fills a slot that an engine cannot run without."""

    def __init__(self, slot: Slot) -> None:
        super().__init__(
            FieldProblem(
                pointer=f"/parts/{slot}",
                code="slot_empty",
                detail=f"Name a part for {slot}: the family lists no factory part for it.",
            )
        )
