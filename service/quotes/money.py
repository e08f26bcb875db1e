"""The arithmetic of a quote: integer cents, and the one function that makes its bill.

Every cent of a quote stands on a printed line, discounts and taxes too, and the total is
the sum of those lines: page, PDF and API print the same `Bill`.

Rounding: a line is unit price times quantity less its discount, rounded once, half a cent
up. A discount on the whole is rounded once, half a cent up. A tax is rounded as its rule
says: per line or on the sum, half up or half to even.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from enum import StrEnum

from service.money import Money, Price, decimal_text, money, price
from service.quantities import EDGE_CONFIG, Key, Name, PercentText

ONE = Decimal(1)
HUNDRED = Decimal(100)


class LineKind(StrEnum):
    """What a printed line stands for; more may be added."""

    PART = "part"
    CORE_DEPOSIT = "core_deposit"
    LABOUR = "labour"
    MACHINING = "machining"
    FREIGHT = "freight"
    DISCOUNT = "discount"
    TAX = "tax"


class Rounding(StrEnum):
    """What becomes of half a cent."""

    HALF_UP = "half_up"
    HALF_EVEN = "half_even"


class TaxBasis(StrEnum):
    """What a tax is worked out on, and so where it is rounded."""

    LINE = "line"
    SUM = "sum"


DISCOUNTED = frozenset({LineKind.PART, LineKind.LABOUR, LineKind.MACHINING})
"""What a discount on the whole takes from; deposits come back and freight is passed on."""

_MODES = {Rounding.HALF_UP: ROUND_HALF_UP, Rounding.HALF_EVEN: ROUND_HALF_EVEN}


@dataclass(frozen=True, slots=True, kw_only=True)
class TaxRule:
    """One tax as the shop has to charge it; which and how much, its adviser says."""

    __pydantic_config__ = EDGE_CONFIG

    key: Key
    title: Name
    rate_percent: PercentText
    kinds: tuple[LineKind, ...]
    """Kinds of line that it is charged on."""
    basis: TaxBasis
    rounding: Rounding


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One thing to be charged, priced."""

    kind: LineKind
    title: str
    quantity: Decimal
    unit: str
    unit_price_cents: int
    sku: str | None = None
    discount_percent: Decimal = Decimal(0)
    core_deposit_cents: int = 0
    """For each; comes back when the old part does."""
    unit_cost_cents: int | None = None
    """What it costs the shop; null: not known."""
    price_source: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BillLine:
    """One printed line."""

    __pydantic_config__ = EDGE_CONFIG

    kind: LineKind
    title: str
    sku: str | None
    quantity: str
    unit: str
    unit_price: Price | None
    """Null where the line is not a price times a quantity."""
    discount_percent: str
    amount: Money
    """A discount is negative."""
    price_source: str
    """Where the unit price comes from."""
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Bill:
    """Every printed line and their sum."""

    __pydantic_config__ = EDGE_CONFIG

    lines: tuple[BillLine, ...]
    total: Money


@dataclass(frozen=True, slots=True, kw_only=True)
class Margin:
    """What stays with the shop; for the desk alone."""

    __pydantic_config__ = EDGE_CONFIG

    amount: Money
    """Of the lines whose cost is known, less their cost and their share of the discount."""
    percent: str | None
    """Of those lines; null: none."""
    without_cost: tuple[str, ...]
    """Titles of the lines whose cost is not known; left out of the amount."""


def round_cents(amount_cents: Decimal, rounding: Rounding = Rounding.HALF_UP) -> int:
    """Return whole cents; the only place where money is rounded."""
    return int(amount_cents.quantize(ONE, rounding=_MODES[rounding]))


def bill(
    items: Iterable[Item],
    *,
    currency: str,
    discount_percent: Decimal = Decimal(0),
    taxes: Iterable[TaxRule] = (),
) -> Bill:
    """Return every line to be printed, and their sum."""
    charged = [
        part
        for item in items
        for part in (_goods(item, currency), _deposit(item, currency))
        if part is not None
    ]
    kinds = [(line.kind, amount) for line, amount in charged]
    shares = _discount_shares(kinds, discount_percent)
    lines = [line for line, _ in charged]
    if discount_percent:
        off = money(-sum(shares), currency)
        lines.append(_line(LineKind.DISCOUNT, f"Discount of {plain(discount_percent)} %", off))
    taxable = [(kind, amount - share) for (kind, amount), share in zip(kinds, shares, strict=True)]
    lines += [_tax_line(rule, taxable, currency) for rule in taxes]
    total = sum(line.amount.cents for line in lines)
    return Bill(lines=tuple(lines), total=money(total, currency))


