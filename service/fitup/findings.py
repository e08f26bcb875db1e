"""What a fit check says: one sentence of fault, one of remedy, and the numbers behind."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated

from annotated_types import MinLen

from service.catalog.rules import RuleSeverity
from service.quantities import EDGE_CONFIG, STRICT, Name, Text

COMMON_PRACTICE = "common practice, no source"
"""Said of a limit that the trade keeps and no standard prints."""

_SEVERITY_ORDER = (RuleSeverity.BLOCKS, RuleSeverity.WARNS, RuleSeverity.NOTES)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A number with its unit."""

    __pydantic_config__ = EDGE_CONFIG

    value: Annotated[float, STRICT]
    unit: Name
    """As printed: `mm`, `%`, `rev/min`; `-` where there is none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing to know about a kit before it is bolted on."""

    __pydantic_config__ = EDGE_CONFIG

    code: Name
    """Stable dotted word for the kind of finding."""
    severity: RuleSeverity
    """`blocks`: it cannot go together; `warns`: look first; `notes`: good to know."""
    parts: tuple[Name, ...]
    """SKUs of the parts concerned, in alphabetical order; empty: the engine itself."""
    measured: Reading | None = None
    limit: Reading | None = None
    reason: Annotated[Text, MinLen(1)]
    remedy: Annotated[Text, MinLen(1)]
    source: Annotated[Text, MinLen(1)]
    """Where the limit comes from."""


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings by severity (worst first), then code, then parts, then reason."""
    return tuple(
        sorted(
            findings,
            key=lambda finding: (
                _SEVERITY_ORDER.index(finding.severity),
                finding.code,
                finding.parts,
                finding.reason,
            ),
        )
    )
