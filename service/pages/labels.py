"""What the fields of a form are called: their names in words, with the unit behind."""

import re
from collections.abc import Mapping
from typing import Any

from service.catalog.devices import Device
from service.pages.words import device, plain

UNITS = {
    "_lb_per_h": "lb/h",
    "_inh2o": "inH₂O",
    "_cm3": "cm³",
    "_mm2": "mm²",
    "_days": "days",
    "_deg": "deg",
    "_kpa": "kPa",
    "_cfm": "ft³/min",
    "_rpm": "rev/min",
    "_kg": "kg",
    "_mm": "mm",
    "_nm": "N·m",
    "_g": "g",
}
"""By the ending of a field's name; the longer ones first."""
OWN_WORDS = {
    "by": "who does it",
    "customer-name": "name",
    "customer-reference": "what they call the matter",
    "valid_until": "good until",
    "sku": "SKU",
    "duration_at_1_27_mm_deg": "duration at 1.27 mm, deg",
    "octane_aki_min": "octane needed, AKI",
}
ASKED = {
    "budget": "how much at most",
    "power_at_least": "power at least",
    "torque_at_least": "pull at least",
    "torque_speed": "rev/min at which the pull is wanted",
    "band_from": "rev/min from which it has to pull well",
    "band_to": "rev/min up to which it has to pull well",
    "aim": "what matters most",
    "papers": "what has to be on file",
    "place": "where",
    "use": "used for what",
    "family": "which engine",
}
"""Fields of the desk's own form, as it asks for them."""
_UNIT_IN_HINT = re.compile(r"\s*\[[^\]]*\]\s*$")


def label_of(name: str) -> str:
    """Return what a field is called.

    >>> label_of("spec/runner_length_mm")
    'runner length, mm'
    """
    last = name.rsplit("/", 1)[-1]
    if last.startswith("by-"):
        # Each move of a quote has its own.
        last = "by"
    if last in OWN_WORDS:
        return OWN_WORDS[last]
    for ending, unit in UNITS.items():
        if last.endswith(ending) and last != ending[1:]:
            return f"{last.removesuffix(ending).replace('_', ' ')}, {unit}"
    return last.replace("_", " ").replace("-", " ")


def choice_label(key: str) -> str:
    """Return what a word of a list is called.

    >>> choice_label("egr"), choice_label("intake_manifold")
    ('EGR, Exhaust gas recirculation: valve, passages, cooler', 'intake manifold')
    """
    return device(key) if key in set(Device) else plain(key)


def hint_of(schema: Mapping[str, Any]) -> str:
    """Return what a field is about and between which limits it lies."""
    about = _UNIT_IN_HINT.sub("", " ".join(schema.get("description", "").split()))
    return " ".join(part for part in (about, _limits(schema)) if part)


def _limits(schema: Mapping[str, Any]) -> str:
    low, above = schema.get("minimum"), schema.get("exclusiveMinimum")
    high = schema.get("maximum")
    parts = []
    if low is not None:
        parts.append(f"at least {low:,.12g}")
    if above is not None:
        parts.append(f"more than {above:,.12g}")
    if high is not None:
        parts.append(f"at most {high:,.12g}")
    text = ", ".join(parts)
    return f"{text[0].upper()}{text[1:]}." if text else ""
