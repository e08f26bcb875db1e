from dataclasses import replace

from service.catalog.interfaces import Interface, InterfaceKind
from service.catalog.parts import Part, PartStatus
from service.catalog.rules import RuleSeverity
from service.catalog.slots import Slot
from service.fitup.changes import Alternatives
from service.fitup.findings import Finding
from service.fitup.interfaces import interface_findings, opening_findings
from service.fitup.subject import FitSubject
from tests.factories import NEEDS, PROVIDES
from tests.fitup.subjects import make_subject, shop_part

WIDE = Interface(kind=InterfaceKind.THROTTLE_FLANGE, code="heron-wide")
NARROW_DRIVE = Interface(kind=InterfaceKind.THROTTLE_DRIVE, code="cable")


def wide_throttle(sku: str = "TERN") -> Part:
    """A throttle body that needs a flange which the factory manifold has not."""
    return shop_part(Slot.THROTTLE_BODY, sku, needs=(WIDE, NARROW_DRIVE))


def wide_manifold(sku: str, price_cents: int) -> Part:
    """A manifold that offers the wide flange and all else that the factory's offers."""
    return shop_part(
        Slot.INTAKE_MANIFOLD,
        sku,
        provides=(*PROVIDES[Slot.INTAKE_MANIFOLD][1:], WIDE),
        price_cents=price_cents,
    )


def only_finding(subject: FitSubject, alternatives: Alternatives) -> Finding:
    (finding,) = interface_findings(subject, alternatives)
    return finding


def test_a_need_that_nobody_offers_blocks_and_says_what_is_offered_instead() -> None:
    finding = only_finding(make_subject(wide_throttle()), {})

    assert finding.code == "interface.throttle_flange"
    assert finding.severity is RuleSeverity.BLOCKS
    assert finding.parts == ("TERN",)
    assert "heron-wide" in finding.reason
    assert "quay-single" in finding.reason


def test_without_a_swap_the_remedy_is_an_adapter() -> None:
    assert "adapter" in only_finding(make_subject(wide_throttle()), {}).remedy


def test_the_remedy_is_the_cheapest_single_part() -> None:
    alternatives = {
        Slot.INTAKE_MANIFOLD: (wide_manifold("HERON", 90_000), wide_manifold("BITTERN", 80_000)),
    }

    finding = only_finding(make_subject(wide_throttle()), alternatives)

    assert finding.remedy == "Swap the intake manifold for BITTERN."


def test_a_cheaper_change_of_two_parts_does_not_beat_one_part() -> None:
    needs_rail = Interface(kind=InterfaceKind.FUEL_RAIL, code="low-rail")
    cheap = replace(
        wide_manifold("PLOVER", 100),
        provides=(
            *wide_manifold("PLOVER", 100).provides[:1],
            needs_rail,
            WIDE,
            *PROVIDES[Slot.INTAKE_MANIFOLD][3:],
        ),
    )
    low = shop_part(
        Slot.INJECTORS,
        "LOW",
        needs=(NEEDS[Slot.INJECTORS][0], needs_rail, NEEDS[Slot.INJECTORS][2]),
        price_cents=100,
    )
    alternatives: Alternatives = {
        Slot.INTAKE_MANIFOLD: (cheap, wide_manifold("HERON", 90_000)),
        Slot.INJECTORS: (low,),
    }

    with_both = only_finding(make_subject(wide_throttle()), alternatives)
    with_cheap = only_finding(
        make_subject(wide_throttle()), {Slot.INTAKE_MANIFOLD: (cheap,), Slot.INJECTORS: (low,)}
    )

    assert with_both.remedy == "Swap the intake manifold for HERON."
    assert with_cheap.remedy == "Swap the injectors for LOW and the intake manifold for PLOVER."


def test_going_back_to_a_part_that_fits_is_a_change_too() -> None:
    other = shop_part(Slot.THROTTLE_BODY, "GULL", price_cents=1)

    finding = only_finding(make_subject(wide_throttle()), {Slot.THROTTLE_BODY: (other,)})

    assert finding.remedy == "Swap the throttle body for GULL."


def test_a_swap_that_opens_another_need_is_not_named() -> None:
    without_egr = replace(
        wide_manifold("HERON", 100),
        provides=tuple(
            one
            for one in wide_manifold("HERON", 100).provides
            if one.kind is not InterfaceKind.EGR_PORT
        ),
    )

    finding = only_finding(make_subject(wide_throttle()), {Slot.INTAKE_MANIFOLD: (without_egr,)})

    assert "HERON" not in finding.remedy


def test_parts_of_another_engine_or_no_longer_offered_are_not_named() -> None:
    alternatives = {
        Slot.INTAKE_MANIFOLD: (
            replace(wide_manifold("HERON", 1), families=("orrin-4-4",)),
            replace(wide_manifold("BITTERN", 1), status=PartStatus.WITHDRAWN),
        ),
    }

    remedy = only_finding(make_subject(wide_throttle()), alternatives).remedy

    assert "HERON" not in remedy
    assert "BITTERN" not in remedy


def test_an_optional_need_may_stay_open() -> None:
    vacuum = Interface(kind=InterfaceKind.VACUUM_PORT, code="servo", optional=True)
    inlet = shop_part(Slot.AIR_INLET, "GULL", needs=(*NEEDS[Slot.AIR_INLET], vacuum))

    finding = only_finding(make_subject(inlet), {})

    assert finding.severity is RuleSeverity.NOTES


def test_a_need_of_the_engine_itself_counts() -> None:
    """The demo engine wants its EGR valve connected; this manifold has no port for it."""
    manifold = shop_part(Slot.INTAKE_MANIFOLD, "HERON", provides=PROVIDES[Slot.INTAKE_MANIFOLD][:3])

    finding = only_finding(make_subject(manifold), {})

    assert finding.code == "interface.egr_port"
    assert finding.parts == ()


def test_a_part_does_not_close_its_own_need() -> None:
    selfish = shop_part(
        Slot.THROTTLE_BODY,
        "TERN",
        needs=(WIDE, NARROW_DRIVE),
        provides=(*PROVIDES[Slot.THROTTLE_BODY], WIDE),
    )

    assert only_finding(make_subject(selfish), {}).severity is RuleSeverity.BLOCKS


def test_a_blocking_step_names_both_parts_to_swap_where_neither_alone_is_enough() -> None:
    """102 over 80 blocks; 90 over 80 and 102 over 90 block too (21 % and 22 % of area)."""
    huge = shop_part(Slot.THROTTLE_BODY, "TERN", spec={"bore_mm": 102.0})
    middle = shop_part(Slot.THROTTLE_BODY, "GULL", spec={"bore_mm": 90.0})
    manifold = shop_part(Slot.INTAKE_MANIFOLD, "HERON", spec={"throttle_bore_mm": 90.0})

    (finding,) = opening_findings(
        make_subject(huge), {Slot.THROTTLE_BODY: (middle,), Slot.INTAKE_MANIFOLD: (manifold,)}
    )

    assert finding.remedy == "Swap the throttle body for GULL and the intake manifold for HERON."
