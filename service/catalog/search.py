"""What a caller may ask the list of parts for."""

from dataclasses import dataclass
from enum import StrEnum

from service.catalog.parts import Part, PartStatus
from service.catalog.slots import Slot


class PartOrder(StrEnum):
    """By which field a list of parts goes; parts that tie go by SKU."""

    SKU = "sku"
    TITLE = "title"
    PRICE = "price"

    def key(self, part: Part) -> str | int:
        """Return what stands in that field."""
        match self:
            case PartOrder.SKU:
                return part.sku
            case PartOrder.TITLE:
                return part.title
            case PartOrder.PRICE:
                return part.price_cents


@dataclass(frozen=True, slots=True, kw_only=True)
class PartFilter:
    """Which parts are wanted; what is not said does not matter."""

    slot: Slot | None = None
    family: str | None = None
    status: PartStatus | None = None
    in_stock: bool | None = None
    max_price_cents: int | None = None
    currency: str = "USD"
    """Of the highest price: parts priced in another currency are left out."""
    words: str = ""
    """Each word has to stand in the SKU, the title or the maker's reference."""
