from datetime import UTC, datetime, timedelta

import pytest
from sqlmodel import Session, func, select

from service.catalog.families import FamilyNotFound
from service.catalog.parts import PartNotFound, PartStatus, SkuTaken
from service.catalog.search import PartFilter, PartOrder
from service.catalog.slots import KIT_SLOTS, Slot, UseClass
from service.catalog.store.families import add_family, load_family, put_families, save_family
from service.catalog.store.index import load_index
from service.catalog.store.lists import find_families, find_parts
from service.catalog.store.parts import (
    add_part,
    find_family_parts,
    load_part,
    load_parts,
    put_parts,
    save_part,
)
from service.catalog.store.rules import add_rule, find_family_rules
from service.catalog.tables import PartRow
from service.compliance.store import add_document, find_documents_about
from service.errors import InvalidInput, StaleVersion
from service.revision import load_catalog_revision
from service.stored import Written
from tests.factories import (
    FAMILY_KEY,
    make_document,
    make_family,
    make_kit_parts,
    make_part,
    make_rule,
    stock_sku,
)


@pytest.fixture
def stocked(session: Session) -> Session:
    """The factory kit of one family, the family pointing at it."""
    add_family(session, make_family(stock_parts={}))
    for part in make_kit_parts().values():
        add_part(session, part)
    save_family(session, make_family(), version=1)
    return session


def test_values_come_back_as_they_were_put_in(stocked: Session) -> None:
    assert load_family(stocked, FAMILY_KEY).value == make_family()
    for slot in KIT_SLOTS:
        assert load_part(stocked, stock_sku(slot)).value == make_part(slot)


def test_a_new_value_has_version_one_and_the_present_time_in_utc(session: Session) -> None:
    family = add_family(session, make_family(stock_parts={}))

    assert family.version == 1
    assert family.updated_at.tzinfo is UTC
    assert abs(datetime.now(UTC) - family.updated_at) < timedelta(minutes=1)


def test_the_index_holds_every_key_and_what_it_points_at(stocked: Session) -> None:
    index = load_index(stocked)

    assert index.stock_parts == {FAMILY_KEY: make_family().stock_parts}
    assert {sku: (p.slot, p.families) for sku, p in index.parts.items()} == {
        stock_sku(slot): (slot, (FAMILY_KEY,)) for slot in KIT_SLOTS
    }


def test_a_second_part_with_the_same_sku_is_refused_and_one_row_stays(stocked: Session) -> None:
    with pytest.raises(SkuTaken):
        add_part(stocked, make_part(Slot.CAMSHAFT, title="Another"))

    same = select(func.count()).where(PartRow.sku == stock_sku(Slot.CAMSHAFT))
    assert stocked.exec(same).one() == 1
    assert load_part(stocked, stock_sku(Slot.CAMSHAFT)).value == make_part(Slot.CAMSHAFT)


def test_a_family_may_not_name_a_part_that_is_not_there(session: Session) -> None:
    with pytest.raises(InvalidInput) as caught:
        add_family(session, make_family(stock_parts={Slot.CAMSHAFT: "NOBODY"}))

    assert [problem.pointer for problem in caught.value.problems] == ["/stock_parts/camshaft"]


def test_a_part_may_not_name_a_family_that_is_not_there(session: Session) -> None:
    with pytest.raises(InvalidInput) as caught:
        add_part(session, make_part())

    assert [problem.pointer for problem in caught.value.problems] == ["/families/0"]


def test_a_change_raises_the_version_and_a_stale_one_is_refused(stocked: Session) -> None:
    dearer = make_part(Slot.CAMSHAFT, price_cents=40_000)

    saved = save_part(stocked, dearer, version=1)

    assert (saved.value, saved.version) == (dearer, 2)
    with pytest.raises(StaleVersion):
        save_part(stocked, dearer, version=1)


def test_writing_the_same_again_keeps_version_and_revision(stocked: Session) -> None:
    before = load_catalog_revision(stocked)

    saved = save_part(stocked, make_part(Slot.CAMSHAFT), version=1)

    assert saved.version == 1
    assert load_catalog_revision(stocked) == before


def test_every_write_to_the_catalogue_raises_its_revision(stocked: Session) -> None:
    seen = [load_catalog_revision(stocked)]

    add_rule(stocked, make_rule())
    seen.append(load_catalog_revision(stocked))
    add_document(stocked, make_document())
    seen.append(load_catalog_revision(stocked))
    save_part(stocked, make_part(Slot.CAMSHAFT, stock_count=0), version=1)
    seen.append(load_catalog_revision(stocked))
    save_family(stocked, make_family(title="Quay"), version=2)
    seen.append(load_catalog_revision(stocked))

    assert seen == sorted(set(seen))


def test_a_bulk_write_says_what_it_made_changed_and_left(stocked: Session) -> None:
    parts = [make_part(), make_part(Slot.CAMSHAFT, title="New"), make_part(sku="EXTRA")]

    assert put_parts(stocked, parts) == Written(created=1, updated=1, unchanged=1)


