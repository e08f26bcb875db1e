"""Steps until everything is measured: what to do, why, with which tools, what is written down."""

from service.catalog.slots import Slot
from service.install.work import INTAKE, TOP_END, Draft, Work

LAID_OUT: Draft = (
    "Lay out parts and papers",
    (
        "Lay out every part of the list and tick it off by its number.",
        (
            "Read the instructions that came with each part; where they differ from this "
            "sheet, ask the builder before anything is undone."
        ),
    ),
    "A missing gasket is found now, not with the engine open.",
    (),
    (),
)
"""Lay out what goes on."""


def safe(work: Work) -> Draft | None:
    """Make engine and vehicle safe."""
    return (
        "Make the engine safe",
        (
            "Let it cool until a hand can rest on it.",
            "Take the negative cable off the battery.",
            "Take the pressure off the fuel system; catch what runs out; close the lines.",
            *(
                ("Run the blower, then smell and measure for vapour in bilge and engine space.",)
                if work.marine
                else ("Chock the wheels; a lift or stands, never a jack alone.",)
            ),
        ),
        "Hot coolant scalds, fuel under pressure burns.",
        ("fuel pressure gauge", "drip tray", "fire extinguisher for fuel fires"),
        (),
    )


def taken_off(work: Work) -> Draft | None:
    """Take off what is replaced."""
    return (
        "Take off what is replaced",
        (
            "Photograph lines, wires and brackets before they come off; label both ends.",
            *(("Drain coolant below the heads.",) if work.changed & (INTAKE | TOP_END) else ()),
            "Loosen bolts in the reverse of the tightening order, in two rounds.",
            "Close every port with a clean rag and count the rags: ____ in.",
        ),
        "What falls into a port comes out through a valve.",
        ("lifting gear for heavy castings", "clean rags, counted"),
        (),
    )


def faces(work: Work) -> Draft | None:
    """Measure the faces of the intake."""
    if not (work.changed & INTAKE):
        return None
    return (
        "Clean and measure the faces",
        (
            "Scrape with plastic or brass; no abrasive disc on aluminium.",
            "Measure how flat the faces are and write it down.",
        ),
        "Faces out of flat use up what a gasket gives.",
        ("straight edge", "feeler gauges"),
        ("face.*",),
    )


THREADS: Draft = (
    "Clean and measure threads",
    (
        ("Chase every thread with a chaser, not a cutting tap; blow the holes dry, eyes covered."),
        (
            "Turn each bolt in by hand without its part and count the turns to the bottom; "
            "compare with the others."
        ),
        "A hole that has lost turns gets an insert before anything goes on.",
    ),
    "Liquid in a blind hole cracks the casting; a bolt that bottoms holds nothing.",
    ("thread chaser", "depth gauge", "safety glasses"),
    (),
)
"""Measure threads and holes."""


def camshaft(work: Work) -> Draft | None:
    """Time the camshaft."""
    if Slot.CAMSHAFT not in work.changed:
        return None
    return (
        "Camshaft in and timed",
        (
            "Assembly lubricant on lobes and journals; new tappets on a new camshaft.",
            "Intake centreline by degree wheel: ____ ; the cam card says ____ .",
        ),
        "A tooth off bends valves.",
        ("degree wheel", "dial indicator", "assembly lubricant"),
        (),
    )


ROOM: Draft = (
    "Check the room that parts need",
    (
        (
            "Valve to piston, coils, retainers and lifter preload: on the engine, by hand, "
            "before the starter turns it. No figure of this sheet takes the place of it."
        ),
        "Where a reading is past its reject value: stop and ask the builder.",
    ),
    "Valve and piston that meet once end the engine.",
    ("modelling clay or checking springs", "dial indicator", "degree wheel"),
    ("room.*",),
)
"""Measure the room that parts need: on every sheet."""


def dry_fit(work: Work) -> Draft | None:
    """Try the manifold without sealant."""
    if not (work.changed & INTAKE):
        return None
    return (
        "Dry fit",
        (
            "Gaskets in place, no sealant. Every bolt starts by hand, three turns.",
            "Measure ports against ports"
            + (", and the gap at both end rails in four places." if work.rails else "."),
            "Close the hood over clay on the highest points.",
        ),
        "What does not start by hand is machined, not pulled over.",
        ("scriber", "inspection mirror", "modelling clay"),
        ("fit.*",),
    )


DRAFTS = (
    LAID_OUT,
    safe,
    taken_off,
    faces,
    THREADS,
    camshaft,
    ROOM,
    dry_fit,
)
"""In the order in which they are done."""
