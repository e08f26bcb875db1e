"""Gaskets and bolts of the joints that a kit opens, on the demo catalogue.

Thread data and stripping rules are those of the reference rows X6, X9, X12 and L1 to L5; the
checks work with the true sizes, one by one, where the service works with their ranges.
"""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.catalog.layouts import BoltedFlange
from service.catalog.parts import Part
from service.catalog.rules import RuleSeverity
from service.catalog.slots import Slot
from service.catalog.supplies import FastenersSpec, GasketsSpec, GasketStyle, JointPlace, Locating
from service.fitup.bolted import OpenedJoint, opened_joints
from service.fitup.bolting import bolts_that_fit, bolts_tried, tapped_into
from service.fitup.findings import Finding
from service.fitup.joint_findings import (
    joint_findings,
    stated_torques_agree,
)
from service.fitup.machined import (
    BankAsMachined,
    EngineAsMachined,
    HeadGasket,
    HolesAsFound,
    Unknown,
)
from service.fitup.moved import manifold_finds_its_place
from service.fitup.stated_torques import StatedTorque
from service.fitup.subject import FitSubject
from service.kits.kit import EngineAsItStands
from service.kits.views import fit_subject
from tests.kits.assembled import assembled, supplies
from tests.seed import OPEN_KIT, QUAY_BIG, STOCK_LOOK_KIT

UNKNOWN = Unknown.UNKNOWN
SHOP = supplies(QUAY_BIG)


def subject_with(bank: BankAsMachined | None = None, **engine: Any) -> FitSubject:  # noqa: ANN401 - any field of an engine as machined.
    """The factory's engine with its iron heads, one bank told of."""
    machined = EngineAsMachined(right=bank or BankAsMachined(), **engine)
    return fit_subject(assembled(QUAY_BIG, engine=EngineAsItStands(machined=machined)))


def intake(subject: FitSubject, shop: tuple[Part, ...] = SHOP) -> OpenedJoint:
    places = {one.place: one for one in opened_joints(subject, shop)}
    return places[JointPlace.INTAKE_MANIFOLD]


def by_code(findings: tuple[Finding, ...]) -> dict[str, Finding]:
    return {finding.code: finding for finding in findings}


def lengths(subject: FitSubject) -> set[str]:
    joint = intake(subject)
    return {bolt.part.sku for bolt in bolts_that_fit(subject, joint, SHOP)}


def bolts_of(subject: FitSubject, place: JointPlace, shop: tuple[Part, ...] = SHOP) -> set[str]:
    joint = next(one for one in opened_joints(subject, shop) if one.place is place)
    return {bolt.part.sku for bolt in bolts_that_fit(subject, joint, shop)}


def hard_bolts() -> tuple[Part, ...]:
    """Bolts of class 10.9 that the shop does not keep, long enough for deep holes."""
    like = next(part for part in SHOP if part.sku == "SHOP-BOLT-M8-50-HARD")
    assert isinstance(like.spec, FastenersSpec)
    return tuple(
        replace(like, sku=f"HARD-{length}", spec=replace(like.spec, length_mm=float(length)))
        for length in range(35, 85, 5)
    )


HOLES = st.fixed_dictionaries(
    {
        "pitches_lost": st.integers(0, 3),
        "full_thread_mm": st.none() | st.floats(18.0, 50.0),
        "drilled_mm": st.none() | st.floats(24.0, 60.0),
    }
)
WITHIN = st.floats(-1.0, 1.0)
M8_PITCH, M8_AREA, M8_SHEAR = 1.25, 36.609, 16.829
"""X6 and T2: pitch [mm], stress area [mm²], shear area [mm²/mm]."""
TENSILE = {"8.8": 800.0, "10.9": 1040.0}
"""X13 and X16: by class [MPa]."""
PROOF = {"8.8": 21_200.0, "10.9": 30_400.0}
"""T8: proof load of M8 by class [N]; As times Sp is within 1 % of it."""
G2500_SHEAR = 213.7
"""X12: 31 ksi [MPa]."""
ALUMINIUM_SHEAR = 152.0
"""X12: 319-F [MPa]."""


