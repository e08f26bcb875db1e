"""What stands beside a part about its papers: one word, its reason, and who decides."""

from dataclasses import dataclass
from enum import StrEnum

from service.catalog.slots import UseClass
from service.quantities import EDGE_CONFIG, Name, Text


class StreetLegalFlag(StrEnum):
    """What the file says of street use; never a verdict."""

    DOCUMENTED = "documented"
    NOT_DOCUMENTED = "not_documented"
    NOT_FOR_STREET_USE = "not_for_street_use"
    UNDETERMINED = "undetermined"


@dataclass(frozen=True, slots=True, kw_only=True)
class StreetUse:
    """The flag, who decides, and what it rests on."""

    __pydantic_config__ = EDGE_CONFIG

    street_legal_flag: StreetLegalFlag
    decided_by: Name
    sentence: Text


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedVehicle:
    """What a caller says of the vehicle; None: not known."""

    certified_for_road: bool | None = None
    engine_swapped: bool | None = None
    specially_constructed: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedApplication:
    """What a part would be used on, as far as a caller says."""

    use: UseClass | None = None
    place: str | None = None
    """Key of a jurisdiction profile."""
    model_year: int | None = None
    certified_for_road: bool | None = None
    """Whether the vehicle was certified for the road when new; None: not known."""
    engine_swapped: bool | None = None
    specially_constructed: bool | None = None
    family: str | None = None
    """Key of an engine family."""
