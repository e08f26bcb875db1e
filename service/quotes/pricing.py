"""What a line costs: price lists with their validity, quantity breaks, and the catalogue."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from service.catalog.parts import Part
from service.errors import FieldProblem, InvalidInput
from service.fitup.findings import Finding
from service.kits.parts_list import MachiningWork
from service.quotes.content import ChargedKind, QuoteContent, QuoteLine
from service.quotes.money import Item, LineKind
from service.quotes.needs import KitNeeds, supply_lines
from service.quotes.price_lists import PriceItem, PriceList

LONGEST_TITLE = 120
FROM_CATALOGUE = "catalogue"
FROM_DESK = "desk"
UNITS = {
    ChargedKind.PART: "each",
    ChargedKind.LABOUR: "h",
    ChargedKind.MACHINING: "job",
    ChargedKind.FREIGHT: "job",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceBook:
    """Everything that prices are taken from, looked up."""

    parts: Mapping[str, Part]
    prices: PriceList | None
    today: date

    def __post_init__(self) -> None:
        prices = self.prices
        if prices is None:
            return
        ended = prices.valid_to is not None and prices.valid_to < self.today
        if ended or self.today < prices.valid_from:
            until = "further notice" if prices.valid_to is None else str(prices.valid_to)
            detail = f"The price list holds from {prices.valid_from} until {until}."
            raise InvalidInput(FieldProblem(pointer="/price_list", code="not_valid", detail=detail))

    def entry(self, key: str) -> PriceItem | None:
        """Return what the price list says of a part or of work."""
        entries = () if self.prices is None else self.prices.items
        return next((one for one in entries if one.item == key), None)

    def lists(self, sku: str) -> bool:
        """Say whether the price list prices a part."""
        return self.entry(sku) is not None

    def items(self, content: QuoteContent, needs: KitNeeds) -> tuple[Item, ...]:
        """Return everything to be charged: kit, supplies, work asked for, further lines."""
        kit = [line for line in _kit_alone(content) if not self.is_unpriced(line)]
        require_one_currency(content.currency, self._currencies(content, kit))
        return (
            *(self._item(line) for line in kit),
            *(self._item(line) for line in supply_lines(content, needs, self.lists)),
            *(self._item(line) for line in self.machining(content, needs.findings)),
            *(
                self._item(line, place)
                for place, line in enumerate(content.lines)
                if not self.is_unpriced(line)
            ),
        )

    def is_unpriced(self, line: QuoteLine) -> bool:
        """Say whether nobody gave a part a price: the catalogue's 0 is none, the desk's is."""
        if line.sku is None or line.unit_price is not None or self.lists(line.sku):
            return False
        return not self.parts[line.sku].price_cents

    def unpriced(self, content: QuoteContent) -> Iterator[str]:
        """Yield the parts of the kit and of lines that the quote takes and does not charge."""
        for line in (*_kit_alone(content), *content.lines):
            if line.sku is not None and self.is_unpriced(line):
                title = self.parts[line.sku].title
                yield f"{line.quantity} {title} ({line.sku}): no price on record"

    def _currencies(self, content: QuoteContent, kit: list[QuoteLine]) -> dict[str, str]:
        found = {
            f"/lines/{place}/sku": self.parts[line.sku].currency
            for place, line in enumerate(content.lines)
            if line.sku is not None and line.unit_price is None and not self.entry(line.sku)
        }
        for line in kit:
            if line.sku is not None and not self.entry(line.sku):
                part = self.parts[line.sku]
                found[f"/question/parts/{part.slot}"] = part.currency
        for place, line in enumerate(content.lines):
            for name in ("unit_price", "core_deposit", "unit_cost"):
                if (said := getattr(line, name)) is not None:
                    found[f"/lines/{place}/{name}/currency"] = said.currency
        if self.prices is not None:
            found["/price_list"] = self.prices.currency
        return found

    def _item(self, line: QuoteLine, place: int | None = None) -> Item:
        quantity = Decimal(line.quantity)
        key = line.sku or line.finding
        entry = None if key is None else self.entry(key)
        if line.finding is not None:
            _require_priced(line, entry, place)
        part = None if line.sku is None else self.parts[line.sku]
        price_cents, source = self._price(line, entry, part, quantity)
        deposit = line.core_deposit or (None if entry is None else entry.core_deposit)
        cost = line.unit_cost or (None if entry is None else entry.unit_cost)
        return Item(
            kind=LineKind(line.kind),
            title=line.title or _title(entry, part),
            sku=line.sku,
            quantity=quantity,
            unit=UNITS[line.kind],
            unit_price_cents=price_cents,
            discount_percent=Decimal(line.discount_percent),
            core_deposit_cents=0 if deposit is None else deposit.cents,
            unit_cost_cents=None if cost is None else cost.cents,
            price_source=source,
            note=line.note,
        )

    def _price(
        self, line: QuoteLine, entry: PriceItem | None, part: Part | None, quantity: Decimal
    ) -> tuple[int, str]:
        if line.unit_price is not None:
            return line.unit_price.cents, FROM_DESK
        if entry is not None and self.prices is not None:
            return _step_cents(entry, quantity), f"price list {self.prices.key}"
        return (0 if part is None else part.price_cents), FROM_CATALOGUE

    def machining(
        self, content: QuoteContent, findings: Iterable[Finding]
    ) -> tuple[QuoteLine, ...]:
        """Return the work that findings ask for and the price list prices, not yet charged."""
        charged = {line.finding for line in content.lines}
        asked = {each.code: each for each in findings if each.code not in charged}
        return tuple(
            QuoteLine(
                kind=ChargedKind.MACHINING,
                title=None if entry.title else finding.remedy[:LONGEST_TITLE],
                finding=code,
                note=f"Asked for by the fit check: {finding.reason}",
            )
            for code, finding in asked.items()
            if (entry := self.entry(code)) is not None
        )


def listed_work(content: QuoteContent, work: Iterable[MachiningWork]) -> tuple[QuoteLine, ...]:
    """Return the catalogue's machining that findings ask for, at its price, not yet charged."""
    charged = {line.finding for line in content.lines}
    return tuple(
        QuoteLine(
            kind=ChargedKind.MACHINING,
            title=each.title,
            finding=each.finding,
            unit_price=each.price,
            note=f"{each.sku}, asked for by the fit check.",
        )
        for each in work
        if each.price is not None and each.finding not in charged
    )