@given(
    holes=HOLES,
    ends=st.tuples(WITHIN, WITHIN, WITHIN, WITHIN),
    cuts=st.tuples(st.floats(0.0, 0.7), st.floats(0.0, 0.7)),
    shear=st.sampled_from((G2500_SHEAR, ALUMINIUM_SHEAR)),
)
def test_no_bolt_that_is_named_bottoms_or_strips_within_its_tolerances(
    holes: dict[str, Any], ends: tuple[float, ...], cuts: tuple[float, float], shear: float
) -> None:
    """Sizes anywhere within tolerance: ±.5 mm of length, flange and both depths."""
    side_cut, face_cut = cuts
    bank = BankAsMachined(
        intake_holes=HolesAsFound(**holes),
        manifold_side_cut_mm=side_cut,
        intake_face_cut_mm=face_cut,
    )
    subject = subject_with(bank)
    if shear == ALUMINIUM_SHEAR:
        other = fit_subject(assembled(QUAY_BIG, OPEN_KIT)).parts[Slot.CYLINDER_HEADS]
        subject = replace(subject, parts={**subject.parts, Slot.CYLINDER_HEADS: other})
    shop = (*SHOP, *hard_bolts())
    joint = intake(subject, shop)
    length_end, flange_end, full_end, drill_end = (0.5 * end for end in ends)
    # The layout of the demo: flange 20, washer 2, gasket 1.2, thread 26, drill 32, countersink 1.
    gasket = 1.2 if joint.gaskets else 1.6 if flange_end > 0 else 0.3
    grip = 20.0 + flange_end + 2.0 + gasket - side_cut
    full = (holes["full_thread_mm"] or 26.0 - face_cut) + full_end
    drilled = (holes["drilled_mm"] or 32.0 - face_cut) + drill_end
    for bolt in bolts_that_fit(subject, joint, shop):
        assert isinstance(bolt.part.spec, FastenersSpec)
        grade = bolt.part.spec.property_class.value
        reach = bolt.part.spec.length_mm + length_end - grip
        lost = max(0.5, holes["pitches_lost"] * M8_PITCH)
        engaged = min(reach - 2.0 * M8_PITCH, full) - lost
        strips_at = shear * M8_SHEAR * engaged

        assert reach <= drilled - M8_PITCH + 1e-9
        assert reach <= full + 2.0 * M8_PITCH + 1e-9
        assert strips_at > M8_AREA * TENSILE[grade]
        assert min(strips_at, 1.01 * PROOF[grade]) > bolt.advice.preload_n.high


def test_a_hard_bolt_asks_for_a_deeper_hole_and_finds_it() -> None:
    """Formula 16 (X9, X10) goes with strength: 20.2 mm for 8.8 into UTS 172 are 26.3 for 10.9."""
    hard = hard_bolts()
    assert bolts_of(subject_with(), JointPlace.INTAKE_MANIFOLD, hard) == set()

    deep = BankAsMachined(intake_holes=HolesAsFound(full_thread_mm=40.0, drilled_mm=46.0))
    joint = intake(subject_with(deep), hard)
    first = bolts_that_fit(subject_with(deep), joint, hard)[0]
    assert first.needed_mm == pytest.approx(20.2 * 1040.0 / 800.0, abs=0.1)
    assert first.advice.preload_n.high <= 30_400.0


@given(holes=HOLES, name=st.sampled_from(("pitches_lost", "full_thread_mm", "drilled_mm")))
def test_what_is_not_known_of_a_hole_lets_no_more_bolts_through(
    holes: dict[str, Any], name: str
) -> None:
    """A hole counts as anything from one diameter deep to as drawn."""
    known = {**holes, "full_thread_mm": 20.0, "drilled_mm": 28.0}
    measured = subject_with(BankAsMachined(intake_holes=HolesAsFound(**known)))
    untold = subject_with(BankAsMachined(intake_holes=HolesAsFound(**{**known, name: UNKNOWN})))

    assert lengths(untold) <= lengths(measured)


def test_lost_threads_ask_for_a_longer_bolt_or_a_repair() -> None:
    """20.2 mm are needed (X10 scaled to UTS 172): M8 x 50 holds 22.8 clean, 20.8 with two lost."""
    assert "SHOP-BOLT-M8-50" in lengths(subject_with())

    worn = subject_with(BankAsMachined(intake_holes=HolesAsFound(pitches_lost=3)))
    found = by_code(joint_findings(worn, SHOP))
    assert lengths(worn) == set()
    told = found["bolts.intake_manifold.none_fits"]
    assert told.severity is RuleSeverity.WARNS
    assert "SHOP-BOLT-M8-55 would run into incomplete threads" in told.reason
    assert "SHOP-BOLT-M8-45 too short to hold" in told.reason


def test_an_insert_of_unknown_length_counts_as_one_diameter() -> None:
    insert = HolesAsFound(repaired_insert=True)
    assert lengths(subject_with(BankAsMachined(intake_holes=insert))) == set()

    long_insert = HolesAsFound(repaired_insert=True, full_thread_mm=26.0)
    assert "SHOP-BOLT-M8-50" in lengths(subject_with(BankAsMachined(intake_holes=long_insert)))


