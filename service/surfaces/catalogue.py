"""The airflow of a family's catalogue: which range a surface has to cover.

Every parameter depends on the parts of one group below; the parts of a group are tried in
every way in which they go together, with factory parts in all other slots, and only its
own parameters are read. So each is seen at its ends without trying every kit, and how the
figures of a group lie to each other is seen as well.
"""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from service.catalog.families import EngineFamily
from service.catalog.interfaces import InterfaceKind
from service.catalog.parts import Part
from service.catalog.slots import KIT_SLOTS, Slot
from service.catalog.specs import CalibrationSpec
from service.engine.design import THROAT, DesignRange, between, range_of, spread_of
from service.engine.inputs import FloatArray
from service.engine.model import EngineSpec
from service.engine.parameters import PARAMETERS, parameters_of
from service.errors import RuleBroken
from service.kits.kit import AssessmentRequest, Kit, Weather, kit_of
from service.kits.power import SLOWEST_RPM
from service.kits.translation import ambient, engine_spec
from service.units import rpm_to_rad_per_s

GROUPS = {
    (Slot.AIR_INLET, Slot.THROTTLE_BODY, Slot.INTAKE_MANIFOLD): (
        "intake_path_area",
        "throat_resistance",
        "plenum_volume",
        "gallery_share",
    ),
    (Slot.INTAKE_MANIFOLD, Slot.CYLINDER_HEADS): ("runner_",),
    (Slot.CYLINDER_HEADS, Slot.CAMSHAFT): (
        "intake_flow",
        "intake_low",
        "intake_high",
        "intake_duration",
        "intake_fullness",
        "intake_lift",
        "intake_centreline",
        "exhaust_",
        "compression_ratio",
        "roller_tappets",
    ),
    (Slot.CYLINDER_HEADS, Slot.EXHAUST_MANIFOLD): ("primary_", "collector_volume"),
    (Slot.EXHAUST_SYSTEM,): ("system_area",),
    (Slot.CALIBRATION,): ("air_fuel_ratio", "burn_centre"),
}
"""Which parts decide which parameters, by how their names begin: areas in series, ratios of
what meets, the lift of a lobe through a rocker. The air is nobody's part."""
ANYWHERE = "us-ca"
"""A kit needs a place; its airflow does not."""
DIGEST_DIGITS = 9
"""Significant digits of a parameter that its digest is made from."""


