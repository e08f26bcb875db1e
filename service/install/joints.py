"""One bolted joint as it is met on the engine, and how it is tightened."""

from dataclasses import dataclass

from service.catalog.slots import Slot
from service.catalog.supplies import PropertyClass
from service.fitup.bolted import OpenedJoint
from service.fitup.bolting import TriedBolt
from service.fitup.bolts import BoltFit, Hole, LengthFault, bolt_fit
from service.fitup.spans import Span
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
    THREADS,
    needed_engagement_mm,
)
from service.fitup.tightening import (
    tightening_order,
)
from service.fitup.torque import (
    FrictionState,
    TorqueAdvice,
    TorqueBound,
    advised_torque,
    stated_torques_disagree,
)
from service.install.passes import Pass, ThreeTorques, bolt_places, passes_over, three_torques
from service.install.told import BoltAt, BoltedJoint
from service.quantities import EDGE_CONFIG, Text

_GRADES = {one.name: one for one in (CLASS_8_8, CLASS_10_9, GRADE_2, GRADE_5, GRADE_8)}
_CASTINGS = {one.name: one for one in (ALUMINIUM_319, ALUMINIUM_356, IRON_G2500, IRON_G3000)}


@dataclass(frozen=True, slots=True, kw_only=True)
class JointSheet:
    """How one joint is tightened."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Slot
    bolts: Text
    """Thread, class, state."""
    torque: ThreeTorques | None
    why: Text
    """What bounds the torque, or why there is none."""
    preload_low_n: float | None
    preload_high_n: float | None
    limit_n: float | None
    """The lower of proof load and stripping load. [N]"""
    passes: tuple[Pass, ...]
    places: tuple[BoltAt, ...]
    """In the order of their numbers: bolt 1 is tightened first."""
    left_after_full: tuple[float, ...]
    """Of the full preload in each bolt after the first pass at full torque [-]."""
    findings: tuple[Text, ...]


_BOUNDS = {
    TorqueBound.YIELD: "0.65 of the bolt's yield (MSFC-STD-486B, 4.1.2.2)",
    TorqueBound.PROOF: "the bolt's proof load, with the scatter of a torque wrench",
    TorqueBound.STRIPPING: "the thread in the casting, with the scatter of a torque wrench",
    TorqueBound.PRINTED: "the lower of two printed tables (MSFC-STD-486B; US Army)",
    TorqueBound.ALUMINIUM: "0.70 of the dry torque into aluminium (US Army manuals)",
}
_FAULTS = {
    LengthFault.TOO_SHORT: "too little thread is engaged",
    LengthFault.RUNS_OUT: "its tip runs into incomplete threads",
    LengthFault.BOTTOMS: "it bottoms before it clamps",
    LengthFault.RIDES_ON_SHANK: "the hole rides on its shank",
}
_STATES = {
    FrictionState.DRY: "clean and dry",
    FrictionState.OIL: "oiled",
    FrictionState.ANTI_SEIZE: "with anti-seize",
}


def joint_sheet(joint: BoltedJoint) -> JointSheet:
    """Return torque, order and passes of a joint; blanks where something is not known."""
    fit = _fit(joint)
    advice = None if fit is None or fit.faults else _advice(joint, fit)
    torque, why = _torque(joint, advice, fit)
    order = tightening_order(bolt_places(joint.places))
    passes, left = passes_over(bolt_places(joint.places), order, torque)
    return JointSheet(
        slot=joint.slot,
        bolts=f"{joint.thread}, {_marked(joint.grade)}, into {joint.tapped_into}, "
        f"threads and heads {_STATES[joint.friction]}",
        torque=torque,
        why=why,
        preload_low_n=advice.preload_n.low if advice else None,
        preload_high_n=advice.preload_n.high if advice else None,
        limit_n=advice.limit_n if advice else None,
        passes=passes,
        places=tuple(joint.places[bolt] for bolt in order),
        left_after_full=left,
        findings=tuple(_findings(joint, fit)),
    )


def _marked(grade: PropertyClass) -> str:
    return grade.value if grade.value.startswith("grade") else f"class {grade.value}"


def _fit(joint: BoltedJoint) -> BoltFit | None:
    if joint.hole is None or joint.grip_mm is None or joint.bolt_length_mm is None:
        return None
    hole = Hole(
        thread=THREADS[joint.thread],
        full_thread_mm=Span.exactly(joint.hole.full_thread_mm),
        drilled_mm=Span.exactly(joint.hole.drilled_mm),
        countersink_mm=joint.hole.countersink_mm,
        damaged_pitches=Span.exactly(joint.hole.damaged_pitches),
    )
    needed = needed_engagement_mm(
        THREADS[joint.thread], _GRADES[joint.grade], _CASTINGS[joint.tapped_into]
    )
    length = Span.around(joint.bolt_length_mm, joint.tolerance_mm)
    return bolt_fit(length, Span.around(joint.grip_mm, joint.tolerance_mm), hole, needed)


def _advice(joint: BoltedJoint, fit: BoltFit) -> TorqueAdvice:
    return advised_torque(
        THREADS[joint.thread],
        _GRADES[joint.grade],
        _CASTINGS[joint.tapped_into],
        fit.engaged_mm.low,
        joint.friction,
    )


def _torque(
    joint: BoltedJoint, advice: TorqueAdvice | None, fit: BoltFit | None
) -> tuple[ThreeTorques | None, str]:
    """Return the lower of what is worked out and what the maker prints, and why."""
    stated = joint.stated_torque.lowest_nm if joint.stated_torque else None
    if fit is not None and fit.faults:
        return None, "No torque: a bolt of this length must not be used in this hole."
    if advice is None:
        if stated is None:
            return None, "Not known: take it from the part's own instructions and write it in."
        return three_torques(stated), (
            "As the maker of the part prints it; bolt length, grip and hole were not told, so that "
            "nothing checks it."
        )
    if stated is not None and stated <= advice.torque.torque_nm:
        return three_torques(stated), "As the maker of the part prints it; within what was found."
    return three_torques(advice.torque.torque_nm), f"Bounded by {_BOUNDS[advice.bound]}."


def _findings(joint: BoltedJoint, fit: BoltFit | None) -> list[str]:
    found = []
    if not joint.places:
        found.append(
            "Where the bolts stand is not known: the order is blank. From the middle outward, "
            "sides in turn; number them on the part before the first is turned."
        )
    if fit is not None:
        found += [f"The bolt of {fit.length_mm:g} mm: {_FAULTS[fault]}." for fault in fit.faults]
    stated = joint.stated_torque
    if stated is not None and stated_torques_disagree(
        nm=stated.torque_nm, lbft=stated.torque_lbft, lbin=stated.torque_lbin
    ):
        found.append(
            "The printed torques are not one torque: a foot has twelve inches, so that 12 lbf·ft "
            "are 144 lbf·in and not 120. The lowest of them counts until the maker is asked."
        )
    return found


def recorded_joint(joint: OpenedJoint, bolt: TriedBolt | None) -> JointSheet | None:
    """Return a joint as the family records it; None where it records none.

    Without a bolt of the shop's that fits every hole the torque stays blank.
    """
    if joint.layout is None:
        return None
    layout = joint.layout
    places = tuple(BoltAt(along_mm=one.y_mm, across_mm=one.x_mm) for one in layout.bolts)
    order = tightening_order(bolt_places(places))
    torque = None if bolt is None else three_torques(bolt.advice.torque.torque_nm)
    passes, left = passes_over(bolt_places(places), order, torque)
    return JointSheet(
        slot=Slot(joint.place.value),
        bolts=f"{layout.holes.thread.value}, as the family records them"
        if bolt is None
        else f"{bolt.part.title} ({bolt.part.sku}), threads and heads {_STATES[bolt.advice.state]}",
        torque=torque,
        why="No bolt on offer fits every hole: ask the builder."
        if bolt is None
        else f"Bounded by {_BOUNDS[bolt.advice.bound]}.",
        preload_low_n=bolt.advice.preload_n.low if bolt else None,
        preload_high_n=bolt.advice.preload_n.high if bolt else None,
        limit_n=bolt.advice.limit_n if bolt else None,
        passes=passes,
        places=tuple(places[each] for each in order),
        left_after_full=left,
        findings=(),
    )
