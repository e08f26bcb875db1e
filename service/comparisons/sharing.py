"""Which errors two kits have in common, and which are each one's own.

An error that both have, such as that of a friction correlation or of a part that stands in
both, moves both curves at once: what is left of it in the difference is what it does to one
more than to the other. An error of a part that only one of them has is met by nothing.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt
from types import MappingProxyType

import numpy as np

from service.catalog.slots import KIT_SLOTS, Slot
from service.engine.cycle import PathPressures
from service.engine.inputs import FloatArray
from service.engine.model import Ambient, EngineSpec
from service.engine.uncertainty import EFFECT_ERROR, MODEL_ERROR, UNCERTAINTIES
from service.kits.kit import Kit
from service.kits.translation import intake_path

HALF = sqrt(0.5)
"""Of an error whose variance is half the part's and half the engine's."""
INTAKE_PATH = (Slot.AIR_INLET, Slot.THROTTLE_BODY, Slot.INTAKE_MANIFOLD)
OWNERS: Mapping[str, tuple[Slot | None, ...]] = MappingProxyType(
    {
        "port_bench_flow": (Slot.CYLINDER_HEADS,),
        "cam_checking_height": (Slot.CAMSHAFT,),
        "intake_discharge": INTAKE_PATH,
        "exhaust_discharge": (Slot.EXHAUST_MANIFOLD, Slot.EXHAUST_SYSTEM),
        "compression": (None, Slot.CYLINDER_HEADS),
        "burn_duration": (None, Slot.CYLINDER_HEADS),
    }
)
"""Parts that an input belongs to; None is the engine that both kits stand on, and what is
not named belongs to it. Half of the variance of clearance and burning is taken to be the
heads', half the engine's (documented assumption)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One of the two kits with its simulated curve; arrays share their shape (n,)."""

    kit: Kit
    spec: EngineSpec
    ambient: Ambient
    torque: FloatArray
    """Corrected. [N m]"""
    changes: FloatArray
    """Relative change of torque with each stated input, shape (inputs, n)."""
    pressures: tuple[PathPressures, ...]
    converged: tuple[bool, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SingleError:
    """One independent error: what one standard deviation of it does to both curves."""

    name: str
    slot: Slot | None
    """Part that it belongs to; None: to the engine or the model."""
    is_shared: bool
    """Whether it is the same error in both kits."""
    a: FloatArray
    """Change of torque, shape (n,). [N m]"""
    b: FloatArray

    def variance(self, a: float, b: float) -> float:
        """Return the variance of a difference in which it stands with these two amounts."""
        return (b - a) ** 2 if self.is_shared else a**2 + b**2


def errors_of(a: Side, b: Side) -> tuple[SingleError, ...]:
    """Return every independent error of the difference between two kits."""
    stated = [
        SingleError(
            name=each.name,
            slot=slot,
            is_shared=is_shared(each.name, slot, a.kit, b.kit),
            a=a.torque * a.changes[place] * _weight(a, each.name, slot),
            b=b.torque * b.changes[place] * _weight(b, each.name, slot),
        )
        for place, each in enumerate(UNCERTAINTIES)
        for slot in OWNERS.get(each.name, (None,))
    ]
    return (*stated, *_model_errors(a, b))


def is_shared(name: str, slot: Slot | None, a: Kit, b: Kit) -> bool:
    """Say whether both kits have one and the same value of an input, whatever that is."""
    if slot is not None:
        return a.parts[slot].sku == b.parts[slot].sku
    if name == "compression":
        # Measured twice, it is wrong twice.
        return a.request.engine.compression_ratio == b.request.engine.compression_ratio
    return True


def differing_slots(a: Kit, b: Kit) -> tuple[Slot, ...]:
    """Return the slots that hold other parts in the second kit."""
    return tuple(slot for slot in KIT_SLOTS if a.parts[slot].sku != b.parts[slot].sku)


def _model_errors(a: Side, b: Side) -> tuple[SingleError, SingleError]:
    """Return what the model misses of both alike, and what it misses of the change's effect.

    The effect is how far the curves lie apart over all speeds: where they cross, the speed
    of the crossing is as uncertain as the heights of the curves on either side of it.
    """
    apart = 2.0 * (b.torque - a.torque) / (a.torque + b.torque)
    effect = EFFECT_ERROR * float(np.sqrt(np.mean(apart**2))) * HALF
    return (
        SingleError(
            name="model",
            slot=None,
            is_shared=True,
            a=MODEL_ERROR * a.torque,
            b=MODEL_ERROR * b.torque,
        ),
        SingleError(
            name="effect_of_the_change",
            slot=None,
            is_shared=False,
            a=effect * a.torque,
            b=effect * b.torque,
        ),
    )


def _weight(side: Side, name: str, slot: Slot | None) -> FloatArray | float:
    """Part of an input's effect that is due to one of its owners."""
    owners = OWNERS.get(name, (None,))
    if len(owners) == 1:
        return 1.0
    if None in owners:
        return HALF
    losses = intake_losses if name == "intake_discharge" else exhaust_losses
    shares = [_shares(losses(side, each)) for each in side.pressures]
    return np.array([share[slot] for share in shares if slot is not None])


def intake_losses(side: Side, pressures: PathPressures) -> dict[Slot, float]:
    """Pressure lost in each part ahead of the ports, in Pa."""
    spec = side.spec
    ahead = side.ambient.dry_pressure - pressures.plenum
    under = pressures.plenum - pressures.gallery
    found = dict.fromkeys(INTAKE_PATH, 0.0)
    for path in intake_path(side.kit):
        is_under = path.element in spec.below_plenum
        elements, loss = (spec.below_plenum, under) if is_under else (spec.above_plenum, ahead)
        squares = sum(each.effective_area**-2 for each in elements)
        found[path.slot] += max(loss, 0.0) * path.element.effective_area**-2 / squares
    found[Slot.INTAKE_MANIFOLD] += max(pressures.gallery - pressures.mouth, 0.0)
    return found


def exhaust_losses(side: Side, pressures: PathPressures) -> dict[Slot, float]:
    """Pressure lost in each part after the ports, in Pa."""
    return {
        Slot.EXHAUST_MANIFOLD: max(pressures.outlet - pressures.collector, 0.0),
        Slot.EXHAUST_SYSTEM: max(pressures.collector - side.ambient.dry_pressure, 0.0),
    }


def _shares(losses: Mapping[Slot, float]) -> dict[Slot, float]:
    """Shares of a sum; alike where nothing is lost."""
    total = sum(losses.values())
    if total <= 0.0:
        return dict.fromkeys(losses, 1.0 / len(losses))
    return {slot: loss / total for slot, loss in losses.items()}