class NoFactoryKit(RuleBroken):
    """A family without a factory part in every slot has no engine to start from."""

    def __init__(self, family: EngineFamily) -> None:
        super().__init__(
            f"A surface of {family.key} needs a factory part in every slot of the family."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyAirflow:
    """What of a family's catalogue decides its surface."""

    base: EngineSpec
    """With the factory kit."""
    rows: FloatArray
    """Of the engines that the range is drawn around."""
    groups: tuple[tuple[NDArray[np.bool_], FloatArray], ...]
    """For each group of parts its own parameters, and the rows in which they vary."""
    box: DesignRange
    digest: str
    """Changes with every part that moves a parameter."""


def family_airflow(family: EngineFamily, parts: Mapping[Slot, Sequence[Part]]) -> FamilyAirflow:
    """Return the factory engine, the range around the catalogue, and its digest.

    `parts` are the family's current parts by slot.
    """
    stock = factory_parts(family, parts)
    air = ambient(Weather())
    base = engine_spec(airflow_kit(family, stock, stock))
    groups = _groups(family, parts, stock, parameters_of(base, air))
    rows = np.concatenate([rows for _, rows in groups])
    spreads = [spread_of(own, members) for own, members in groups]
    fastest = max(
        min(family.rev_limit_rpm, part.spec.rev_limit_rpm)
        for part in parts[Slot.CALIBRATION]
        if isinstance(part.spec, CalibrationSpec)
    )
    speeds = rpm_to_rad_per_s(np.array([SLOWEST_RPM, fastest]))
    return FamilyAirflow(
        base=base,
        rows=rows,
        groups=groups,
        box=range_of(
            rows,
            float(speeds[0]),
            float(speeds[1]),
            tuple(spread for spread in spreads if spread.columns.size),
        ),
        digest=_digest(rows, speeds),
    )


def factory_parts(family: EngineFamily, parts: Mapping[Slot, Sequence[Part]]) -> dict[Slot, Part]:
    """Return the factory part of every slot, or raise `NoFactoryKit`."""
    by_sku = {part.sku: part for members in parts.values() for part in members}
    found = {slot: by_sku.get(family.stock_parts.get(slot, "")) for slot in KIT_SLOTS}
    stock = {slot: part for slot, part in found.items() if part is not None}
    if len(stock) < len(found):
        raise NoFactoryKit(family)
    return stock


def airflow_kit(
    family: EngineFamily, parts: Mapping[Slot, Part], stock: Mapping[Slot, Part]
) -> Kit:
    """Return a kit of which only the airflow matters."""
    request = AssessmentRequest(
        family=family.key,
        use=family.use_classes[0],
        place=ANYWHERE,
        model_year=family.first_model_year,
    )
    return kit_of(request, family, parts, stock[Slot.CYLINDER_HEADS])


def swaps(
    parts: Mapping[Slot, Sequence[Part]], group: Sequence[Slot]
) -> Iterator[dict[Slot, Part]]:
    """Yield every way in which the parts of a group go together."""
    for members in product(*(parts.get(slot, ()) for slot in group)):
        if _go_together(members):
            yield dict(zip(group, members, strict=True))


def catalogue_engines(
    airflow: FamilyAirflow, count: int, generator: np.random.Generator
) -> FloatArray:
    """Return engines with parts of the catalogue, drawn by chance for each group of parts.

    A box in so many dimensions is nearly all middle and its corners are nearly empty; real
    kits stand near corners, because parts of one purpose go to the same side together.
    Each engine keeps its own share of factory parts, so that some are nearly as built.
    """
    found = np.repeat(airflow.rows[:1], count, axis=0)
    factory_share = generator.random(count)
    for own, rows in airflow.groups:
        drawn = rows[generator.integers(len(rows), size=count)]
        changed = generator.random(count) >= factory_share
        found = np.where(own & changed[:, None], drawn, found)
    return found


def engines_between(
    airflow: FamilyAirflow, even: FloatArray, generator: np.random.Generator
) -> FloatArray:
    """Return engines as parts to come may make them: each group between two parts' figures.

    `even` fills the box; it gives the air, and how far an engine goes off the way between.
    """
    count = len(even)
    rows, others, share = even.copy(), even.copy(), np.zeros(even.shape)
    for own, members in airflow.groups:
        for ends in (rows, others):
            ends[:, own] = members[generator.integers(len(members), size=count)][:, own]
        share[:, own] = generator.random((count, 1))
    other_path = (rows[:, THROAT] > 0.0) != (others[:, THROAT] > 0.0)
    (path,) = (own for own, _ in airflow.groups if own[THROAT])
    share[np.ix_(other_path, path)] = 0.0
    return between(rows, others, share, even, airflow.box)


def _groups(
    family: EngineFamily,
    parts: Mapping[Slot, Sequence[Part]],
    stock: Mapping[Slot, Part],
    factory_row: FloatArray,
) -> tuple[tuple[NDArray[np.bool_], FloatArray], ...]:
    """Return the factory engine with the parameters of one group after the other changed."""
    found = []
    air = ambient(Weather())
    for group, names in GROUPS.items():
        own = np.array([parameter.name.startswith(names) for parameter in PARAMETERS])
        rows = [factory_row]
        for swap in swaps(parts, group):
            spec = engine_spec(airflow_kit(family, {**stock, **swap}, stock))
            rows.append(np.where(own, parameters_of(spec, air), factory_row))
        found.append((own, np.array(rows)))
    return tuple(found)


def _go_together(members: Sequence[Part]) -> bool:
    """Whether no part asks the others for a joint of a kind that they offer otherwise."""
    for part in members:
        offered: dict[InterfaceKind, set[str]] = {}
        for other in members:
            if other is not part:
                for offer in other.provides:
                    offered.setdefault(offer.kind, set()).add(offer.code)
        if any(need.code not in offered.get(need.kind, {need.code}) for need in part.needs):
            return False
    return True


def _digest(rows: FloatArray, speeds: FloatArray) -> str:
    digest = hashlib.sha256()
    for row in np.unique(rows, axis=0):
        digest.update(",".join(f"{value:.{DIGEST_DIGITS}g}" for value in row).encode())
    digest.update(",".join(f"{value:.{DIGEST_DIGITS}g}" for value in speeds).encode())
    return digest.hexdigest()
