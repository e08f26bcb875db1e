"""The range that a family's catalogue asks of its surface."""

from dataclasses import replace

import numpy as np
import pytest

from service.catalog.interfaces import Interface, InterfaceKind
from service.catalog.slots import KIT_SLOTS, Slot
from service.engine.design import is_inside, outside, space_filling
from service.engine.parameters import INDEX, PARAMETERS, fixed_differences, parameters_of
from service.kits.translation import engine_spec
from service.surfaces.catalogue import (
    GROUPS,
    NoFactoryKit,
    catalogue_engines,
    engines_between,
    family_airflow,
    swaps,
)
from service.surfaces.fitting import design_of
from tests.factories import make_family
from tests.kits.assembled import STANDARD_AIR, assembled
from tests.seed import FAMILIES, OPEN_KIT, QUAY_BIG, STOCK_LOOK_KIT, families, of
from tests.surfaces.made import LONG_RUNNERS, airflow, catalogue


@pytest.mark.parametrize("chosen", [{}, OPEN_KIT, STOCK_LOOK_KIT])
def test_kits_of_the_demo_lie_inside_the_range_of_their_catalogue(chosen: dict[Slot, str]) -> None:
    """Parts that only meet in the kit are covered too: no parameter knows more than a group."""
    parts = {slot: of(QUAY_BIG, slot) for slot in KIT_SLOTS}
    found = family_airflow(families()[QUAY_BIG], parts)
    spec = engine_spec(assembled(QUAY_BIG, chosen))

    assert is_inside(found.box, parameters_of(spec, STANDARD_AIR)[None, :]).all()
    assert fixed_differences(spec, found.base) == {}


@pytest.mark.parametrize("family", FAMILIES)
def test_no_part_of_the_demo_changes_what_no_parameter_carries(family: str) -> None:
    base = engine_spec(assembled(family))

    for slot in KIT_SLOTS:
        for part in of(family, slot):
            spec = engine_spec(assembled(family, {slot: part.sku}))
            assert fixed_differences(spec, base) == {}, part.sku


def test_the_range_reaches_from_part_to_part_and_a_margin_beyond() -> None:
    at = INDEX["runner_length"]
    port = catalogue()[Slot.CYLINDER_HEADS][0].spec.intake.port_length_mm  # type: ignore[union-attr]

    assert 0.95 * (330.0 + port) < 1e3 * airflow().box.low[at] < 330.0 + port
    assert 430.0 + port < 1e3 * airflow().box.high[at] < 1.05 * (430.0 + port)


def test_parts_that_ask_each_other_for_another_joint_are_not_tried_together() -> None:
    parts = catalogue()
    (body,) = parts[Slot.THROTTLE_BODY]
    wider = Interface(kind=InterfaceKind.THROTTLE_FLANGE, code="of another engine")
    alien = replace(body, sku="THROTTLE-ALIEN", needs=(wider,))

    group = (Slot.THROTTLE_BODY, Slot.INTAKE_MANIFOLD)
    tried = list(swaps({**parts, Slot.THROTTLE_BODY: (body, alien)}, group))

    assert {swap[Slot.THROTTLE_BODY].sku for swap in tried} == {body.sku}
    assert LONG_RUNNERS in {swap[Slot.INTAKE_MANIFOLD].sku for swap in tried}


def test_every_parameter_but_the_air_belongs_to_one_group() -> None:
    owners = [
        [group for group, begins in GROUPS.items() if parameter.name.startswith(begins)]
        for parameter in PARAMETERS
        if parameter.name not in ("dry_pressure", "temperature")
    ]

    assert all(len(groups) == 1 for groups in owners)


@pytest.mark.parametrize("family", FAMILIES)
def test_a_part_moves_the_parameters_of_its_groups_only(family: str) -> None:
    stock = parameters_of(engine_spec(assembled(family)), STANDARD_AIR)

    for slot in KIT_SLOTS:
        own = tuple(name for group, names in GROUPS.items() if slot in group for name in names)
        for part in of(family, slot):
            row = parameters_of(engine_spec(assembled(family, {slot: part.sku})), STANDARD_AIR)
            moved = [
                parameter.name
                for parameter, before, after in zip(PARAMETERS, stock, row, strict=True)
                if after != pytest.approx(before, rel=1e-12)
            ]
            assert all(name.startswith(own) for name in moved), (part.sku, moved)


