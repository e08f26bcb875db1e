"""How a parts list is read back from an answer that is kept."""

from dataclasses import dataclass

from pydantic import ConfigDict, TypeAdapter

from service.errors import NotFound
from service.kits.parts_list import PartsList


@dataclass(frozen=True, slots=True)
class _Kept:
    __pydantic_config__ = ConfigDict(extra="ignore")

    parts_list: PartsList | None = None


class ListNotKept(NotFound):
    """The answer is older than parts lists are."""

    def __init__(self) -> None:
        super().__init__("This answer was given before parts lists were kept; ask it again.")


_KEPT = TypeAdapter(_Kept)


def list_of(body: bytes) -> PartsList:
    """Return the parts list of an assessment as it is kept, or raise `ListNotKept`."""
    found = _KEPT.validate_json(body).parts_list
    if found is None:
        raise ListNotKept
    return found
