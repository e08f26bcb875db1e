"""One bolted joint as it is met on the engine, and how it is tightened."""

from dataclasses import dataclass, replace

from service.catalog.slots import Slot
from service.catalog.supplies import PropertyClass
from service.fitup.bolted import OpenedJoint
from service.fitup.bolting import TriedBolt
from service.fitup.bolts import BoltFit, Hole, LengthFault, bolt_fit
from service.fitup.gasket_words import gasket_in_words
from service.fitup.joint_findings import MAKERS_TORQUE, SEE_WHETHER_IT_FITS
from service.fitup.spans import Span
from service.fitup.stated_torques import (
    PrintedTorque,
    StatedTorque,
    WeighedTorque,
    conflicts,
    pair_conflict,
    weighed_torque,
)
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
from service.fitup.torque import FrictionState, TorqueAdvice, TorqueBound, advised_torque
from service.install.passes import Pass, ThreeTorques, bolt_places, passes_over, three_torques
from service.install.told import BoltAt, BoltedJoint
from service.quantities import EDGE_CONFIG, Name, PositiveCount, Text

_GRADES = {one.name: one for one in (CLASS_8_8, CLASS_10_9, GRADE_2, GRADE_5, GRADE_8)}
_CASTINGS = {one.name: one for one in (ALUMINIUM_319, ALUMINIUM_356, IRON_G2500, IRON_G3000)}


@dataclass(frozen=True, slots=True, kw_only=True)
class JointSheet:
    """How one joint is tightened."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Slot
    key: Text = ""
    """By which its readings are entered: the slot, with a number behind where it has several."""
    name: Text = ""
    pattern: Name | None = None
    """Flange by the shop's own name; null: nobody told."""
    pieces: PositiveCount = 1
    """How many are bolted on alike, each with these bolts."""
    gasket: Text = ""
    """Which one, why, and why not the others; empty: nothing is on record."""
    bolts: Text
    """Thread, class, state."""
    torque: ThreeTorques | None
    why: Text
    """What bounds the torque, or why there is none."""
    stated: tuple[PrintedTorque, ...] = ()
    """Torques that the customer, a source or the part's maker states for these bolts."""
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


BOLTS_DOWN = "This bolts down the adapter"
ADAPTER_FIRST = (
    BOLTS_DOWN + " {}: all its passes are done before the part on it goes on, with a gasket on "
    "either face."
)
EACH_BY_ITSELF = (
    "{} pieces are bolted on alike: drawn is one; each has its own bolts, order and passes, and "
    "one is done before the next is begun (common practice, no source)."
)
NO_PLACES = (
    "Where the bolts stand is not known: the order is blank. From the middle outward, sides in "
    "turn; number them on the part before the first is turned."
)
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


def joint_sheet(
    joint: BoltedJoint, stated: tuple[StatedTorque, ...] = (), gasket: str = ""
) -> JointSheet:
    """Return a joint as it was told of; blanks where something is not known.

    `stated` are torques that were stated for the engine; the maker's comes with the joint.
    """
    fit = _fit(joint)
    advice = None if fit is None or fit.faults else _advice(joint, fit)
    every = (*((joint.stated_torque,) if joint.stated_torque else ()), *stated)
    faulty = fit is not None and bool(fit.faults)
    blank = JointSheet(
        slot=joint.slot,
        pattern=joint.pattern,
        gasket=gasket,
        bolts=f"{joint.thread}, {_marked(joint.grade)}, into {joint.tapped_into}, "
        f"threads and heads {_STATES[joint.friction]}",
        torque=None,
        why="No torque: a bolt of this length must not be used in this hole."
        if faulty
        else "Not known: take it from the part's own instructions and write it in.",
        stated=every,
        preload_low_n=None,
        preload_high_n=None,
        limit_n=None,
        passes=(),
        places=joint.places,
        left_after_full=(),
        findings=tuple(_findings(joint, fit)),
    )
    return _tightened(blank, advice, usable=not faulty)