def test_the_digest_follows_the_airflow_and_nothing_else() -> None:
    parts = catalogue()
    dearer = tuple(replace(part, price_cents=1) for part in parts[Slot.CAMSHAFT])
    without = {**parts, Slot.INTAKE_MANIFOLD: parts[Slot.INTAKE_MANIFOLD][:1]}

    digests = [
        family_airflow(make_family(), changed).digest
        for changed in (parts, {**parts, Slot.CAMSHAFT: dearer}, without)
    ]

    assert digests[0] == digests[1] != digests[2]


def test_a_family_without_a_factory_kit_says_so() -> None:
    with pytest.raises(NoFactoryKit, match="factory part in every slot"):
        family_airflow(make_family(stock_parts={}), catalogue())


def test_engines_drawn_from_the_catalogue_have_each_group_from_parts_that_go_together() -> None:
    found = catalogue_engines(airflow(), 256, np.random.default_rng(0))

    assert is_inside(airflow().box, found).all()
    for own, rows in airflow().groups:
        known = {tuple(row) for row in rows[:, own]}
        assert {tuple(row) for row in found[:, own]} == known


@pytest.mark.parametrize("family", FAMILIES)
def test_every_engine_of_a_design_is_inside_the_range_that_it_stands_for(family: str) -> None:
    found = family_airflow(families()[family], {slot: of(family, slot) for slot in KIT_SLOTS})

    assert is_inside(found.box, design_of(found).rows).all()


def test_engines_between_parts_fill_the_way_and_little_beside_it() -> None:
    """Two manifolds of 330 and 430 mm: any length from one to the other, 5 % of it beyond."""
    even = space_filling(airflow().box, 256, np.random.default_rng(1))
    at = INDEX["runner_length"]
    ends = sorted({row[at] for _, rows in airflow().groups for row in rows})

    lengths = engines_between(airflow(), even, np.random.default_rng(2))[:, at]

    past = (lengths - ends[0]) / (ends[-1] - ends[0])
    assert -0.07 < past.min() < 0.0
    assert 1.0 < past.max() < 1.07
    assert np.histogram(past, bins=4, range=(0.0, 1.0))[0].min() > 16


def test_figures_that_no_part_has_together_are_outside() -> None:
    """The camshafts of the demo get longer and higher at once: long and low is like none."""
    found = family_airflow(families()[QUAY_BIG], {slot: of(QUAY_BIG, slot) for slot in KIT_SLOTS})
    rows = found.rows
    shortest, longest = (
        rows[place]
        for place in (
            rows[:, INDEX["intake_duration"]].argmin(),
            rows[:, INDEX["intake_duration"]].argmax(),
        )
    )
    mongrel = longest.copy()
    for name in ("intake_fullness", "exhaust_fullness", "exhaust_excess_duration"):
        mongrel[INDEX[name]] = shortest[INDEX[name]]

    assert is_inside(found.box, np.array([shortest, longest])).all()
    assert not is_inside(found.box, mongrel[None, :]).any()
    (odd,) = outside(found.box, mongrel)
    assert odd.name.startswith(("intake_", "exhaust_"))
    assert not odd.low <= odd.value <= odd.high
    assert found.box.low[INDEX[odd.name]] <= odd.value <= found.box.high[INDEX[odd.name]]


def test_half_of_a_design_is_drawn_from_the_catalogue_and_half_lies_between() -> None:
    design = design_of(airflow(), engines=64)
    own, rows = airflow().groups[2]
    from_parts = [
        tuple(row) in {tuple(each) for each in rows[:, own]} for row in design.rows[:, own]
    ]

    assert from_parts == [True] * 32 + [False] * 32
    assert np.unique(design.rows[:, INDEX["dry_pressure"]]).size == 64