@pytest.mark.parametrize(
    ("place", "told"),
    [
        (
            JointPlace.EXHAUST_MANIFOLD,
            {"right": BankAsMachined(exhaust_holes=HolesAsFound(pitches_lost=6))},
        ),
        (JointPlace.THROTTLE_BODY, {"throttle_holes": HolesAsFound(pitches_lost=4)}),
        (JointPlace.THROTTLE_BODY, {"throttle_holes": HolesAsFound(repaired_insert=True)}),
        (JointPlace.THROTTLE_BODY, {"throttle_holes": HolesAsFound(drilled_mm=UNKNOWN)}),
    ],
)
def test_threads_of_every_joint_are_taken_as_found(place: JointPlace, told: dict[str, Any]) -> None:
    clean = fit_subject(assembled(QUAY_BIG, OPEN_KIT))
    machined = EngineAsMachined(**{"right": BankAsMachined(), **told})
    found = replace(clean, machined=machined)

    assert bolts_of(clean, place)
    assert bolts_of(found, place) < bolts_of(clean, place)


def with_flange(**flange: Any) -> FitSubject:  # noqa: ANN401 - any field of a flange.
    """The factory's manifold, a flange of its own on it."""
    subject = subject_with()
    own = BoltedFlange(pattern="quay eight bolt", **flange)
    manifold = replace(subject.parts[Slot.INTAKE_MANIFOLD], flanges=(own,))
    return replace(subject, parts={**subject.parts, Slot.INTAKE_MANIFOLD: manifold})


def test_a_bead_in_its_groove_keeps_no_faces_apart() -> None:
    """Grip is flange and washer then: the bolt goes 1.2 mm deeper than with the demo's sheet."""
    like = next(part for part in SHOP if part.sku == "Q76-GASKET-OSIER")
    assert isinstance(like.spec, GasketsSpec)
    spec = replace(like.spec, style=GasketStyle.BEAD, free_mm=3.53, compressed_mm=2.65)
    bead = replace(like, sku="BEAD", spec=spec)
    bolts = tuple(part for part in SHOP if part.slot is Slot.FASTENERS)
    deep = {}
    for gasket in (like, bead):
        shop = (gasket, *bolts)
        joint = intake(subject_with(), shop)
        (fit, *_) = next(
            one for one in bolts_tried(subject_with(), joint, shop) if "M8-50" in one.part.sku
        ).fits
        deep[gasket.sku] = fit.penetration_mm.middle
    assert deep["BEAD"] - deep[like.sku] == pytest.approx(1.2)


def test_a_thicker_flange_of_a_part_takes_a_longer_bolt() -> None:
    """Grip grows by what the flange is thicker (L1 to L4): 5 mm more, a bolt 5 mm longer."""
    assert "SHOP-BOLT-M8-50" in lengths(subject_with())
    assert {sku for sku in lengths(with_flange(flange_mm=25.0)) if "COLLAR" not in sku} == {
        "SHOP-BOLT-M8-55"
    }


def test_a_head_that_finds_no_room_is_refused_for_a_narrower_one() -> None:
    """ISO 7089: a washer for M8 is 16 across; ISO 273: 1 mm of play. A flange of 18 needs 19."""
    assert "SHOP-BOLT-M8-55" in lengths(with_flange(flange_mm=25.0, head_room_mm=19.0))
    narrow = with_flange(flange_mm=25.0, head_room_mm=18.9)
    assert lengths(narrow) == {"SHOP-BOLT-M8-55-COLLAR"}

    told = by_code(joint_findings(with_flange(flange_mm=25.0, head_room_mm=16.9), SHOP))
    reason = told["bolts.intake_manifold.none_fits"].reason
    assert "SHOP-BOLT-M8-55 has a head too wide for its boss" in reason
    assert "SHOP-BOLT-M8-55-COLLAR stands on a washer too wide for its boss" in reason


def test_a_socket_that_finds_no_room_is_refused_too() -> None:
    """The demo's socket for these bolts is 17 mm outside, that of the collar bolt 15 mm."""
    assert "SHOP-BOLT-M8-50" in lengths(with_flange(socket_room_mm=18.0))
    assert lengths(with_flange(flange_mm=25.0, socket_room_mm=17.9)) == {"SHOP-BOLT-M8-55-COLLAR"}