def _tightened(blank: JointSheet, advice: TorqueAdvice | None, *, usable: bool) -> JointSheet:
    """Return a joint with its torque, what speaks against it, its order and its passes.

    What an ordinary joint bears is not the torque of head bolts: only their maker's is.
    """
    heads = blank.slot is Slot.CYLINDER_HEADS
    weighed = weighed_torque(None if heads else advice, blank.stated) if usable else None
    torque = None if weighed is None else three_torques(weighed.torque.torque_nm)
    share = weighed.torque.torque_nm / advice.torque.torque_nm if weighed and advice else 1.0
    makers = f"{MAKERS_TORQUE}{advice.torque}." if advice and heads else ""
    order = tightening_order(bolt_places(blank.places))
    passes, left = passes_over(bolt_places(blank.places), order, torque)
    return replace(
        blank,
        torque=torque,
        why=" ".join(filter(None, (_why(advice, weighed), makers))) or blank.why,
        preload_low_n=advice.preload_n.low * share if advice else None,
        preload_high_n=advice.preload_n.high * share if advice else None,
        limit_n=advice.limit_n if advice else None,
        passes=passes,
        places=tuple(blank.places[bolt] for bolt in order),
        left_after_full=left,
        findings=(
            *filter(None, map(pair_conflict, blank.stated)),
            *conflicts(advice, blank.stated),
            *blank.findings,
        ),
    )


def _why(advice: TorqueAdvice | None, weighed: WeighedTorque | None) -> str:
    if weighed is None:
        return ""
    if weighed.stated is None:
        return f"Bounded by {_BOUNDS[advice.bound]}." if advice else ""
    by = (
        "As stated for this engine"
        if isinstance(weighed.stated, StatedTorque)
        else "As the maker of the part prints it"
    )
    if advice is None:
        return f"{by}; bolt, grip and hole are not known together, so that nothing checks it."
    return f"{by}; what was worked out here is {advice.torque}."


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


def _findings(joint: BoltedJoint, fit: BoltFit | None) -> list[str]:
    found = []
    if not joint.places:
        found.append(NO_PLACES)
    if fit is not None:
        found += [f"The bolt of {fit.length_mm:g} mm: {_FAULTS[fault]}." for fault in fit.faults]
    return found


def recorded_joint(
    joint: OpenedJoint, bolt: TriedBolt | None, stated: tuple[StatedTorque, ...]
) -> JointSheet:
    """Return a joint as the family records it; blanks where it records nothing.

    Without a bolt of the shop's that fits every hole the torque stays blank, whatever is stated.
    """
    layout, advice = joint.layout, bolt.advice if bolt else None
    bolts = () if layout is None else layout.bolts
    blank = JointSheet(
        slot=Slot(joint.place.value),
        pattern=joint.pattern,
        pieces=layout.pieces if layout else 1,
        gasket=gasket_in_words(joint),
        bolts=_recorded_bolts(joint, bolt),
        torque=None,
        why="No bolt on offer fits every hole: ask the builder."
        if layout
        else "Not known: take it from the part's own instructions and write it in.",
        stated=stated,
        preload_low_n=None,
        preload_high_n=None,
        limit_n=None,
        passes=(),
        places=tuple(BoltAt(along_mm=one.y_mm, across_mm=one.x_mm) for one in bolts),
        left_after_full=(),
        findings=(
            *(() if layout else (NO_PLACES,)),
            *((EACH_BY_ITSELF.format(layout.pieces),) if layout and layout.pieces > 1 else ()),
            *((ADAPTER_FIRST.format(joint.adapter),) if joint.adapter else ()),
            *((SEE_WHETHER_IT_FITS,) if bolt and not bolt.access.known else ()),
        ),
    )
    return _tightened(blank, advice, usable=bolt is not None or layout is None)


def _recorded_bolts(joint: OpenedJoint, bolt: TriedBolt | None) -> str:
    if bolt is not None:
        state = _STATES[bolt.advice.state]
        return f"{bolt.part.title} ({bolt.part.sku}), threads and heads {state}"
    if joint.layout is None:
        return "not on record"
    return f"{joint.layout.holes.thread.value}, as the family records them"
