"""How the intake manifold of a V engine comes to sit after decks and heads were cut.

Rigid bodies in the plane across the crank. Half the bank angle is φ; the intake face stands
β from the perpendicular to the deck, θ = φ + β from upright. A head that moves by δ along its
cylinder toward the crank carries its intake face along: δ cos β down the face, δ sin β away
from the manifold. The manifold sinks until both faces touch again. The end rails belong to
the block and do not move. Inline engines have none of this.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import cos, radians, sin, tan

from service.fitup.spans import Span, total

_LEVEL = 1e-9
"""Below this cosine or sine a face counts as level or upright, and nothing is divided by it."""
_NOTHING = Span.exactly(0.0)


class FitVerdict(StrEnum):
    """What the offset between ports asks for, the least work first."""

    ABSORBED = "absorbed"
    DRY_FIT = "dry_fit"
    MACHINE = "machine"


@dataclass(frozen=True, slots=True, kw_only=True)
class OffsetLadder:
    """Offsets along the face up to which less than machining will do.

    The defaults, .010 and .020 in, are common practice without a source.
    """

    absorbed_mm: float = 0.254
    dry_fit_mm: float = 0.508

    def verdict(self, offset_mm: Span) -> FitVerdict:
        """Return what the worst offset within the span asks for."""
        worst = offset_mm.greatest_size
        if worst <= self.absorbed_mm:
            return FitVerdict.ABSORBED
        return FitVerdict.DRY_FIT if worst <= self.dry_fit_mm else FitVerdict.MACHINE


@dataclass(frozen=True, slots=True, kw_only=True)
class BankCuts:
    """What was taken off, or put between, on one bank since the factory [mm]."""

    deck_cut_mm: Span = _NOTHING
    head_mill_mm: Span = _NOTHING
    head_gasket_growth_mm: Span = _NOTHING
    """New compressed head gasket less the old one; negative when it is thinner."""
    face_cut_mm: Span = _NOTHING
    """Off the intake face of the head and the side of the manifold together."""
    intake_gasket_growth_mm: Span = _NOTHING
    """New compressed intake gasket less the old one."""

    @property
    def head_move_mm(self) -> Span:
        """Movement δ of the head toward the crank [mm]."""
        return self.deck_cut_mm + self.head_mill_mm - self.head_gasket_growth_mm

    @property
    def face_room_mm(self) -> Span:
        """Room c - t made at the face [mm]."""
        return self.face_cut_mm - self.intake_gasket_growth_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """Where the manifold comes to sit, against where it sat when all was new [mm]."""

    drop_mm: Span
    """Toward the crank."""
    shift_mm: Span
    """Toward the right bank."""
    offset_right_mm: Span
    """Port of the right head above the manifold's, along the face; bolt holes alike."""
    offset_left_mm: Span

    @property
    def worst_offset_mm(self) -> Span:
        """Offset of the worse bank."""
        pair = (self.offset_right_mm, self.offset_left_mm)
        return max(pair, key=lambda offset: offset.greatest_size)


