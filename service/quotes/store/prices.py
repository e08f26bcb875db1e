"""Price lists and tax rules: put whole, read whole."""

from collections.abc import Sequence

from pydantic import TypeAdapter
from sqlmodel import Session, col, select

from service.errors import InvalidInput, StaleVersion
from service.quotes.money import TaxRule
from service.quotes.pricing import (
    PriceList,
    PriceListNotFound,
    TaxRuleNotFound,
    price_list_problems,
)
from service.quotes.tables import PriceListRow, TaxRuleRow
from service.stored import Stored

_PRICES = TypeAdapter(PriceList)
_TAX = TypeAdapter(TaxRule)


def put_price_list(session: Session, prices: PriceList, *, version: int | None) -> bool:
    """Take a price list in, or replace the one at `version`; answer whether it is new."""
    if problems := tuple(price_list_problems(prices)):
        raise InvalidInput(*problems)
    row = session.get(PriceListRow, prices.key, populate_existing=True, with_for_update=True)
    return _put(
        session, PriceListRow, row, prices.key, _PRICES.dump_python(prices, mode="json"), version
    )


def load_price_list(session: Session, key: str) -> Stored[PriceList]:
    """Return a price list, or raise `PriceListNotFound`."""
    row = session.get(PriceListRow, key)
    if row is None:
        raise PriceListNotFound(key)
    value = _PRICES.validate_python(row.value)
    return Stored(value=value, version=row.version, updated_at=row.updated_at)


def find_price_lists(session: Session, *, after: str, limit: int) -> list[Stored[PriceList]]:
    """Return the price lists after a key, by key."""
    statement = select(PriceListRow).where(PriceListRow.key > after)
    rows = session.exec(statement.order_by(col(PriceListRow.key)).limit(limit))
    return [
        Stored(
            value=_PRICES.validate_python(row.value), version=row.version, updated_at=row.updated_at
        )
        for row in rows
    ]


def put_tax_rule(session: Session, rule: TaxRule, *, version: int | None) -> bool:
    """Take a tax rule in, or replace the one at `version`; answer whether it is new."""
    row = session.get(TaxRuleRow, rule.key, populate_existing=True, with_for_update=True)
    return _put(session, TaxRuleRow, row, rule.key, _TAX.dump_python(rule, mode="json"), version)


def load_tax_rule(session: Session, key: str) -> Stored[TaxRule]:
    """Return a tax rule, or raise `TaxRuleNotFound`."""
    row = session.get(TaxRuleRow, key)
    if row is None:
        raise TaxRuleNotFound(key)
    return Stored(
        value=_TAX.validate_python(row.value), version=row.version, updated_at=row.updated_at
    )


def load_tax_rules(session: Session, keys: Sequence[str]) -> list[TaxRule]:
    """Return these tax rules in their order, or raise `TaxRuleNotFound`."""
    return [load_tax_rule(session, key).value for key in keys]


def find_tax_rules(session: Session, *, after: str, limit: int) -> list[Stored[TaxRule]]:
    """Return the tax rules after a key, by key."""
    statement = select(TaxRuleRow).where(TaxRuleRow.key > after)
    rows = session.exec(statement.order_by(col(TaxRuleRow.key)).limit(limit))
    return [
        Stored(
            value=_TAX.validate_python(row.value), version=row.version, updated_at=row.updated_at
        )
        for row in rows
    ]


def _put(
    session: Session,
    table: type[PriceListRow] | type[TaxRuleRow],
    row: PriceListRow | TaxRuleRow | None,
    key: str,
    value: dict[str, object],
    version: int | None,
) -> bool:
    if row is None:
        session.add(table(key=key, value=value))
    elif row.version != version:
        raise StaleVersion(row.version)
    else:
        row.keep(value)
    session.flush()
    return row is None
