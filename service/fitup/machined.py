"""The engine as it was machined: bank by bank, with what nobody measured as a range."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from annotated_types import Ge, Le

from service.fitup.spans import Span
from service.fitup.vee import BankCuts
from service.quantities import EDGE_CONFIG, STRICT

_USUAL_CUT = Span(0.0, 0.76)
"""What a shop takes off in one or two visits (common practice, no source: .030 in) [mm]."""
_USUAL_CHANGE = Span(-0.4, 0.4)
"""By which head or intake gaskets differ when compressed (common practice, no source) [mm]."""


class Unknown(StrEnum):
    """Said of what nobody measured: it is carried through as a range."""

    UNKNOWN = "unknown"


CutMm = Annotated[float, STRICT, Ge(0), Le(10)]
"""Taken off a face. [mm]"""
ChangeMm = Annotated[float, STRICT, Ge(-5), Le(5)]
"""Thicker (positive) or thinner than before. [mm]"""
GapMm = Annotated[float, STRICT, Ge(0), Le(20)]
"""Between two faces. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BankAsMachined:
    """One bank; what is absent is as the factory left it, `unknown` is carried as a range."""

    __pydantic_config__ = EDGE_CONFIG

    deck_cut_mm: CutMm | Unknown = 0.0
    """Off the block's deck. [mm]"""
    head_mill_mm: CutMm | Unknown = 0.0
    """Off the head's lower face. [mm]"""
    head_gasket_change_mm: ChangeMm | Unknown = 0.0
    """Compressed thickness of the new head gasket less the old one's. [mm]"""
    intake_face_cut_mm: CutMm | Unknown = 0.0
    """Off the head's intake face. [mm]"""
    manifold_side_cut_mm: CutMm | Unknown = 0.0
    """Off this side of the manifold. [mm]"""
    intake_gasket_change_mm: ChangeMm | Unknown = 0.0
    """Compressed thickness of the new intake gasket less the old one's. [mm]"""

    def cuts(self) -> BankCuts:
        """Return the cuts as spans."""
        return BankCuts(
            deck_cut_mm=_span(self.deck_cut_mm, _USUAL_CUT),
            head_mill_mm=_span(self.head_mill_mm, _USUAL_CUT),
            head_gasket_growth_mm=_span(self.head_gasket_change_mm, _USUAL_CHANGE),
            face_cut_mm=_span(self.intake_face_cut_mm, _USUAL_CUT)
            + _span(self.manifold_side_cut_mm, _USUAL_CUT),
            intake_gasket_growth_mm=_span(self.intake_gasket_change_mm, _USUAL_CHANGE),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineAsMachined:
    """What was cut on this engine, bank by bank.

    The compression ratio does not follow from it: it is stated beside it, as measured.
    """

    __pydantic_config__ = EDGE_CONFIG

    right: BankAsMachined
    """Of an inline engine, its only bank."""
    left: BankAsMachined | None = None
    """Null: as the right bank."""
    end_rail_gap_mm: GapMm | None = None
    """Between manifold and end rails when all was new; null: not known. [mm]"""
    end_rail_cut_mm: CutMm | Unknown = 0.0
    """Off rails and the manifold's bottom together. [mm]"""
    end_rail_length_mm: Annotated[float, STRICT, Ge(20), Le(500)] | None = None
    """Of each rail, for the amount of sealant. [mm]"""

    def rail_cut_mm(self) -> Span:
        """Return what was taken off at the end rails [mm]."""
        return _span(self.end_rail_cut_mm, _USUAL_CUT)

    def banks(self) -> tuple[BankCuts, BankCuts]:
        """Return right and left bank."""
        right = self.right.cuts()
        return right, self.left.cuts() if self.left else right


def _span(value: float | Unknown, usual: Span) -> Span:
    return usual if isinstance(value, Unknown) else Span.exactly(value)
