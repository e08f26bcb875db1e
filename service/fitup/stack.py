"""The compression ratio of an engine as machined, worked out from the engine as it was built.

The family's ratio gives the clearance volume when all was new. What changed since is added
to it: chamber, head gasket, deck, bore and piston. What nobody measured is a span, so that
the ratio is one too, and it only widens with each thing that is not known.
"""

from dataclasses import dataclass
from math import pi

from service.catalog.families import EngineFamily, FactoryClearance
from service.errors import FieldProblem, InvalidInput
from service.fitup.compression import (
    CHAMBER_CUT_MM_PER_CM3,
    clearance_for_ratio_cm3,
    compression_ratio,
    disc_volume_cm3,
)
from service.fitup.machined import BankAsMachined, EngineAsMachined, HeadGasket, Unknown
from service.fitup.spans import Span, hull

LOWEST_RATIO, HIGHEST_RATIO = 5.0, 18.0
"""What the physics takes, as a stated ratio may be. [-]"""
_CHAMBER_SPREAD = Span(-2.0, 2.0)
"""Of castings about the catalogue's figure (common practice, no source) [cm³]."""
_USUAL_PISTON = Span(-10.0, 25.0)
"""Domes and dishes of pushrod engines (common practice, no source) [cm³]."""
_USUAL_DECK = Span(0.0, 1.0)
"""From the deck down to the piston (common practice, no source: up to .040 in) [mm]."""
_USUAL_GASKET_OVER_BORE = Span(0.5, 4.0)
"""By which a head gasket's bore is wider than the cylinder (common practice, no source) [mm]."""
_MM3_PER_CM3 = 1000.0
_NOTHING = Span.exactly(0.0)
_AS_BUILT = BankAsMachined()


@dataclass(frozen=True, slots=True, kw_only=True)
class Chambers:
    """Of the heads that the family's ratio belongs to, and of those chosen [cm³]."""

    stock_cm3: float
    chosen_cm3: float


class RatioOutOfReach(InvalidInput):
    """The figures told of the engine leave no compression ratio that an engine could have."""

    def __init__(self) -> None:
        super().__init__(
            FieldProblem(
                pointer="/engine/machined",
                code="compression_out_of_reach",
                detail="With these cuts, gaskets, chambers and pistons the compression ratio is "
                f"not between {LOWEST_RATIO:.0f} and {HIGHEST_RATIO:.0f}; look at their signs "
                "and units.",
            )
        )


def bore_span_mm(
    family: EngineFamily, bored_mm: float | None, machined: EngineAsMachined | None
) -> Span:
    """Return the bore: as stated, else the family's with what was taken out [mm].

    Raises
    ------
    InvalidInput
        If both the bore and an overbore are stated.
    """
    over = machined.overbore() if machined else _NOTHING
    if bored_mm is None:
        return Span.exactly(family.bore_mm) + over
    if over.greatest_size > 0.0:
        raise InvalidInput(
            FieldProblem(
                pointer="/engine/machined/overbore_mm",
                code="stated_twice",
                detail="`bore_mm` is the bore as it is; leave the overbore out beside it.",
            )
        )
    return Span.exactly(bored_mm)


def ratio_span(
    family: EngineFamily,
    chambers: Chambers,
    bore_mm: Span,
    stroke_mm: float,
    machined: EngineAsMachined | None,
) -> Span:
    """Return the compression ratios that this engine may have, over both of its banks [-].

    Raises
    ------
    RatioOutOfReach
        If part of the span is no engine's.
    """
    banks = machined.banks() if machined else (_AS_BUILT,)
    spans = [_bank_ratio(family, chambers, bore_mm, stroke_mm, bank) for bank in banks]
    found = hull(spans)
    if machined and not LOWEST_RATIO <= found.low <= found.high <= HIGHEST_RATIO:
        raise RatioOutOfReach
    return found


def _bank_ratio(
    family: EngineFamily,
    chambers: Chambers,
    bore_mm: Span,
    stroke_mm: float,
    bank: BankAsMachined,
) -> Span:
    new = clearance_for_ratio_cm3(
        disc_volume_cm3(family.bore_mm, family.stroke_mm), family.compression_ratio
    )
    clearance = (
        Span.exactly(new)
        + _chamber_change(chambers, bank)
        + _gasket_change(family, bank)
        + _deck_change(family, bore_mm, bank)
        + _piston_change(family.clearance, bank)
    )
    if clearance.low <= 0.0:
        raise RatioOutOfReach
    return Span(
        compression_ratio(disc_volume_cm3(bore_mm.low, stroke_mm), clearance.high),
        compression_ratio(disc_volume_cm3(bore_mm.high, stroke_mm), clearance.low),
    )


def _chamber_change(chambers: Chambers, bank: BankAsMachined) -> Span:
    if bank.chamber_cm3 is not None and not isinstance(bank.chamber_cm3, Unknown):
        return Span.exactly(bank.chamber_cm3 - chambers.stock_cm3)
    mill, (open_chamber, closed) = bank.head_mill(), CHAMBER_CUT_MM_PER_CM3
    taken = Span(mill.low / closed, mill.high / open_chamber)
    spread = _CHAMBER_SPREAD if isinstance(bank.chamber_cm3, Unknown) else _NOTHING
    return Span.exactly(chambers.chosen_cm3 - chambers.stock_cm3) + spread - taken


def _gasket_change(family: EngineFamily, bank: BankAsMachined) -> Span:
    if bank.new_head_gasket is None:
        return _NOTHING
    return _gasket_cm3(family, bank.new_head_gasket) - _gasket_cm3(
        family, bank.old_gasket(family.clearance)
    )


def _gasket_cm3(family: EngineFamily, gasket: HeadGasket) -> Span:
    bore = (
        Span.exactly(family.bore_mm) + _USUAL_GASKET_OVER_BORE
        if isinstance(gasket.bore_mm, Unknown)
        else Span.exactly(gasket.bore_mm)
    )
    return _disc_cm3(bore, gasket.thickness())


def _deck_change(family: EngineFamily, bore_mm: Span, bank: BankAsMachined) -> Span:
    """Return the change above the piston: the cut, and the ring that an overbore adds."""
    factory = family.clearance
    deck = Span.exactly(factory.deck_clearance_mm) if factory else _USUAL_DECK
    was = Span.exactly(family.bore_mm)
    ring = _disc_cm3(bore_mm, Span.exactly(1.0)) - _disc_cm3(was, Span.exactly(1.0))
    return ring * deck - _disc_cm3(bore_mm, bank.deck_cut())


def _piston_change(factory: FactoryClearance | None, bank: BankAsMachined) -> Span:
    if bank.piston_cm3 is None:
        return _NOTHING
    was = Span.exactly(factory.piston_cm3) if factory else _USUAL_PISTON
    if isinstance(bank.piston_cm3, Unknown):
        return hull((_USUAL_PISTON, was)) - was
    return Span.exactly(bank.piston_cm3) - was


def _disc_cm3(bore_mm: Span, height_mm: Span) -> Span:
    return bore_mm * bore_mm * height_mm * (pi / 4.0 / _MM3_PER_CM3)
