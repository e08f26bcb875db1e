"""Torque and the preload that it leaves, and torques as three units that belong together."""

from dataclasses import dataclass
from enum import StrEnum

from service.fitup.friction import settled_preload_n
from service.fitup.printed_torques import INTO_ALUMINIUM, printed_torque_nm
from service.fitup.spans import Span
from service.fitup.threads import BoltClass, Casting, Metal, Thread, proof_load_n, strip_load_n
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
        Span(to_nm(value - half_place(value)), to_nm(value + half_place(value)))
        for value, to_nm in ((nm, float), (lbft, lbft_to_nm), (lbin, lbin_to_nm))
        if value is not None
    ]
    return bool(spans) and max(s.low for s in spans) > min(s.high for s in spans)


def half_place(value: float) -> float:
    """Return half of the last place to which a figure was written."""
    return 0.5 if value == round(value) else 0.05


def torque_for_preload_nm(thread: Thread, preload_n: float, factor: float) -> float:
    """Return T = K F d [N m]."""
    return factor * preload_n * thread.diameter_mm / 1000.0


def preload_from_torque_n(thread: Thread, torque_nm: float, factor: float) -> float:
    """Return F = T / (K d) [N]."""
    return torque_nm * 1000.0 / (factor * thread.diameter_mm)


def torque_in_state_nm(torque_nm: float, stated: FrictionState, actual: FrictionState) -> float:
    """Return the torque that gives the same preload in another state of friction [N m]."""
    return torque_nm * NUT_FACTORS[actual] / NUT_FACTORS[stated]


class TorqueBound(StrEnum):
    """What keeps a torque from being higher."""

    YIELD = "yield"
    PROOF = "proof"
    STRIPPING = "stripping"
    PRINTED = "printed"
    ALUMINIUM = "aluminium"


@dataclass(frozen=True, slots=True, kw_only=True)
class TorqueAdvice:
    """A torque, the preloads that it may leave, and what bounds it."""

    torque: Torque
    state: FrictionState
    preload_n: Span
    """Least once the joint has settled, most when just tightened."""
    limit_n: float
    """The lower of proof load and stripping load [N]."""
    bound: TorqueBound


def advised_torque(
    thread: Thread,
    bolt: BoltClass,
    casting: Casting,
    engaged_mm: float,
    state: FrictionState,
) -> TorqueAdvice:
    """Return the torque whose highest preload neither stretches the bolt nor strips the hole.

    The mean preload stays within .65 of yield too, the torque within public tables, and into
    aluminium within .70 of the dry one (US Army manuals). Where the maker of the part prints a
    torque, the lower of the two is the one to use.
    """
    scatter = SCATTER[state]
    proof, strip = proof_load_n(thread, bolt), strip_load_n(thread, casting, engaged_mm)
    limit = min(proof, strip)
    most = {
        TorqueBound.YIELD: YIELD_SHARE * bolt.yield_mpa * thread.stress_area_mm2,
        TorqueBound.PROOF: proof / (1.0 + scatter),
        TorqueBound.STRIPPING: strip / (1.0 + scatter),
    }
    factor = NUT_FACTORS[state]
    torques = {bound: torque_for_preload_nm(thread, n, factor) for bound, n in most.items()}
    torques |= _torques_of_the_trade_nm(thread, bolt, casting, state, min(torques.values()))
    bound = min(torques, key=lambda each: torques[each])
    mean = preload_from_torque_n(thread, torques[bound], factor)
    return TorqueAdvice(
        torque=Torque(torque_nm=torques[bound]),
        state=state,
        preload_n=settled_preload_n(mean, scatter),
        limit_n=limit,
        bound=bound,
    )


def _torques_of_the_trade_nm(
    thread: Thread, bolt: BoltClass, casting: Casting, state: FrictionState, worked_out_nm: float
) -> dict[TorqueBound, float]:
    """Return what tables and rules of the trade allow at most [N m]."""
    found = {}
    bare = torque_in_state_nm(worked_out_nm, state, FrictionState.DRY)
    printed = printed_torque_nm(thread, bolt, dry=state is FrictionState.DRY)
    if printed is not None:
        # No table prints anti-seize; it stands below oil by its nut factor.
        lubricated = FrictionState.OIL if state is FrictionState.ANTI_SEIZE else state
        found[TorqueBound.PRINTED] = torque_in_state_nm(printed, lubricated, state)
        bare = min(bare, printed_torque_nm(thread, bolt, dry=True) or bare)
    if casting.metal is Metal.ALUMINIUM:
        found[TorqueBound.ALUMINIUM] = INTO_ALUMINIUM * bare
    return found


def wrench_full_scale_nm(torque_nm: float) -> Span:
    """Return the full scales of wrenches that have a torque where they can be trusted [N m]."""
    low, high = WRENCH_USABLE_SHARE
    return Span(torque_nm / high, torque_nm / low)
