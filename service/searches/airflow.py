"""The airflow of every combination, put together from that of a few parts at a time.

Each parameter of the airflow depends on one group of slots (`surfaces.catalogue.GROUPS`), so
that a few hundred engines tell the parameters of millions of kits. Kits of equal airflow
have one curve.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.catalog.parts import Part
from service.catalog.slots import Slot
from service.engine.design import is_inside
from service.engine.inputs import FloatArray
from service.engine.model import Ambient, EngineSpec
from service.engine.parameters import PARAMETERS, fixed_differences, parameters_of
from service.engine.surface import Surface
from service.searches.joining import Members
from service.searches.screens import Offer
from service.surfaces.catalogue import GROUPS

SpecOf = Callable[[Mapping[Slot, Part]], EngineSpec]
"""Makes the engine of a complete kit."""
DIGITS = 9
"""Significant digits in which airflows have to differ to be two."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Airflows:
    """Which rows share an airflow."""

    parameters: FloatArray
    """Of each airflow, shape (n, p)."""
    limit: NDArray[np.intp]
    """Which rev limit each runs to."""
    of_row: NDArray[np.int32]
    """Which airflow each row has."""


def airflows(
    offer: Offer, rows: Members, spec_of: SpecOf, air: Ambient, limit_of: NDArray[np.intp]
) -> Airflows:
    """Return the distinct airflows of rows; `limit_of` is the rev limit of each calibration."""
    plain = offer.parts_of((0,) * len(offer.sizes))
    start = parameters_of(spec_of(plain), air)
    calibration = rows[:, offer.slots.index(Slot.CALIBRATION)]
    code = limit_of[calibration].astype(np.int64)
    tables = []
    for group, names in GROUPS.items():
        own = np.array([parameter.name.startswith(names) for parameter in PARAMETERS])
        case, table = _group_table(offer, rows, offer.places(group), spec_of, air, own, plain)
        _, kind = np.unique(_rounded(table), axis=0, return_inverse=True)
        code = code * (int(kind.max(initial=0)) + 1) + kind[case]
        tables.append((own, case, table))
    _, first, of_row = np.unique(code, return_index=True, return_inverse=True)
    parameters = np.repeat(start[None], first.size, axis=0)
    for own, case, table in tables:
        parameters[:, own] = table[case[first]]
    return Airflows(
        parameters=parameters,
        limit=limit_of[calibration[first]],
        of_row=of_row.astype(np.int32),
    )


def readable(
    surface: Surface, flows: Airflows, offer: Offer, rows: Members, spec_of: SpecOf
) -> NDArray[np.bool_]:
    """Return which rows a surface can be asked about: it extrapolates nothing."""
    inside = is_inside(surface.box, flows.parameters)[flows.of_row]
    plain = offer.parts_of((0,) * len(offer.sizes))
    for place, slot in enumerate(offer.slots):
        same = [
            not fixed_differences(spec_of({**plain, slot: part}), surface.base)
            for part in offer.members[slot]
        ]
        inside &= np.array(same)[rows[:, place]]
    return np.asarray(inside)


def _group_table(
    offer: Offer,
    rows: Members,
    places: tuple[int, ...],
    spec_of: SpecOf,
    air: Ambient,
    own: NDArray[np.bool_],
    plain: Mapping[Slot, Part],
) -> tuple[NDArray[np.intp], FloatArray]:
    """Return which case of a group each row is, and the group's parameters in each case."""
    sizes = [offer.sizes[place] for place in places]
    code = np.ravel_multi_index([rows[:, place] for place in places], sizes)
    occurs = np.zeros(int(np.prod(sizes)), dtype=bool)
    occurs[code] = True
    cases = np.flatnonzero(occurs)
    table = np.empty((cases.size, int(own.sum())))
    for number, case in enumerate(cases):
        members = np.unravel_index(case, sizes)
        parts = {
            offer.slots[place]: offer.members[offer.slots[place]][int(member)]
            for place, member in zip(places, members, strict=True)
        }
        table[number] = parameters_of(spec_of({**plain, **parts}), air)[own]
    return (np.cumsum(occurs) - 1)[code], table


def _rounded(table: FloatArray) -> FloatArray:
    """Round to significant digits, so that the last bits of a sum do not make two of one."""
    size = np.where(table == 0.0, 1.0, np.abs(table))
    scale = 10.0 ** (DIGITS - 1 - np.floor(np.log10(size)))
    return np.asarray(np.round(table * scale) / scale)