def margin(items: Iterable[Item], *, currency: str, discount_percent: Decimal) -> Margin:
    """Return what stays with the shop of the lines whose cost is known."""
    priced = [(item, _amount(item)) for item in items]
    shares = _discount_shares([(item.kind, amount) for item, amount in priced], discount_percent)
    earned = revenue = 0
    for (item, amount), share in zip(priced, shares, strict=True):
        if item.unit_cost_cents is not None:
            revenue += amount - share
            earned += amount - share - round_cents(item.unit_cost_cents * item.quantity)
    share_percent = Decimal(earned) / revenue * HUNDRED if revenue else None
    return Margin(
        amount=money(earned, currency),
        percent=None if share_percent is None else f"{share_percent:.1f}",
        without_cost=tuple(item.title for item, _ in priced if item.unit_cost_cents is None),
    )


def plain(number: Decimal) -> str:
    """Return a number without trailing zeros and without an exponent.

    >>> plain(Decimal("10.50")), plain(Decimal("100"))
    ('10.5', '100')
    """
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _amount(item: Item) -> int:
    whole = item.unit_price_cents * item.quantity
    return round_cents(whole * (HUNDRED - item.discount_percent) / HUNDRED)


def _goods(item: Item, currency: str) -> tuple[BillLine, int]:
    amount = _amount(item)
    line = BillLine(
        kind=item.kind,
        title=item.title,
        sku=item.sku,
        quantity=plain(item.quantity),
        unit=item.unit,
        unit_price=price(item.unit_price_cents, currency),
        discount_percent=plain(item.discount_percent) if item.discount_percent else "",
        amount=money(amount, currency),
        price_source=item.price_source,
        note=item.note,
    )
    return line, amount


def _deposit(item: Item, currency: str) -> tuple[BillLine, int] | None:
    if not item.core_deposit_cents:
        return None
    amount = round_cents(item.core_deposit_cents * item.quantity)
    line = BillLine(
        kind=LineKind.CORE_DEPOSIT,
        title=f"Core deposit: {item.title}",
        sku=item.sku,
        quantity=plain(item.quantity),
        unit=item.unit,
        unit_price=price(item.core_deposit_cents, currency),
        discount_percent="",
        amount=money(amount, currency),
        price_source=item.price_source,
        note="Paid back when the old part comes back.",
    )
    return line, amount


def _line(kind: LineKind, title: str, amount: Money, note: str = "") -> BillLine:
    return BillLine(
        kind=kind,
        title=title,
        sku=None,
        quantity="",
        unit="",
        unit_price=None,
        discount_percent="",
        amount=amount,
        price_source="",
        note=note,
    )


def _discount_shares(charged: list[tuple[LineKind, int]], percent: Decimal) -> list[int]:
    """Return each line's share of the discount on the whole; the shares sum to it exactly."""
    exact = [
        amount * percent / HUNDRED if kind in DISCOUNTED else Decimal(0) for kind, amount in charged
    ]
    shares = [int(share) for share in exact]
    missing = round_cents(sum(exact, Decimal(0))) - sum(shares)
    # The cents that are left go to the lines that lost most by cutting off.
    by_loss = sorted(range(len(exact)), key=lambda place: shares[place] - exact[place])
    for place in by_loss[:missing]:
        shares[place] += 1
    return shares


def _tax_line(rule: TaxRule, taxable: list[tuple[LineKind, int]], currency: str) -> BillLine:
    rate = Decimal(rule.rate_percent) / HUNDRED
    bases = [amount for kind, amount in taxable if kind in rule.kinds]
    parts = bases if rule.basis is TaxBasis.LINE else [sum(bases)]
    tax = sum(round_cents(part * rate, rule.rounding) for part in parts)
    title = f"{rule.title}: {rule.rate_percent} % of {decimal_text(sum(bases))}"
    per = "each line" if rule.basis is TaxBasis.LINE else "the sum"
    half = "up" if rule.rounding is Rounding.HALF_UP else "to the even cent"
    return _line(
        LineKind.TAX, title, money(tax, currency), f"Rounded on {per}, half a cent {half}."
    )
