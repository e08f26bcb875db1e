"""What a caller may ask the list of parts for."""

from dataclasses import dataclass
from enum import StrEnum

from service.catalog.flags import StreetLegalFlag
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


class PartSort(StrEnum):
    """By what a list of parts goes for a caller: a field, or the flag, which is computed."""

    SKU = "sku"
    TITLE = "title"
    PRICE = "price"
    STREET_LEGAL_FLAG = "street_legal_flag"

    @property
    def order(self) -> PartOrder | None:
        """The field; None: the flag."""
        return None if self is PartSort.STREET_LEGAL_FLAG else PartOrder(self.value)

    def key(self, part: Part, flag: StreetLegalFlag) -> str | int:
        """Return what a part is sorted by."""
        return _BEST_FIRST.index(flag) if self.order is None else self.order.key(part)


_BEST_FIRST = (
    StreetLegalFlag.DOCUMENTED,
    StreetLegalFlag.UNDETERMINED,
    StreetLegalFlag.NOT_DOCUMENTED,
    StreetLegalFlag.NOT_FOR_STREET_USE,
)


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
