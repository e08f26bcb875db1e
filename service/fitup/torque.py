"""Torque and the preload that it leaves, and torques as three units that belong together."""

from dataclasses import dataclass
from enum import StrEnum
from math import pi, sqrt

from service.fitup.spans import Span
from service.fitup.threads import BoltClass, Casting, Thread, proof_load_n, strip_load_n
from service.units import lbft_to_nm, lbin_to_nm, nm_to_lbft, nm_to_lbin

WRENCH_USABLE_SHARE = (0.2, 0.8)
"""Of its full scale, within which a wrench is set (MSFC-STD-486B, 4.2) [-]."""
YIELD_SHARE = 0.65
"""Of yield, the most preload of an ordinary joint (MSFC-STD-486B, 4.1.2.2) [-]."""


class FrictionState(StrEnum):
    """How thread and underside of the head are when the wrench turns."""

    DRY = "dry"
    OIL = "oil"
    ANTI_SEIZE = "anti_seize"


NUT_FACTORS = {FrictionState.DRY: 0.20, FrictionState.OIL: 0.15, FrictionState.ANTI_SEIZE: 0.13}
"""K in T = K F d [-]: dry and the upper end of lubricated in NASA-TM-106943, p. 4; anti-seize as
.65 of dry, common practice without a source (.60 to .75)."""
SCATTER = {FrictionState.DRY: 0.35, FrictionState.OIL: 0.25, FrictionState.ANTI_SEIZE: 0.25}
"""Of the preload about its mean, by torque wrench (NASA-STD-5020B, table 3) [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Torque:
    """One torque in the three units in which a wrench may be marked."""

    torque_nm: float

    @property
    def torque_lbft(self) -> float:
        """In pound-force feet."""
        return nm_to_lbft(self.torque_nm)

    @property
    def torque_lbin(self) -> float:
        """In pound-force inches: twelve to the foot, not ten."""
        return nm_to_lbin(self.torque_nm)

    def __str__(self) -> str:
        return (
            f"{self.torque_nm:.1f} N·m ({self.torque_lbft:.1f} lbf·ft, "
            f"{self.torque_lbin:.0f} lbf·in)"
        )


def stated_torques_disagree(
    *, nm: float | None = None, lbft: float | None = None, lbin: float | None = None
) -> bool:
    """Whether torques printed side by side are not one torque.

    Each stands for what rounds to it: half a unit to each side of a whole number, half a
    tenth of one with a decimal place. 12 lbf·ft beside 120 lbf·in is caught: it is 144.
    """
    spans = [
        Span(to_nm(value - _half_place(value)), to_nm(value + _half_place(value)))
        for value, to_nm in ((nm, float), (lbft, lbft_to_nm), (lbin, lbin_to_nm))
        if value is not None
    ]
    return bool(spans) and max(s.low for s in spans) > min(s.high for s in spans)


def _half_place(value: float) -> float:
    return 0.5 if value == round(value) else 0.05


def nut_factor(thread: Thread, friction: float) -> float:
    """Return K for equal friction in thread and under the head (MIL-HDBK-60, 100.5) [-]."""
    return 0.159 * thread.pitch_mm / thread.diameter_mm + 1.156 * friction


def torque_for_preload_nm(thread: Thread, preload_n: float, factor: float) -> float:
    """Return T = K F d [N m]."""
    return factor * preload_n * thread.diameter_mm / 1000.0


def preload_from_torque_n(thread: Thread, torque_nm: float, factor: float) -> float:
    """Return F = T / (K d) [N]."""
    return torque_nm * 1000.0 / (factor * thread.diameter_mm)


def torque_in_state_nm(torque_nm: float, stated: FrictionState, actual: FrictionState) -> float:
    """Return the torque that gives the same preload in another state of friction [N m]."""
    return torque_nm * NUT_FACTORS[actual] / NUT_FACTORS[stated]


def assembly_preload_n(
    thread: Thread, bolt: BoltClass, friction: float, *, yield_share: float = 0.9
) -> float:
    """Return the preload at a share of yield under tension and twist (VDI 2230, from memory)."""
    neck = sqrt(4.0 * thread.stress_area_mm2 / pi)
    pitch, middle = thread.pitch_mm, thread.pitch_diameter_mm
    twist = 1.5 * middle / neck * (pitch / (pi * middle) + 1.155 * friction)
    stress = yield_share * bolt.yield_mpa / sqrt(1.0 + 3.0 * twist**2)
    return stress * thread.stress_area_mm2


def assembly_torque_nm(
    thread: Thread, preload_n: float, friction: float, *, head_mm: float, hole_mm: float
) -> float:
    """Return the torque for a preload, thread and underside apart (VDI 2230, from memory)."""
    lever = (
        0.16 * thread.pitch_mm
        + 0.58 * thread.pitch_diameter_mm * friction
        + (head_mm + hole_mm) / 4.0 * friction
    )
    return preload_n * lever / 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TorqueAdvice:
    """A torque, the preloads that it may leave, and what bounds it."""

    torque: Torque
    state: FrictionState
    preload_n: Span
    limit_n: float
    """The lower of proof load and stripping load [N]."""


def advised_torque(
    thread: Thread,
    bolt: BoltClass,
    casting: Casting,
    engaged_mm: float,
    state: FrictionState,
) -> TorqueAdvice:
    """Return the torque whose highest preload neither stretches the bolt nor strips the hole.

    The mean preload stays within .65 of yield too. Where the maker of the part prints a torque,
    the lower of the two is the one to use.
    """
    limit = min(proof_load_n(thread, bolt), strip_load_n(thread, casting, engaged_mm))
    scatter = SCATTER[state]
    most = YIELD_SHARE * bolt.yield_mpa * thread.stress_area_mm2
    mean = min(most, limit / (1.0 + scatter))
    return TorqueAdvice(
        torque=Torque(torque_nm=torque_for_preload_nm(thread, mean, NUT_FACTORS[state])),
        state=state,
        preload_n=Span(mean * (1.0 - scatter), mean * (1.0 + scatter)),
        limit_n=limit,
    )


def wrench_suits(torque_nm: float, full_scale_nm: float) -> bool:
    """Whether a torque lies in the middle of a wrench's scale, where it can be trusted."""
    low, high = WRENCH_USABLE_SHARE
    return low * full_scale_nm <= torque_nm <= high * full_scale_nm