def test_room_that_nobody_recorded_is_to_be_looked_at() -> None:
    bare = tuple(
        replace(part, spec=replace(part.spec, head_mm=None))
        if isinstance(part.spec, FastenersSpec)
        else part
        for part in SHOP
    )
    subject = subject_with()
    assert "dry first" in by_code(joint_findings(subject, bare))["bolts.intake_manifold"].remedy
    assert "dry first" not in by_code(joint_findings(subject, SHOP))["bolts.intake_manifold"].remedy


def test_a_choice_is_told_with_its_margins_and_its_torque_in_three_units() -> None:
    found = by_code(joint_findings(subject_with(), SHOP))["bolts.intake_manifold"]

    assert found.reason.startswith("SHOP-BOLT-M8-50 ")
    assert "Longer is not better: SHOP-BOLT-M8-50-HARD" not in found.reason
    assert "Longer is not better: SHOP-BOLT-M8-55 would run into incomplete threads" in found.reason
    assert "N·m (" in found.remedy
    assert "lbf·ft, " in found.remedy
    assert "lbf·in)" in found.remedy
    assert "a preload of" in found.remedy


def test_the_metal_of_the_heads_decides_what_is_tapped_into() -> None:
    open_kit = fit_subject(assembled(QUAY_BIG, OPEN_KIT))
    assert "aluminium" in tapped_into(open_kit, intake(open_kit).place).name
    factory_heads = subject_with()
    assert "iron" in tapped_into(factory_heads, intake(factory_heads).place).name


def test_a_joint_that_stays_closed_is_not_spoken_of() -> None:
    assert opened_joints(fit_subject(assembled(QUAY_BIG)), SHOP) == ()


@pytest.mark.parametrize(("mill", "starts"), [(0.57, True), (0.59, False), (UNKNOWN, False)])
def test_bolts_that_may_not_find_their_threads_are_spoken_of(
    mill: float | Unknown, *, starts: bool
) -> None:
    """G13: M8 in holes of 9.0 mm start until the heads have come down by 0.579 mm."""
    found = by_code(joint_findings(subject_with(BankAsMachined(head_mill_mm=mill)), SHOP))
    assert ("bolts.intake_manifold.do_not_start" not in found) is starts


def test_wider_holes_of_a_part_let_its_bolts_start() -> None:
    """G12 by its formula: half the play, 1 mm of a hole of 10 mm, against .86 mm a mm (1.2)."""
    subject = with_flange(bolt_hole_mm=10.0)
    machined = EngineAsMachined(right=BankAsMachined(head_mill_mm=1.1))
    assert "bolts.intake_manifold.do_not_start" not in by_code(
        joint_findings(replace(subject, machined=machined), SHOP)
    )


HEAD_GASKET = "Q76-GASKET-HOLM"
"""Of the demo: 1.00 mm compressed, as the factory's, and 110.5 mm wide on a bore of 108."""


@pytest.mark.parametrize(
    ("bank", "engine", "why"),
    [
        ({}, {}, None),
        ({"new_head_gasket": HeadGasket(compressed_mm=1.04)}, {}, None),
        ({"new_head_gasket": HeadGasket(compressed_mm=UNKNOWN)}, {}, None),
        ({"new_head_gasket": HeadGasket(compressed_mm=0.7)}, {}, "not as thick"),
        ({"old_head_gasket": HeadGasket(compressed_mm=1.3)}, {}, "not as thick"),
        ({}, {"left": BankAsMachined(new_head_gasket=HeadGasket(compressed_mm=0.7))}, "as thick"),
        ({}, {"overbore_mm": UNKNOWN}, None),
    ],
)
def test_a_head_gasket_is_the_one_that_the_ratio_was_reckoned_with(
    bank: dict[str, Any], engine: dict[str, Any], why: str | None
) -> None:
    subject = subject_with(BankAsMachined(**bank), **engine)
    (joint,) = [
        one for one in opened_joints(subject, SHOP) if one.place is JointPlace.CYLINDER_HEADS
    ]
    assert ({part.sku for part in joint.gaskets} == {HEAD_GASKET}) is (why is None)
    if why is not None:
        told = by_code(joint_findings(subject, SHOP))["gasket.cylinder_heads.none_fits"]
        assert why in told.reason


def test_a_head_gasket_narrower_than_the_cylinder_is_refused() -> None:
    """It would stand in the flame: 110.6 mm of bore on openings of 110.5."""
    subject = subject_with()
    for bore, fits in ((110.4, True), (110.6, False)):
        wide = replace(subject, bore_mm=bore)
        (joint,) = [
            one for one in opened_joints(wide, SHOP) if one.place is JointPlace.CYLINDER_HEADS
        ]
        assert bool(joint.gaskets) is fits


