"""Rows of sections 2 and 4. H28 = FED-STD-H28/2B; classes after ISO 898-1 and SAE J429 as
reproduced by suppliers; limits 6g, 6H, 2A and 2B from memory and by formula."""

from math import pi

import pytest

from service.fitup.threads import (
    ALUMINIUM_319,
    ALUMINIUM_356,
    CLASS_8_8,
    CLASS_10_9,
    GRADE_2,
    GRADE_5,
    GRADE_8,
    IRON_G2500,
    IRON_G3000,
    M6,
    M8,
    M10,
    UNC_1_4,
    UNC_3_8,
    UNC_5_16,
    BoltClass,
    Casting,
    Metal,
    Thread,
    bolt_breaks_first_mm,
    external_shear_area,
    internal_shear_area,
    needed_engagement_mm,
    proof_load_n,
    same_strength_engagement_mm,
    strip_load_n,
    tensile_load_n,
    tensile_ratio_engagement_mm,
)
from tests.fitup.second_readings import (
    STRENGTH_RATIO_SIMPLE,
    bolt_bending_factor,
    hole_bending_factor,
    nut_dilation_factor,
    simple_bolt_shear_area,
    simple_hole_shear_area,
)

INCH = 25.4
KSI = 6.894757293168361
LBF = 4.4482216152605
METRIC = (M6, M8, M10)
UNIFIED = (UNC_1_4, UNC_5_16, UNC_3_8)


def test_t1_t2_metric_geometry() -> None:
    """ISO 68-1 and 724: d2, D1, d3 and stress area; tabulated areas 20.1, 36.6, 58.0."""
    for thread, middle, minor, root, area, printed in zip(
        METRIC,
        (5.3505, 7.1881, 9.0257),
        (4.9175, 6.6468, 8.3762),
        (4.7731, 6.4664, 8.1597),
        (20.123, 36.609, 57.990),
        (20.1, 36.6, 58.0),
        strict=True,
    ):
        assert thread.pitch_diameter_mm == pytest.approx(middle, abs=5e-4)
        assert thread.minor_diameter_mm == pytest.approx(minor, abs=5e-4)
        assert thread.root_diameter_mm == pytest.approx(root, abs=5e-4)
        assert thread.stress_area_mm2 == pytest.approx(area, abs=0.01)
        assert round(thread.stress_area_mm2, 1) == printed


def test_t7_t8_loads_of_metric_classes() -> None:
    """ISO 898-1 tables, in newtons; they are rounded, so that 1 % is allowed."""
    for thread, weak, strong, proof, high in zip(
        METRIC,
        (16100, 29200, 46400),
        (20900, 38100, 60300),
        (11600, 21200, 33700),
        (16700, 30400, 48100),
        strict=True,
    ):
        assert tensile_load_n(thread, CLASS_8_8) == pytest.approx(weak, rel=0.01)
        assert tensile_load_n(thread, CLASS_10_9) == pytest.approx(strong, rel=0.01)
        assert proof_load_n(thread, CLASS_8_8) == pytest.approx(proof, rel=0.01)
        assert proof_load_n(thread, CLASS_10_9) == pytest.approx(high, rel=0.01)


def test_u1_to_u5_unified_sizes() -> None:
    for thread, area, middle, major, low, hole, minor in zip(
        UNIFIED,
        (0.0318, 0.0524, 0.0775),
        (0.2175, 0.2764, 0.3344),
        (0.2408, 0.3026, 0.3643),
        (0.2127, 0.2712, 0.3287),
        (0.2224, 0.2817, 0.3401),
        (0.207, 0.265, 0.321),
        strict=True,
    ):
        assert thread.stress_area_mm2 / INCH**2 == pytest.approx(area, abs=5.1e-5)
        assert thread.pitch_diameter_mm / INCH == pytest.approx(middle, abs=5.1e-5)
        assert thread.major_min_mm / INCH == pytest.approx(major, abs=1.1e-4)
        assert thread.pitch_min_mm / INCH == pytest.approx(low, abs=1.1e-4)
        assert thread.hole_pitch_max_mm / INCH == pytest.approx(hole, abs=1.1e-4)
        assert thread.hole_minor_max_mm / INCH == pytest.approx(minor, abs=6e-4)


