"""Run every fit check on a kit, in a fixed order."""

from collections.abc import Iterable, Sequence

from service.catalog.parts import Part
from service.catalog.rules import ShopRule
from service.catalog.slots import Slot
from service.fitup.changes import Alternatives
from service.fitup.findings import Finding, in_order
from service.fitup.fuelling import (
    every_cylinder_has_an_injector,
    fuel_is_the_calibrations_own,
    injectors_carry_the_power,
    octane_suits_the_calibration,
    octane_suits_the_compression,
)
from service.fitup.interfaces import interface_findings, opening_findings
from service.fitup.joint_findings import (
    joint_findings,
    stated_torques_agree,
)
from service.fitup.machining import compression_is_worked_out, cuts_are_allowed_for
from service.fitup.moved import manifold_finds_its_place
from service.fitup.rules import (
    catalyst_keeps_its_place,
    every_part_is_current,
    every_part_is_listed_for_the_family,
    every_required_slot_is_filled,
    shop_rule_findings,
    throttle_drive_is_stated,
)
from service.fitup.subject import FitSubject
from service.fitup.valvetrain import (
    overlap_suits_the_use,
    piston_clears_valves,
    piston_speed_is_usual,
    speed_stays_within_the_bottom_end,
    valve_lift_stays_within_the_heads_limit,
)

BUILT_IN_RULES = (
    every_required_slot_is_filled,
    every_part_is_listed_for_the_family,
    every_part_is_current,
    valve_lift_stays_within_the_heads_limit,
    piston_clears_valves,
    overlap_suits_the_use,
    speed_stays_within_the_bottom_end,
    piston_speed_is_usual,
    every_cylinder_has_an_injector,
    fuel_is_the_calibrations_own,
    octane_suits_the_calibration,
    octane_suits_the_compression,
    throttle_drive_is_stated,
    catalyst_keeps_its_place,
    cuts_are_allowed_for,
    compression_is_worked_out,
    manifold_finds_its_place,
    stated_torques_agree,
)


PER_PART_RULES = (every_part_is_listed_for_the_family, every_part_is_current)
"""Those of the built-in rules that look at each part by itself."""
LOOKS_AT = {
    valve_lift_stays_within_the_heads_limit: (Slot.CAMSHAFT, Slot.CYLINDER_HEADS),
    piston_clears_valves: (Slot.CAMSHAFT, Slot.CYLINDER_HEADS),
    overlap_suits_the_use: (Slot.CAMSHAFT,),
    speed_stays_within_the_bottom_end: (Slot.CALIBRATION,),
    piston_speed_is_usual: (Slot.CALIBRATION,),
    every_cylinder_has_an_injector: (Slot.INJECTORS,),
    fuel_is_the_calibrations_own: (Slot.CALIBRATION,),
    octane_suits_the_calibration: (Slot.CALIBRATION,),
    octane_suits_the_compression: (Slot.CYLINDER_HEADS,),
    throttle_drive_is_stated: (Slot.THROTTLE_BODY,),
    catalyst_keeps_its_place: (Slot.EXHAUST_MANIFOLD,),
    cuts_are_allowed_for: (Slot.INTAKE_MANIFOLD, Slot.CYLINDER_HEADS),
    compression_is_worked_out: (Slot.CYLINDER_HEADS,),
    manifold_finds_its_place: (Slot.INTAKE_MANIFOLD, Slot.CYLINDER_HEADS),
    stated_torques_agree: (),
}
"""Which slots of a complete kit each of the others looks at. The heads decide the compression
ratio, the calibration the rev limit. A search tries a rule on these slots alone, so that a
slot left out here would be a wrong answer there; a test reads along."""


def fit_findings(
    subject: FitSubject,
    rules: Iterable[ShopRule],
    alternatives: Alternatives,
    expected_power_w: float | None,
    supplies: Sequence[Part] = (),
) -> tuple[Finding, ...]:
    """Return all findings: worst first, then by code and part.

    `supplies` are the gaskets, bolts and the like that the shop has for the family;
    `alternatives` are the current catalogue parts of every slot, for remedies;
    `expected_power_w` is the crankshaft power that the injectors have to feed, None where
    it is not known. [W]
    """
    found = [finding for rule in BUILT_IN_RULES for finding in rule(subject)]
    found += interface_findings(subject, alternatives, supplies)
    found += opening_findings(subject, alternatives)
    found += injectors_carry_the_power(subject, expected_power_w)
    found += joint_findings(subject, supplies)
    found += shop_rule_findings(subject, rules)
    return in_order(found)
