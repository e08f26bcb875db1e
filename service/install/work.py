"""What decides which steps there are, and the shape in which they are written."""

from dataclasses import dataclass

from service.catalog.slots import Slot

TOP_END = frozenset({Slot.CAMSHAFT, Slot.CYLINDER_HEADS})
INTAKE = frozenset({Slot.INTAKE_MANIFOLD, Slot.CYLINDER_HEADS})
FUEL = frozenset({Slot.INTAKE_MANIFOLD, Slot.INJECTORS, Slot.THROTTLE_BODY})
EXHAUST = frozenset({Slot.EXHAUST_MANIFOLD, Slot.EXHAUST_SYSTEM})
BOLTED = (
    Slot.CYLINDER_HEADS,
    Slot.INTAKE_MANIFOLD,
    Slot.THROTTLE_BODY,
    Slot.AIR_INLET,
    Slot.EXHAUST_MANIFOLD,
    Slot.EXHAUST_SYSTEM,
)
"""In the order in which they go on."""

Draft = tuple[str, tuple[str, ...], str, tuple[str, ...], tuple[str, ...]]
"""Title, what to do, reason, tools, keys of readings; a star stands for all that begin so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """What decides which steps there are."""

    changed: frozenset[Slot]
    rails: bool
    """Whether end rails are sealed."""
    marine: bool
    fuel: tuple[float, float | None]
    """The highest compression ratio, and the octane that will be bought where it is known [AKI]."""
