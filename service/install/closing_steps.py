"""Steps from the first sealant to the last torque, written as those before them."""

from service.catalog.slots import Slot
from service.fitup.octane import fixed_timing_octane_ron
from service.fitup.rail_seal import HOURS_BEFORE_FLUIDS, HOURS_BEFORE_TORQUE
from service.fitup.tightening import RETORQUE_AFTER_HOURS
from service.install.work import BOLTED, EXHAUST, FUEL, Draft, Work


def end_rails(work: Work) -> Draft | None:
    """Seal the end rails of a V engine."""
    if not work.rails:
        return None
    return (
        "Seal the end rails",
        ("As written under End rails.",),
        "Oil leaks at the four corners first.",
        ("solvent", "sealant", "caulking gun"),
        (),
    )


def tightened(work: Work) -> Draft | None:
    """Tighten in order and passes."""
    bolted = [slot.value.replace("_", " ") for slot in BOLTED if slot in work.changed]
    if not bolted:
        return None
    return (
        "Set the parts on and tighten",
        (
            f"In this order: {', '.join(bolted)}. Rags out first: ____ out.",
            (
                "New gaskets, dry unless their maker says otherwise. Threads and heads of the "
                "bolts in the state that stands with the torque, all alike."
            ),
            "Pass after pass as written under Tightening; write each torque down.",
        ),
        (
            "Tightening one bolt relaxes its neighbours: the last pass goes round until no "
            "bolt turns."
        ),
        ("torque wrench",),
        ("torque.*",),
    )


def fuel_lines(work: Work) -> Draft | None:
    """Close the fuel system."""
    if not (work.changed & FUEL):
        return None
    return (
        "Injectors, rail and lines",
        (
            "New O-rings, a drop of clean engine oil on each; push straight in.",
            "Rail bolted down, every injector turns by hand.",
            "Key on without starting, three times: look and feel at every joint for fuel.",
        ),
        "An O-ring that is cut leaks onto a hot manifold.",
        ("flashlight", "fire extinguisher for fuel fires"),
        (),
    )


def exhaust(work: Work) -> Draft | None:
    """Hang the exhaust."""
    if not (work.changed & EXHAUST):
        return None
    return (
        "Exhaust",
        (
            "Anti-seize on threads only; lines, wires and paint well away.",
            "Hang the system so that no joint carries its weight.",
        ),
        "A joint under load cracks or leaks.",
        ("penetrating oil", "anti-seize"),
        (),
    )


def fuel(work: Work) -> Draft | None:
    """Choose fuel and calibration."""
    ratio, aki = work.fuel
    tank = f"Fuel in the tank: {aki:.0f} AKI as told" if aki else "Fuel in the tank: ____ AKI"
    return (
        "Fuel and calibration",
        (
            *(
                ("Load the calibration of the list before the first start.",)
                if Slot.CALIBRATION in work.changed
                else ()
            ),
            (
                f"{tank}; compression ratio up to {ratio:.1f}. Older engines of fixed timing asked "
                f"for about {fixed_timing_octane_ron(ratio):.0f} RON with it, an upper bound; "
                "listen for knock."
            ),
        ),
        "Knock breaks pistons.",
        (),
        (),
    )


def filled(work: Work) -> Draft | None:
    """Fill and look for leaks."""
    cured = f"Not before {HOURS_BEFORE_FLUIDS:.0f} h after the sealant was laid: laid at ____."
    return (
        "Fill and look for leaks",
        (
            *((cured,) if work.rails else ()),
            "Oil, coolant, filter. Pressurise the coolant cold and look for ten minutes.",
            "Rags, tools and wrenches counted and away.",
        ),
        "A leak found cold costs a gasket.",
        ("coolant pressure tester",),
        (),
    )


def started(work: Work) -> Draft | None:
    """Start for the first time."""
    return (
        "First start",
        (
            "Outdoors or with the exhaust led out; nobody in line with belts and fan.",
            *(
                ("Blower run and vapour measured first; flame control in place and tight.",)
                if work.marine
                else ()
            ),
            *(
                ("New flat lifters: at once to 2,000 rev/min, as the cam card says.",)
                if Slot.CAMSHAFT in work.changed
                else ()
            ),
            "Look for fuel, oil, coolant and exhaust leaks; listen.",
        ),
        "Carbon monoxide kills unseen.",
        ("exhaust extraction", "carbon monoxide alarm"),
        (),
    )


def cold_again(work: Work) -> Draft | None:
    """Tighten once more when cold."""
    return (
        "Once cold again",
        (
            (
                f"At least {RETORQUE_AFTER_HOURS:.0f} h later and cold: one more round at full "
                "torque, unless the gasket's maker forbids it."
            ),
            *(("Trim the cured sealant.",) if work.rails else ()),
            "Enter the readings; sign with the day.",
        ),
        f"Gaskets settle; the first torque waited only {HOURS_BEFORE_TORQUE:.0f} h."
        if work.rails
        else "Gaskets settle.",
        ("torque wrench",),
        ("torque.*",),
    )


DRAFTS = (
    end_rails,
    tightened,
    fuel_lines,
    exhaust,
    fuel,
    filled,
    started,
    cold_again,
)
"""In the order in which they are done."""
