"""One joint of a work sheet as it is printed: torque, order, passes and their drawing."""

from service.fitup.torque import wrench_full_scale_nm
from service.install.figures import BLANK, Units, force_text, torque_text
from service.install.joints import JointSheet
from service.install.passes import Pass, three_torques
from service.install.printed import Block
from service.plots.bolts import Bolt, BoltPlot, draw_bolts
from service.plots.svg import Drawing


def joint_block(joint: JointSheet, units: Units) -> Block:
    """Return how a joint is tightened, with blanks for what is set."""
    name = joint.name or joint.slot.value.replace("_", " ")
    preload = (
        (
            (
                f"Preload {force_text(joint.preload_low_n, units)} (settled) to "
                f"{force_text(joint.preload_high_n, units)}; bolt or thread gives at "
                f"{force_text(joint.limit_n, units)}."
            ),
        )
        if joint.preload_low_n and joint.preload_high_n and joint.limit_n
        else ()
    )
    return Block(
        heading=f"Tightening: {name}",
        lines=(
            f"Bolts: {joint.bolts}.",
            f"Full torque: {torque_text(joint.torque)}. {joint.why}",
            *joint.findings,
            *_wrench(joint),
            *preload,
            *((f"Gasket: {joint.gasket}",) if joint.gasket else ()),
            *(_DRAWN if joint.places else ()),
        ),
        head=("Pass", "Torque", "Order", "Loosest bolt", "Set", "By"),
        widths=("auto", "1.25", "1", "auto", "auto", "auto"),
        rows=tuple(_pass(each) for each in joint.passes),
        drawing=joint_drawing(joint, name) if joint.places else None,
    )


def _wrench(joint: JointSheet) -> tuple[str, ...]:
    if joint.torque is None:
        return ()
    scale = wrench_full_scale_nm(joint.torque.torque_nm)
    low, high = (torque_text(three_torques(end)) for end in (scale.low, scale.high))
    return (f"Wrench: one whose full scale lies between {low} and {high}.",)


_DRAWN = (
    "Drawn from above: front of the engine at the left, right bank on top.",
    (
        "Bars, and the loosest bolt after each pass: what a model of neighbours relaxing each "
        "other leaves of the preload; nothing was measured."
    ),
)


def _pass(each: Pass) -> tuple[str, ...]:
    left = BLANK if each.least_left is None else f"{each.least_left:.0%} of full"
    order = ", ".join(str(bolt) for bolt in each.order) or BLANK
    return (f"{each.number}. {each.title}", torque_text(each.torque), order, left, BLANK, BLANK)


def joint_drawing(joint: JointSheet, name: str) -> Drawing:
    """Draw the bolts of a joint with their order and what each still holds."""
    bolts = tuple(
        Bolt(x_mm=place.along_mm, y_mm=place.across_mm, order=number, share=share)
        for number, (place, share) in enumerate(
            zip(joint.places, joint.left_after_full, strict=True), start=1
        )
    )
    return draw_bolts(
        BoltPlot(
            key=f"bolts-{joint.key or joint.slot.value}",
            title=f"Tightening order of the {name}",
            description=f"{len(bolts)} bolts, number 1 first; bars show the preload that is left "
            "after the first pass at full torque, by a model: the rounds after it bring it back.",
            bolts=bolts,
        )
    )