def _kit_alone(content: QuoteContent) -> list[QuoteLine]:
    """Return a line for each part of the kit that no line names."""
    named = {line.sku for line in content.lines}
    return [
        QuoteLine(kind=ChargedKind.PART, sku=sku)
        for _, sku in sorted(content.question.parts.items())
        if sku not in named
    ]


def _title(entry: PriceItem | None, part: Part | None) -> str:
    return part.title if part is not None else (entry.title if entry else None) or ""


def _require_priced(line: QuoteLine, entry: PriceItem | None, place: int | None) -> None:
    """Raise where neither the desk nor the price list says what work is called and costs."""
    missing = [
        name
        for name, said in (
            ("title", line.title or (entry and entry.title)),
            ("unit_price", line.unit_price or entry),
        )
        if not said
    ]
    if missing:
        detail = f"The price list has no {missing[0]} for {line.finding}; say it here."
        raise InvalidInput(
            FieldProblem(pointer=f"/lines/{place or 0}/{missing[0]}", code="missing", detail=detail)
        )


def _step_cents(entry: PriceItem, quantity: Decimal) -> int:
    """Return the price of each at this quantity; below the first step it is the first."""
    reached = [step for step in entry.breaks if step.from_quantity <= quantity]
    return (reached or [entry.breaks[0]])[-1].unit_price.cents


def require_one_currency(currency: str, others: Mapping[str, str]) -> None:
    """Refuse what is priced in another currency; `others` holds it by pointer."""
    wrong = [
        FieldProblem(
            pointer=pointer,
            code="currency",
            detail=f"It is priced in {other}; the quote is in {currency}, and amounts of "
            "different currencies are never added.",
        )
        for pointer, other in others.items()
        if other != currency
    ]
    if wrong:
        raise InvalidInput(*wrong)
