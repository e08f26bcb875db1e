"""The engine as it was machined: bank by bank, with what nobody measured as a range."""

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Annotated

from annotated_types import Ge, Gt, Le, MaxLen

from service.catalog.families import FactoryClearance
from service.catalog.supplies import Locating
from service.fitup.spans import Span
from service.fitup.stated_torques import StatedTorque
from service.fitup.vee import BankCuts
from service.quantities import EDGE_CONFIG, STRICT, Flag, LengthMm, Name, VolumeCm3

_USUAL_CUT = Span(0.0, 0.76)
"""What a shop takes off in one or two visits (common practice, no source: .030 in) [mm]."""
_USUAL_CHANGE = Span(-0.4, 0.4)
"""By which intake gaskets differ when compressed (common practice, no source) [mm]."""
_USUAL_HEAD_GASKET = Span(0.5, 1.9)
"""Compressed, from shims to thick composites (common practice: .020 to .075 in) [mm]."""
_USUAL_WARP = Span(0.0, 0.40)
"""Of intake faces (the widest service limit that was read) [mm]."""
_USUAL_OVERBORE = Span(0.0, 1.53)
"""Off the diameter (common practice: up to .060 in) [mm]."""


class Unknown(StrEnum):
    """Said of what nobody measured: it is carried through as a range."""

    UNKNOWN = "unknown"


CutMm = Annotated[float, STRICT, Ge(0), Le(10)]
"""Taken off a face. [mm]"""
ChangeMm = Annotated[float, STRICT, Ge(-5), Le(5)]
"""Thicker (positive) or thinner than before. [mm]"""
GapMm = Annotated[float, STRICT, Ge(0), Le(20)]
"""Between two faces. [mm]"""


