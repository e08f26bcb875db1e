"""The steps in their order, each with its reason, its tools and its checks."""

from collections.abc import Iterable
from dataclasses import dataclass

from service.catalog.slots import Slot
from service.install import closing_steps, opening_steps
from service.install.work import EXHAUST, INTAKE, Work
from service.quantities import EDGE_CONFIG, Count, Name, Text


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to do."""

    __pydantic_config__ = EDGE_CONFIG

    number: Count
    title: Text
    todo: tuple[Text, ...]
    reason: Text
    tools: tuple[Text, ...]
    checks: tuple[Name, ...]
    """Keys of the readings that belong to it; a star stands for all that begin so."""


def steps_for(work: Work) -> tuple[Step, ...]:
    """Return the steps of a kit."""
    plan = (*opening_steps.DRAFTS, *closing_steps.DRAFTS)
    drafts = [each if isinstance(each, tuple) else each(work) for each in plan]
    return tuple(
        Step(number=number, title=title, todo=todo, reason=reason, tools=tools, checks=checks)
        for number, (title, todo, reason, tools, checks) in enumerate(filter(None, drafts), start=1)
    )


def cautions_for(changed: frozenset[Slot], *, marine: bool, said: Iterable[str]) -> tuple[str, ...]:
    """Return what may hurt somebody, before anything else on the sheet."""
    found = [
        "Fuel: no flame, spark, heater or cigarette; extinguisher at hand; rags into a closed tin.",
        "Hot parts: exhaust and coolant stay hot for an hour; never open a hot cooling system.",
        (
            "Ventilation: engine fumes, solvents and curing sealant need moving air; never run an "
            "engine in a closed room."
        ),
    ]
    if changed & (INTAKE | EXHAUST | {Slot.CYLINDER_HEADS}):
        found.append(
            "Lifting: castings over 25 kg (55 lb) go with a hoist or two people; hands clear of "
            "the faces."
        )
    if marine:
        found.append(
            "Vessel: fuel vapour sinks into the bilge. Blower before and during work; only "
            "components shown not to ignite vapour; flame control back in place before a start."
        )
    return (*found, *said)


def tools_of(steps: Iterable[Step]) -> tuple[str, ...]:
    """Return the tools of all steps, each once."""
    return tuple(dict.fromkeys(tool for step in steps for tool in step.tools))