def test_unknown_keys_raise_the_error_that_names_them(session: Session) -> None:
    with pytest.raises(FamilyNotFound, match="nowhere"):
        load_family(session, "nowhere")
    with pytest.raises(PartNotFound, match="NOBODY"):
        load_parts(session, ["NOBODY"])


def test_parts_of_a_family_are_the_current_ones_that_list_it(stocked: Session) -> None:
    put_families(stocked, [make_family(key="orrin-4-4", stock_parts={})])
    put_parts(
        stocked,
        [
            make_part(sku="OTHER", families=("orrin-4-4",)),
            make_part(sku="BOTH", families=("orrin-4-4", FAMILY_KEY)),
            make_part(sku="GONE", status=PartStatus.WITHDRAWN),
        ],
    )

    skus = {part.value.sku for part in find_family_parts(stocked, FAMILY_KEY)}

    assert skus == {"BOTH", *(stock_sku(slot) for slot in KIT_SLOTS)}


def test_rules_of_a_family_are_its_own_and_those_for_all(stocked: Session) -> None:
    put_families(stocked, [make_family(key="orrin-4-4", stock_parts={})])
    for key, families in (("all", ()), ("mine", (FAMILY_KEY,)), ("not-mine", ("orrin-4-4",))):
        add_rule(stocked, make_rule(key=key, families=families))

    assert [rule.key for rule in find_family_rules(stocked, FAMILY_KEY)] == ["all", "mine"]


def test_documents_are_found_by_any_reference_that_their_scope_names(session: Session) -> None:
    document = add_document(session, make_document()).value

    assert find_documents_about(session, [document.scope[0].part_references[0]]) == [document]
    assert find_documents_about(session, ["REF-OTHER"]) == []


@pytest.mark.parametrize(
    ("wanted", "skus"),
    [
        (PartFilter(slot=Slot.CAMSHAFT), {"QUAY-CAMSHAFT", "CAM-2"}),
        (PartFilter(family="orrin-4-4"), {"CAM-2"}),
        (PartFilter(status=PartStatus.WITHDRAWN), {"CAM-2"}),
        (PartFilter(in_stock=False), {"CAM-2"}),
        (PartFilter(slot=Slot.CAMSHAFT, in_stock=True), {"QUAY-CAMSHAFT"}),
        (PartFilter(max_price_cents=14_900), {"QUAY-AIR-INLET"}),
        (PartFilter(max_price_cents=14_900, currency="EUR"), {"CAM-2"}),
        (PartFilter(words="ref-quay-cam FACTORY"), {"QUAY-CAMSHAFT"}),
        (PartFilter(words="größe"), {"CAM-2"}),
        (PartFilter(words="100%"), {"CAM-2"}),
        (PartFilter(words="_"), set()),
    ],
)
def test_each_filter_leaves_the_parts_that_it_names(
    stocked: Session, wanted: PartFilter, skus: set[str]
) -> None:
    put_families(stocked, [make_family(key="orrin-4-4", stock_parts={})])
    other = make_part(
        Slot.CAMSHAFT,
        sku="CAM-2",
        title="Große GRÖSSE 100%",
        maker_reference="GRÖßE",
        families=("orrin-4-4",),
        status=PartStatus.WITHDRAWN,
        stock_count=0,
        price_cents=100,
        currency="EUR",
    )
    put_parts(stocked, [other])

    assert {part.value.sku for part in find_parts(stocked, wanted)} == skus


def test_parts_that_tie_are_all_seen_once_whatever_comes_in_between(stocked: Session) -> None:
    put_parts(stocked, [make_part(sku=f"TIE-{n}", price_cents=500) for n in range(7)])
    seen: list[str] = []
    after: tuple[str | int, str] | None = None

    while page := find_parts(stocked, PartFilter(), order=PartOrder.PRICE, after=after, limit=3):
        seen += [part.value.sku for part in page]
        last = page[-1].value
        after = (last.price_cents, last.sku)
        put_parts(stocked, [make_part(sku=f"TIE-0-LATE-{len(seen)}", price_cents=500)])

    early = [sku for sku in seen if "LATE" not in sku]
    assert early[:7] == [f"TIE-{n}" for n in range(7)]
    assert len(early) == len(set(early)) == 7 + len(KIT_SLOTS)


@pytest.mark.parametrize("order", list(PartOrder))
def test_lists_go_by_code_point_on_every_engine(stocked: Session, order: PartOrder) -> None:
    titles = ["a", "B", "Z", "é", "-b", "_c"]
    put_parts(stocked, [make_part(sku=f"S{n}", title=t) for n, t in enumerate(titles)])

    parts = [part.value for part in find_parts(stocked, PartFilter(), order=order)]

    assert parts == sorted(parts, key=lambda part: (order.key(part), part.sku))


def test_families_are_found_by_the_use_that_they_were_built_for(session: Session) -> None:
    add_family(session, make_family(key="boat", stock_parts={}, use_classes=(UseClass.MARINE,)))
    add_family(session, make_family(key="truck", stock_parts={}, use_classes=(UseClass.ROAD,)))

    assert [f.value.key for f in find_families(session, use=UseClass.MARINE)] == ["boat"]
    assert [f.value.key for f in find_families(session, after="boat")] == ["truck"]