@pytest.mark.parametrize(
    ("bolt", "proof_lbf", "tensile_lbf"),
    [
        (GRADE_2, (1750, 2900, 4250), (2350, 3900, 5750)),
        (GRADE_5, (2700, 4450, 6600), (3800, 6300, 9300)),
        (GRADE_8, (3800, 6300, 9300), (4750, 7850, 11600)),
    ],
)
def test_u6_to_u8_loads_of_sae_grades(
    bolt: BoltClass, proof_lbf: tuple[float, ...], tensile_lbf: tuple[float, ...]
) -> None:
    for thread, proof, tensile in zip(UNIFIED, proof_lbf, tensile_lbf, strict=True):
        assert proof_load_n(thread, bolt) / LBF == pytest.approx(proof, rel=0.01)
        assert tensile_load_n(thread, bolt) / LBF == pytest.approx(tensile, rel=0.01)


def test_u9_u10_three_quarters_of_proof() -> None:
    for thread, two, five in zip(UNIFIED, (1312, 2162, 3197), (2027, 3340, 4941), strict=True):
        assert 0.75 * proof_load_n(thread, GRADE_2) / LBF == pytest.approx(two, rel=2e-3)
        assert 0.75 * proof_load_n(thread, GRADE_5) / LBF == pytest.approx(five, rel=2e-3)


def test_x1_x2_h28_example_90_1() -> None:
    """Formula 14 on a hollow bolt, hole .792 in, of 8 threads: .777 and .714 in."""
    for minor, length in ((1.390, 0.777), (1.3775, 0.714)):
        shear = external_shear_area(1.0 / 8.0, minor, 1.4093)
        assert 2.0 * (1.492 - pi / 4.0 * 0.792**2) / shear == pytest.approx(length, abs=5e-4)


def test_x3_h28_example_90_2_steel_in_cast_iron() -> None:
    """1-1/8-7, 60 ksi in 20 ksi: R1 .863, 1.729 in of engagement."""
    shear = internal_shear_area(1.0 / 7.0, 1.1064, 1.0416)
    thread = Thread(
        name="1-1/8-7",
        diameter_mm=1.125,
        pitch_mm=1.0 / 7.0,
        stress_area_mm2=0.763,
        major_min_mm=1.1064,
        pitch_min_mm=1.0,
        hole_pitch_max_mm=1.0416,
        hole_minor_max_mm=1.0,
    )
    steel = BoltClass(name="-", proof_mpa=0.0, yield_mpa=0.0, tensile_mpa=60.0)
    iron = Casting(name="-", shear_mpa=20.0, tensile_mpa=20.0, metal=Metal.STEEL)

    assert pi * 0.970 * 0.75 / shear == pytest.approx(0.863, abs=1e-3)
    assert tensile_ratio_engagement_mm(thread, steel, iron) == pytest.approx(1.729, abs=2e-3)


def test_x6_shear_areas() -> None:
    for thread, hole, bolt in zip(
        METRIC, (12.191, 16.829, 21.477), (8.646, 12.161, 15.580), strict=True
    ):
        assert thread.hole_shear_mm2_per_mm == pytest.approx(hole, abs=2e-3)
        assert thread.bolt_shear_mm2_per_mm == pytest.approx(bolt, abs=2e-3)


def test_x4_x7_simple_shear_areas() -> None:
    """H28, table II.B.1: π d2 3/4 and 5/8; their ratio is .833, over R2 .333 it is 2.5."""
    assert pytest.approx(0.833, abs=1e-3) == STRENGTH_RATIO_SIMPLE
    assert pytest.approx(2.5, abs=1e-3) == STRENGTH_RATIO_SIMPLE / (20.0 / 60.0)
    for thread, hole, bolt in zip(
        METRIC, (12.607, 16.937, 21.266), (10.506, 14.114, 17.722), strict=True
    ):
        assert simple_hole_shear_area(thread) == pytest.approx(hole, abs=2e-3)
        assert simple_bolt_shear_area(thread) == pytest.approx(bolt, abs=2e-3)
        # The form with limits of size, by which holes are judged, stays near to it.
        assert thread.hole_shear_mm2_per_mm == pytest.approx(hole, rel=0.05)


