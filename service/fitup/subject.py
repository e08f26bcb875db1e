"""The kit as it will be bolted on: what every fit check looks at."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

from service.catalog.families import EngineFamily
from service.catalog.parts import Part
from service.catalog.slots import Slot, UseClass
from service.catalog.specs import (
    CalibrationSpec,
    CamshaftSpec,
    CylinderHeadsSpec,
    ExhaustManifoldSpec,
    ExhaustSystemSpec,
    InjectorsSpec,
    IntakeManifoldSpec,
    ThrottleBodySpec,
)
from service.fitup.machined import EngineAsMachined
from service.fitup.spans import Span
from service.quantities import CompressionRatio, LengthMm, SpeedRpm, Year

Spec = TypeVar(
    "Spec",
    ThrottleBodySpec,
    IntakeManifoldSpec,
    CylinderHeadsSpec,
    CamshaftSpec,
    ExhaustManifoldSpec,
    ExhaustSystemSpec,
    InjectorsSpec,
    CalibrationSpec,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FitSubject:
    """A family with one part in every slot that is filled, and the engine's own state."""

    family: EngineFamily
    parts: Mapping[Slot, Part]
    bore_mm: LengthMm
    """As bored; may be over the family's [mm]."""
    stroke_mm: LengthMm
    compression_ratio: CompressionRatio
    """With these heads and this gasket [-]."""
    compression_range: Span | None = None
    """Over both banks and everything that nobody measured; None: as `compression_ratio` [-]."""
    octane_aki: float | None = None
    """(R+M)/2 of the fuel that will be bought; None: not known."""
    rev_limit_rpm: SpeedRpm
    """Highest speed that the owner means to use [rev/min]."""
    model_year: Year
    use: UseClass
    machined: EngineAsMachined | None = None
    """What was cut on this engine; None: nobody told."""

    @property
    def compression(self) -> Span:
        """All ratios that the engine may have, in any cylinder [-]."""
        return self.compression_range or Span.exactly(self.compression_ratio)

    def spec(self, kind: type[Spec]) -> Spec | None:
        """Return the spec of the part in this kind's slot, or None when it is empty."""
        for part in self.parts.values():
            if isinstance(part.spec, kind):
                return part.spec
        return None

    def skus(self, *slots: Slot) -> tuple[str, ...]:
        """Return the SKUs in these slots, in alphabetical order."""
        return tuple(sorted(self.parts[slot].sku for slot in slots if slot in self.parts))

    def changed(self, *slots: Slot) -> tuple[str, ...]:
        """Return the SKUs in these slots that are not the factory's own, in order."""
        return tuple(
            sorted(
                self.parts[slot].sku
                for slot in slots
                if slot in self.parts and not self.parts[slot].factory_part
            )
        )