LUGS = "Q76-GASKET-SEDGE"


@pytest.mark.parametrize(
    ("engine", "bank", "why"),
    [
        ({"casting_generation": "first"}, {}, None),
        ({"casting_generation": "second"}, {}, "no recess"),
        ({}, {}, "not known whether"),
        ({}, {"locating_recess": True}, None),
        ({}, {"locating_recess": UNKNOWN}, "not known whether"),
        ({}, {"locating_recess": True, "intake_face_cut_mm": 0.05}, "machined face"),
        ({}, {"locating_recess": True, "intake_out_of_flat_mm": 0.3}, "out of flat"),
        ({}, {"locating_recess": True, "intake_out_of_flat_mm": UNKNOWN}, "out of flat"),
        ({}, {"locating_recess": True, "head_mill_mm": 0.3}, "further off"),
    ],
)
def test_a_gasket_with_lugs_is_refused_with_the_reason(
    engine: dict[str, Any], bank: dict[str, Any], why: str | None
) -> None:
    """.3 mm of mill is .26 mm of offset (G1) on holes that take .2; .25 mm is half its travel."""
    subject = subject_with(BankAsMachined(**bank), **engine)
    joint = intake(subject)
    fits = {part.sku for part in joint.gaskets}

    assert (LUGS in fits) is (why is None)
    if why is not None:
        codes = by_code(joint_findings(subject, SHOP))
        assert why in next(f for code, f in codes.items() if code.startswith("gasket.int")).reason


def test_where_only_lugs_are_in_the_way_cutting_them_off_is_offered() -> None:
    subject = subject_with(casting_generation="second")
    only = tuple(part for part in SHOP if part.sku == LUGS)

    assert (
        "Cut the lugs off"
        in by_code(joint_findings(subject, only))["gasket.intake_manifold.none_fits"].remedy
    )


def test_other_heads_than_the_factorys_do_not_have_its_recess() -> None:
    joint = intake(fit_subject(assembled(QUAY_BIG, STOCK_LOOK_KIT)))
    assert LUGS not in {part.sku for part in joint.gaskets}


def test_twelve_pound_feet_beside_a_hundred_and_twenty_pound_inches_are_named() -> None:
    """12 lbf·ft are 144 lbf·in: a foot has twelve inches."""
    stated = StatedTorque(joint=JointPlace.INTAKE_MANIFOLD, torque_lbft=12.0, torque_lbin=120.0)
    (told,) = stated_torques_agree(subject_with(stated_torques=(stated,)))

    assert told.severity is RuleSeverity.WARNS
    assert "12.0 lbf·ft, 144 lbf·in" in told.reason
    assert "10.0 lbf·ft, 120 lbf·in" in told.reason


def test_a_torque_alone_opens_no_joint_and_says_so_where_none_takes_it_up() -> None:
    stated = StatedTorque(joint=JointPlace.EXHAUST_MANIFOLD, torque_nm=30.0)
    subject = subject_with(stated_torques=(stated,))

    assert opened_joints(subject, SHOP) == ()
    (told,) = joint_findings(subject, SHOP)
    assert told.code == "torque.no_joint"
    assert "30.0 N·m" in told.reason


@given(foot_pounds=st.integers(5, 80))
def test_a_pair_that_is_one_torque_is_not_named(foot_pounds: int) -> None:
    stated = StatedTorque(
        joint=JointPlace.THROTTLE_BODY,
        torque_lbft=float(foot_pounds),
        torque_lbin=12.0 * foot_pounds,
    )
    assert stated_torques_agree(subject_with(stated_torques=(stated,))) == ()


def test_what_locates_the_manifold_is_spoken_of_once_the_heads_have_moved() -> None:
    milled = BankAsMachined(head_mill_mm=0.5)
    first = subject_with(milled, casting_generation="first")
    (told,) = manifold_finds_its_place(first)
    assert told.severity is RuleSeverity.WARNS
    assert "dowel" in told.reason

    assert manifold_finds_its_place(subject_with(milled, casting_generation="second")) == ()
    assert manifold_finds_its_place(subject_with(casting_generation="first")) == ()
    untold = subject_with(replace(milled, located_by=UNKNOWN))
    assert manifold_finds_its_place(untold)[0].severity is RuleSeverity.NOTES
    spigot = subject_with(replace(milled, located_by=Locating.SPIGOT))
    assert "spigot" in manifold_finds_its_place(spigot)[0].reason