def test_x8_equal_strength() -> None:
    for thread, length in zip(METRIC, (4.78, 6.48, 8.18), strict=True):
        assert same_strength_engagement_mm(thread) == pytest.approx(length, abs=0.01)


def test_x9_to_x11_by_the_ratio_of_tensile_strengths() -> None:
    aluminium = Casting(name="-", shear_mpa=1.0, tensile_mpa=230.0, metal=Metal.STEEL)
    for thread, length in zip(METRIC, (11.47, 15.13, 18.79), strict=True):
        found = tensile_ratio_engagement_mm(thread, CLASS_8_8, aluminium)
        assert found == pytest.approx(length, abs=0.02)
    for tensile, length in ((200.0, 17.40), (250.0, 13.92), (500.0, 6.96)):
        casting = Casting(name="-", shear_mpa=1.0, tensile_mpa=tensile, metal=Metal.STEEL)
        found = tensile_ratio_engagement_mm(M8, CLASS_8_8, casting)
        assert found == pytest.approx(length, abs=0.02)


@pytest.mark.parametrize(
    ("thread", "bolt", "lengths"),
    [
        (M6, CLASS_8_8, (8.68, 7.37, 6.16, 5.03)),
        (M8, CLASS_8_8, (11.45, 9.72, 8.13, 6.64)),
        (M10, CLASS_8_8, (14.21, 12.07, 10.10, 8.25)),
        (M8, CLASS_10_9, (14.88, 12.64, 10.57, 8.63)),
    ],
    ids=["X13", "X14", "X15", "X16"],
)
def test_x13_to_x16_the_bolt_breaks_first(
    thread: Thread, bolt: BoltClass, lengths: tuple[float, ...]
) -> None:
    """319-F, 356-T6, grey iron G2500 and G3000 (shear strengths of X12)."""
    castings = (ALUMINIUM_319, ALUMINIUM_356, IRON_G2500, IRON_G3000)
    for casting, length in zip(castings, lengths, strict=True):
        assert bolt_breaks_first_mm(thread, bolt, casting) == pytest.approx(length, abs=0.02)


def test_x5_a_handbook_example_took_the_greatest_bolt() -> None:
    """doi 10.1201/9781482273786-99: M10, 69,600 N, 130 MPa: 21.6 mm; least bolt: 24.93."""
    assert 69600 / (130 * internal_shear_area(1.5, 9.968, 9.206)) == pytest.approx(21.6, abs=0.1)
    assert 69600 / (130 * M10.hole_shear_mm2_per_mm) == pytest.approx(24.93, abs=0.01)


def test_x12_shear_strengths_of_castings() -> None:
    """Data sheets of sand castings and SAE J859, 1 %. Tensile 186 MPa of 319-F and 30 ksi of
    G3000 are from memory."""
    rows = (
        (ALUMINIUM_319, 152.0, 186.0),
        (ALUMINIUM_356, 179.0, 228.0),
        (IRON_G2500, 214.0, 25.0 * KSI),
        (IRON_G3000, 262.0, 30.0 * KSI),
    )
    for casting, shear, tensile in rows:
        assert casting.shear_mpa == pytest.approx(shear, rel=0.01)
        assert casting.tensile_mpa == pytest.approx(tensile, rel=0.01)


def test_yields_of_sae_grades_are_from_memory() -> None:
    """From memory: 57, 92 and 130 ksi; each lies between proof and tensile of SAE J429."""
    for bolt, ksi in ((GRADE_2, 57.0), (GRADE_5, 92.0), (GRADE_8, 130.0)):
        assert bolt.yield_mpa == pytest.approx(ksi * KSI, rel=1e-6)
        assert bolt.proof_mpa < bolt.yield_mpa < bolt.tensile_mpa