GasketMm = Annotated[float, STRICT, Gt(0), Le(5)]
"""Compressed thickness. [mm]"""
PistonCm3 = Annotated[float, STRICT, Ge(-200), Le(200)]
"""Of a dish; a dome is negative. [cm³]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadGasket:
    """A head gasket between its faces."""

    __pydantic_config__ = EDGE_CONFIG

    compressed_mm: GasketMm | Unknown
    bore_mm: LengthMm | Unknown = Unknown.UNKNOWN

    def thickness(self) -> Span:
        """Return the compressed thickness [mm]."""
        return _span(self.compressed_mm, _USUAL_HEAD_GASKET)


DepthMm = Annotated[float, STRICT, Gt(0), Le(200)]
"""Into a hole. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class HolesAsFound:
    """The tapped holes of one joint; what is absent is as the family's layout says."""

    __pydantic_config__ = EDGE_CONFIG

    pitches_lost: Annotated[int, STRICT, Ge(0), Le(20)] | Unknown = 0
    """Turns of thread at the mouth that no longer hold; 0: clean."""
    repaired_insert: Flag = False
    """Whether a thread insert is in; its length is then `full_thread_mm`."""
    drilled_mm: DepthMm | Unknown | None = None
    """To the full width of the drill. [mm]"""
    full_thread_mm: DepthMm | Unknown | None = None
    """To which the thread is complete. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BankAsMachined:
    """One bank; what is absent is as the factory left it, `unknown` is carried as a range."""

    __pydantic_config__ = EDGE_CONFIG

    deck_cut_mm: CutMm | Unknown = 0.0
    """Off the block's deck. [mm]"""
    head_mill_mm: CutMm | Unknown = 0.0
    """Off the head's lower face. [mm]"""
    old_head_gasket: HeadGasket | None = None
    """Null: the factory's, as recorded for the family."""
    new_head_gasket: HeadGasket | None = None
    """Null: like the old one."""
    chamber_cm3: VolumeCm3 | Unknown | None = None
    """As measured after milling; null: the catalogue's, less what the mill took. [cm³]"""
    piston_cm3: PistonCm3 | Unknown | None = None
    """Of the piston's dish, a dome negative; null: as the factory's. [cm³]"""
    intake_face_cut_mm: CutMm | Unknown = 0.0
    """Off the head's intake face. [mm]"""
    manifold_side_cut_mm: CutMm | Unknown = 0.0
    """Off this side of the manifold. [mm]"""
    intake_gasket_change_mm: ChangeMm | Unknown = 0.0
    """Compressed thickness of the new intake gasket less the old one's. [mm]"""

    intake_out_of_flat_mm: GapMm | Unknown = 0.0
    """Of head and manifold face together. [mm]"""
    locating_recess: Flag | Unknown | None = None
    """Whether the intake face has recesses for a gasket's lugs; null: as the casting has it."""
    located_by: Locating | Unknown | None = None
    """What finds the manifold's place; null: as the casting has it."""
    intake_holes: HolesAsFound = HolesAsFound()
    """Of the head's intake face."""
    exhaust_holes: HolesAsFound = HolesAsFound()
    """Of the head's exhaust face."""
    deck_holes: HolesAsFound = HolesAsFound()
    """Of the block, for the head's bolts; a depth is as found after the deck was cut."""

    def out_of_flat(self) -> Span:
        """Return how far both intake faces together are out of flat [mm]."""
        return _span(self.intake_out_of_flat_mm, _USUAL_WARP)

    def side_cut(self) -> Span:
        """Return what was taken off the manifold's side [mm]."""
        return _span(self.manifold_side_cut_mm, _USUAL_CUT)

    def face_cut(self) -> Span:
        """Return what was taken off the head's intake face [mm]."""
        return _span(self.intake_face_cut_mm, _USUAL_CUT)

    def face_machined(self) -> bool:
        """Whether an intake face may have been cut."""
        return (self.side_cut() + self.face_cut()).high > 0.0

    def deck_cut(self) -> Span:
        """Return what was taken off the deck [mm]."""
        return _span(self.deck_cut_mm, _USUAL_CUT)

    def head_mill(self) -> Span:
        """Return what was taken off the head [mm]."""
        return _span(self.head_mill_mm, _USUAL_CUT)

    def cuts(self, factory: FactoryClearance | None) -> BankCuts:
        """Return the cuts as spans; `factory` tells of the gasket that was there when new."""
        return BankCuts(
            deck_cut_mm=self.deck_cut(),
            head_mill_mm=self.head_mill(),
            head_gasket_growth_mm=self._head_gasket_growth(factory),
            face_cut_mm=self.face_cut() + self.side_cut(),
            intake_gasket_growth_mm=_span(self.intake_gasket_change_mm, _USUAL_CHANGE),
        )

    def _head_gasket_growth(self, factory: FactoryClearance | None) -> Span:
        if self.new_head_gasket is None:
            return Span.exactly(0.0)
        return self.new_head_gasket.thickness() - self.old_gasket(factory).thickness()

    def old_gasket(self, factory: FactoryClearance | None) -> HeadGasket:
        """Return the head gasket that was there before."""
        if self.old_head_gasket is not None:
            return self.old_head_gasket
        if factory is None:
            return HeadGasket(compressed_mm=Unknown.UNKNOWN)
        return HeadGasket(compressed_mm=factory.head_gasket_mm, bore_mm=factory.head_gasket_bore_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineAsMachined:
    """What was cut on this engine, bank by bank.

    The compression ratio follows from it, unless one is stated beside it as measured.
    """

    __pydantic_config__ = EDGE_CONFIG

    right: BankAsMachined
    """Of an inline engine, its only bank."""
    left: BankAsMachined | None = None
    """Null: as the right bank."""
    overbore_mm: CutMm | Unknown = 0.0
    """Off the diameter of the cylinders; left out where `bore_mm` is stated. [mm]"""
    throttle_holes: HolesAsFound = HolesAsFound()
    """Of the manifold that goes on, for the throttle body."""
    casting_generation: Name | None = None
    """Of the factory's heads, as the family names it; null: not known."""
    stated_torques: Annotated[tuple[StatedTorque, ...], MaxLen(20)] = ()
    """Torques that the customer or a source states for this engine's joints."""
    end_rail_gap_mm: GapMm | None = None
    """Between manifold and end rails when all was new; null: not known. [mm]"""
    end_rail_cut_mm: CutMm | Unknown = 0.0
    """Off rails and the manifold's bottom together. [mm]"""
    end_rail_length_mm: Annotated[float, STRICT, Ge(20), Le(500)] | None = None
    """Of each rail, for the amount of sealant. [mm]"""

    def rail_cut_mm(self) -> Span:
        """Return what was taken off at the end rails [mm]."""
        return _span(self.end_rail_cut_mm, _USUAL_CUT)

    def overbore(self) -> Span:
        """Return what was taken off the diameter [mm]."""
        return _span(self.overbore_mm, _USUAL_OVERBORE)

    def changes_compression(self) -> bool:
        """Whether anything told of here bears on the compression ratio."""
        untouched = BankAsMachined()
        names = ("deck_cut_mm", "head_mill_mm", "new_head_gasket", "chamber_cm3", "piston_cm3")
        return self.overbore_mm != 0.0 or any(
            getattr(bank, name) != getattr(untouched, name)
            for bank in self.banks()
            for name in names
        )

    def tells_torques_alone(self) -> bool:
        """Whether torques are stated and nothing else: that opens no joint."""
        plain = EngineAsMachined(right=BankAsMachined())
        return bool(self.stated_torques) and replace(self, stated_torques=()) == plain

    def banks(self) -> tuple[BankAsMachined, BankAsMachined]:
        """Return right and left bank."""
        return self.right, self.left or self.right

    def cuts(self, factory: FactoryClearance | None) -> tuple[BankCuts, BankCuts]:
        """Return what was cut on the right and the left bank."""
        right, left = self.banks()
        return right.cuts(factory), left.cuts(factory)


def _span(value: float | Unknown, usual: Span) -> Span:
    return usual if isinstance(value, Unknown) else Span.exactly(value)
