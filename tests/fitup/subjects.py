"""Fit subjects: the demo engine with its factory parts, some of them replaced."""

from dataclasses import replace
from typing import Any

from service.catalog.parts import Part
from service.catalog.slots import Slot, UseClass
from service.fitup.subject import FitSubject
from tests.factories import SPECS, make_family, make_kit_parts, make_part


def make_subject(*parts: Part, **changes: Any) -> FitSubject:  # noqa: ANN401 - any field of a subject.
    """The stock kit with `parts` in place of the factory's; `changes` replace fields."""
    subject = FitSubject(
        family=make_family(),
        parts=make_kit_parts() | {part.slot: part for part in parts},
        bore_mm=108.0,
        stroke_mm=104.0,
        compression_ratio=9.0,
        octane_aki=87.0,
        rev_limit_rpm=5200.0,
        model_year=2000,
        use=UseClass.ROAD,
    )
    return replace(subject, **changes)


def shop_part(slot: Slot, sku: str, *, spec: dict[str, Any] | None = None, **changes: Any) -> Part:  # noqa: ANN401 - any field of a part.
    """A part of the shop's own: the factory's with another spec or other fields."""
    return make_part(
        slot,
        sku=sku,
        maker_reference=f"REF-{sku}",
        factory_part=False,
        spec=replace(SPECS[slot], **(spec or {})),
        **changes,
    )
