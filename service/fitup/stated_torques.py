"""Torques that somebody wrote down for a joint, weighed against the one that is worked out.

The lower one counts until the maker of the part is asked, and where they differ both are said.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Annotated

from annotated_types import Gt, Le

from service.catalog.supplies import JointPlace
from service.fitup.spans import Span
from service.fitup.torque import Torque, TorqueAdvice, half_place, stated_torques_disagree
from service.quantities import EDGE_CONFIG, STRICT, Name
from service.units import lbft_to_nm, lbin_to_nm

TorqueNumber = Annotated[float, STRICT, Gt(0), Le(10_000)]


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedTorque:
    """One torque as it is printed or written down, in as many units as it is there."""

    __pydantic_config__ = EDGE_CONFIG

    torque_nm: TorqueNumber | None = None
    torque_lbft: TorqueNumber | None = None
    torque_lbin: TorqueNumber | None = None

    def __post_init__(self) -> None:
        if not self.readings_nm:
            msg = "a torque is written in at least one of torque_nm, torque_lbft, torque_lbin"
            raise ValueError(msg)

    @property
    def readings_nm(self) -> tuple[Span, ...]:
        """What rounds to each of its figures [N m]."""
        written = (
            (self.torque_nm, float),
            (self.torque_lbft, lbft_to_nm),
            (self.torque_lbin, lbin_to_nm),
        )
        return tuple(
            Span.around(to_nm(value), to_nm(half_place(value)))
            for value, to_nm in written
            if value is not None
        )

    @property
    def lowest_nm(self) -> float:
        """The lowest of its figures [N m]."""
        return min(each.middle for each in self.readings_nm)

    @property
    def lowest(self) -> Torque:
        """The same, as it is printed."""
        return Torque(torque_nm=self.lowest_nm)

    @property
    def disagrees(self) -> bool:
        """Whether its figures are not one torque."""
        return stated_torques_disagree(
            nm=self.torque_nm, lbft=self.torque_lbft, lbin=self.torque_lbin
        )

    def __str__(self) -> str:
        return " beside ".join(str(Torque(torque_nm=each.middle)) for each in self.readings_nm)


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedTorque(PrintedTorque):
    """A torque that the customer or a source states for the bolts of one joint."""

    __pydantic_config__ = EDGE_CONFIG

    joint: JointPlace
    """Which bolts it is for."""
    pattern: Name | None = None
    """Flange by the shop's own name, where the joint has several; null: all bolts of the joint."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighedTorque:
    """The torque to use on a joint."""

    torque: Torque
    stated: PrintedTorque | None
    """The one that is used; None: the one that was worked out is."""


def stated_for(
    stated: Iterable[StatedTorque], joint: str, pattern: str | None
) -> tuple[StatedTorque, ...]:
    """Return the torques that were stated for a joint."""
    return tuple(
        each
        for each in stated
        if each.joint.value == joint
        and (None in (each.pattern, pattern) or each.pattern == pattern)
    )


def weighed_torque(
    advice: TorqueAdvice | None, stated: Sequence[PrintedTorque]
) -> WeighedTorque | None:
    """Return the lowest of all torques for a joint; None where there is none."""
    lowest = min(stated, key=lambda each: each.lowest_nm, default=None)
    if lowest is not None and (advice is None or lowest.lowest_nm <= advice.torque.torque_nm):
        return WeighedTorque(torque=lowest.lowest, stated=lowest)
    return None if advice is None else WeighedTorque(torque=advice.torque, stated=None)


def pair_conflict(stated: PrintedTorque) -> str:
    """Say that the figures of a torque are not one torque; nothing where they are."""
    if not stated.disagrees:
        return ""
    return (
        f"Stated are {stated}: this is not one torque, a foot has twelve inches and not ten. The "
        "lowest counts until the maker of the part is asked which is meant."
    )


def conflicts(advice: TorqueAdvice | None, stated: Sequence[PrintedTorque]) -> tuple[str, ...]:
    """Say which stated torques are not each other, or not what was worked out."""
    figures = dict.fromkeys(str(each.lowest) for each in stated)
    found = []
    if len(figures) > 1:
        found.append(f"Several torques are stated: {'; '.join(figures)}. The lowest counts.")
    if advice is not None:
        found += [_against(each, advice) for each in stated]
    return tuple(filter(None, found))


def _against(stated: PrintedTorque, advice: TorqueAdvice) -> str:
    worked_out = advice.torque.torque_nm
    share = stated.lowest_nm / worked_out
    if min(each.low for each in stated.readings_nm) > worked_out:
        return (
            f"Stated is {stated.lowest}, MORE than the {advice.torque} that was worked out: with "
            f"it a bolt may be drawn to {share * advice.preload_n.high / 1e3:.1f} kN, and bolt or "
            f"thread gives at {advice.limit_n / 1e3:.1f} kN. The lower one counts; do not go above "
            "it before the maker of the part is asked."
        )
    if max(each.high for each in stated.readings_nm) < worked_out:
        return (
            f"Stated is {stated.lowest}, LESS than the {advice.torque} that was worked out: it "
            f"clamps with {share:.0%} of that preload. The lower one counts; ask the maker of the "
            "part, and look for leaks."
        )
    return ""