@pytest.mark.parametrize("thread", METRIC)
def test_x17_to_x20_never_less_than_the_rules_of_the_trade(thread: Thread) -> None:
    """X17 Army manuals: aluminium 2 d. X18 a generator set's manual: aluminium 2 d, steel and
    cast iron 1.25 d. X19 general practice: steel 1 d, cast iron 1.5 d, aluminium 2 d. X20 a
    supplier's table: grey iron of 250 MPa 1.25 d with 8.8, 1.4 d with 10.9."""
    grey = Casting(name="-", shear_mpa=200.0, tensile_mpa=250.0, metal=Metal.IRON)
    steel = Casting(name="-", shear_mpa=300.0, tensile_mpa=500.0, metal=Metal.STEEL)
    for bolt, iron in ((CLASS_8_8, 1.25), (CLASS_10_9, 1.4)):
        for casting, diameters in (
            (ALUMINIUM_356, 2.0),
            (ALUMINIUM_319, 2.0),
            (grey, max(1.5, iron)),
            (IRON_G3000, 1.5),
            (steel, 1.25),
        ):
            least = diameters * thread.diameter_mm
            assert needed_engagement_mm(thread, bolt, casting) >= least - 1e-9


def test_x21_class_10_9_in_aluminium_stays_within_what_is_published() -> None:
    """A design guide: 2 d for M8 in aluminium of 250 to 270 MPa; by shear of .7 that 12.57 mm."""
    alloy = Casting(name="-", shear_mpa=180.0, tensile_mpa=257.0, metal=Metal.ALUMINIUM)
    direct = bolt_breaks_first_mm(M8, CLASS_10_9, alloy)

    assert direct == pytest.approx(12.57, abs=0.02)
    assert direct <= 2.0 * 8.0 <= needed_engagement_mm(M8, CLASS_10_9, alloy)


def test_x24_a_joint_that_is_opened_often_asks_for_more() -> None:
    """H28, 70.7.6: more, for wear; how much it does not print."""
    for thread in METRIC:
        once = needed_engagement_mm(thread, CLASS_8_8, ALUMINIUM_356)
        often = needed_engagement_mm(thread, CLASS_8_8, ALUMINIUM_356, opened_often=True)
        assert often == pytest.approx(once + thread.pitch_mm)


def test_x25_corrections_of_alexander() -> None:
    """ISO/TR 16224 after Alexander, from memory; C2(1) = C3(1) = .897 checks them."""
    for ratio, factor in ((1.5, 0.840), (1.6, 0.910), (1.9, 1.0), (1.0, 1.0)):
        assert nut_dilation_factor(ratio) == pytest.approx(factor, abs=1e-4)
    for ratio, factor in ((1.0 + 1e-9, 0.8973), (1.5, 1.1043), (2.0, 1.1668)):
        assert bolt_bending_factor(ratio) == pytest.approx(factor, abs=1e-4)
    for ratio, factor in ((1.0 - 1e-9, 0.897), (0.8, 0.9533), (0.6, 1.0268)):
        assert hole_bending_factor(ratio) == pytest.approx(factor, abs=1e-4)
    assert bolt_bending_factor(0.9) == hole_bending_factor(1.1) == 0.897


@pytest.mark.parametrize("thread", METRIC)
def test_x9_x17_what_is_asked_for_in_aluminium_is_about_two_diameters(thread: Thread) -> None:
    """Army manual: two diameters; supplier's table likewise (X21)."""
    needed = needed_engagement_mm(thread, CLASS_8_8, ALUMINIUM_356)
    assert 1.8 * thread.diameter_mm <= needed <= 2.0 * thread.diameter_mm


def test_x22_stripping_goes_with_what_is_engaged() -> None:
    soft = Casting(name="-", shear_mpa=140.0, tensile_mpa=1.0, metal=Metal.STEEL)
    for engaged, load in ((9.0, 15361), (12.0, 20481), (10.0, 17067)):
        assert strip_load_n(M6, soft, engaged) == pytest.approx(load, abs=2)
    assert strip_load_n(M6, soft, -1.0) == 0.0
