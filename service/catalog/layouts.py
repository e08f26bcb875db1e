"""How the joints of a family are bolted, and the castings that its heads were made in."""

from dataclasses import dataclass
from typing import Annotated

from annotated_types import Ge, Le, MinLen

from service.catalog.supplies import JointPlace, Locating, SmallMm, TappedHoles, TemperatureC
from service.quantities import EDGE_CONFIG, STRICT, Flag, LengthMm, Name


@dataclass(frozen=True, slots=True, kw_only=True)
class CastingGeneration:
    """One of the castings in which the family's heads were made."""

    __pydantic_config__ = EDGE_CONFIG

    name: Name
    """As the shop tells them apart."""
    locating_recess: Flag
    """Whether the intake face has recesses for the lugs of a carrier gasket."""
    located_by: Locating


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltPlace:
    """Where one bolt stands on its joint, seen from above, front of the engine up."""

    __pydantic_config__ = EDGE_CONFIG

    x_mm: Annotated[float, STRICT, Ge(-2000), Le(2000)]
    """To the right of the engine's middle. [mm]"""
    y_mm: Annotated[float, STRICT, Ge(-2000), Le(2000)]
    """Back from its front. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltLayout:
    """How one joint of a family is bolted."""

    __pydantic_config__ = EDGE_CONFIG

    place: JointPlace
    pattern: Name
    """Flange by the shop's own name, as its parts provide it."""
    holes: TappedHoles
    flange_mm: LengthMm
    """Thickness of the flange under the bolts' heads. [mm]"""
    flange_tolerance_mm: SmallMm = 0.5
    bolt_hole_mm: LengthMm | None = None
    """Diameter of the holes in the flange; null: ISO 273, medium. [mm]"""
    washer_mm: SmallMm = 0.0
    """Thickness of a loose washer under each head; 0: none. [mm]"""
    head_room_mm: LengthMm | None = None
    """Clear diameter at the boss of the bolt that has least; null: not recorded. [mm]"""
    socket_room_mm: LengthMm | None = None
    """Clear diameter above that head, as far up as a socket stands; null: not recorded. [mm]"""
    hottest_c: TemperatureC
    """That the joint comes to. [degrees C]"""
    bolts: Annotated[tuple[BoltPlace, ...], MinLen(2)]
    """Of one piece, where there are several."""
    pieces: Annotated[int, STRICT, Ge(1), Le(4)] = 1
    """Parts that are bolted on alike and apart from each other, such as a head on either bank."""

    @property
    def bolt_count(self) -> int:
        """Of all pieces together."""
        return self.pieces * len(self.bolts)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltedFlange:
    """What a part's own flange has at a pattern; null: as the family's layout."""

    __pydantic_config__ = EDGE_CONFIG

    pattern: Name
    """As the part needs it."""
    flange_mm: LengthMm | None = None
    """Thickness under the bolts' heads. [mm]"""
    flange_tolerance_mm: SmallMm | None = None
    bolt_hole_mm: LengthMm | None = None
    """Diameter of its holes for bolts. [mm]"""
    head_room_mm: LengthMm | None = None
    """Clear diameter at the boss of the bolt that has least. [mm]"""
    socket_room_mm: LengthMm | None = None
    """Clear diameter above that head, as far up as a socket stands. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PortOffsets:
    """How far ports and holes may stand off along the face before more work is asked for.

    The defaults, .010 and .020 in, are common practice without a source.
    """

    __pydantic_config__ = EDGE_CONFIG

    absorbed_mm: SmallMm = 0.254
    """Up to here gaskets and holes take it up. [mm]"""
    dry_fit_mm: SmallMm = 0.508
    """Up to here a dry fit decides; beyond, it is machined. [mm]"""