@dataclass(frozen=True, slots=True, kw_only=True)
class Vee:
    """The two angles of a V engine that decide the fit of its intake manifold."""

    bank_angle_deg: float
    face_angle_deg: float
    """β, from the perpendicular to the deck [deg]."""

    @property
    def included_angle_deg(self) -> float:
        """Between the two intake faces: bank angle and twice β [deg]."""
        return self.bank_angle_deg + 2.0 * self.face_angle_deg

    @property
    def half_bank_rad(self) -> float:
        """φ [rad]."""
        return radians(self.bank_angle_deg) / 2.0

    @property
    def face_rad(self) -> float:
        """β [rad]."""
        return radians(self.face_angle_deg)

    @property
    def upright_rad(self) -> float:
        """θ, of the face from upright [rad]."""
        return self.half_bank_rad + self.face_rad

    @property
    def wedges(self) -> bool:
        """Whether the faces hold the manifold between them: neither level nor upright."""
        return cos(self.upright_rad) > _LEVEL and sin(self.upright_rad) > _LEVEL

    def vertical_drop_mm(self, head_move_mm: Span) -> Span:
        """Return how far a head comes down: δ cos φ [mm]."""
        return head_move_mm * cos(self.half_bank_rad)

    def inboard_move_mm(self, head_move_mm: Span) -> Span:
        """Return how far a head comes toward the middle: δ sin φ [mm]."""
        return head_move_mm * sin(self.half_bank_rad)

    def side_factor(self) -> float | None:
        """Return S = sin φ / cos θ: cut on each side for full correction, per unit of δ [-].

        None where the face is level: no cut brings the ports back together.
        """
        return sin(self.half_bank_rad) / cos(self.upright_rad) if self.wedges else None

    def bottom_factor(self) -> float | None:
        """Return B = cos β / cos θ: cut under the manifold that goes with S, per δ [-].

        Some shops multiply S by √2 instead (1.743 for 90 and 10 degrees); the geometry of
        rigid bodies gives 1.7170.
        """
        return cos(self.face_rad) / cos(self.upright_rad) if self.wedges else None

    def seat(self, right: BankCuts, left: BankCuts) -> Seat | None:
        """Return where the manifold comes to sit; None where the faces do not hold it.

        Every result is a sum of the four inputs with fixed weights, so that its bounds are
        exact however wide the inputs are.
        """
        if not self.wedges:
            return None
        sin_b, upright = sin(self.face_rad), self.upright_rad
        down, aside = 0.5 / sin(upright), 0.5 / cos(upright)
        moves = (right.head_move_mm, left.head_move_mm)
        rooms = (right.face_room_mm, left.face_room_mm)
        return Seat(
            drop_mm=total((*(m * (sin_b * down) for m in moves), *(r * down for r in rooms))),
            shift_mm=(moves[0] - moves[1]) * (sin_b * aside) + (rooms[0] - rooms[1]) * aside,
            offset_right_mm=self._offset_mm(right, left),
            offset_left_mm=self._offset_mm(left, right),
        )

    def _offset_mm(self, own: BankCuts, other: BankCuts) -> Span:
        """Return -δ cos β + y cos θ - x sin θ for one bank, x counted toward it [mm]."""
        sinking, sliding = 0.5 / tan(self.upright_rad), 0.5 * tan(self.upright_rad)
        near, far = sinking - sliding, sinking + sliding
        sin_b = sin(self.face_rad)
        return total(
            (
                own.head_move_mm * (sin_b * near - cos(self.face_rad)),
                other.head_move_mm * (sin_b * far),
                own.face_room_mm * near,
                other.face_room_mm * far,
            )
        )


def vee_of(bank_angle_deg: float, face_angle_deg: float) -> Vee | None:
    """Return the geometry of a V engine; None for an inline engine, which has none."""
    if bank_angle_deg <= 0.0:
        return None
    return Vee(bank_angle_deg=bank_angle_deg, face_angle_deg=face_angle_deg)


def end_rail_gap_mm(gap_when_new_mm: Span, drop_mm: Span, rail_cut_mm: Span = _NOTHING) -> Span:
    """Return the gap at the end rails: new gap, less the drop, plus what was cut away [mm]."""
    return gap_when_new_mm - drop_mm + rail_cut_mm


def bolt_starts(
    offset_mm: float,
    *,
    hole_mm: float,
    bolt_mm: float,
    slot_mm: float = 0.0,
    tilt_deg: float = 0.0,
) -> bool:
    """Whether a bolt finds its thread: the offset across it stays within the hole's play.

    `slot_mm` is how far the hole is slotted past round, to each side; `tilt_deg` the angle
    of the bolt from the face's normal.
    """
    return abs(offset_mm * cos(radians(tilt_deg))) <= (hole_mm - bolt_mm) / 2.0 + slot_mm


def angle_mill_cut_mm(width_mm: float, angle_deg: float) -> float:
    """Return the depth at the deep side of a head milled at an angle: W tan A [mm]."""
    return width_mm * tan(radians(angle_deg))
