"""Price lists and tax rules: put whole, read whole."""

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from pydantic import TypeAdapter
from sqlmodel import Session, col, select

from service.columns import ValueRow
from service.errors import FieldProblem, InvalidInput, NotFound, PreconditionMissing, StaleVersion
from service.quotes.money import TaxRule
from service.quotes.price_lists import (
    PriceList,
    PriceListNotFound,
    TaxRuleNotFound,
    price_list_problems,
)
from service.quotes.tables import PriceListRow, TaxRuleRow
from service.stored import Stored


class Keyed(Protocol):
    """A value with a key of its own."""

    @property
    def key(self) -> str:
        """What it is called in addresses."""


T = TypeVar("T", bound=Keyed)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf(Generic[T]):
    """All values of one kind, each whole under its key."""

    table: type[PriceListRow] | type[TaxRuleRow]
    shape: TypeAdapter[T]
    missing: Callable[[str], NotFound]
    problems: Callable[[T], Iterable[FieldProblem]]

    def put(self, session: Session, value: T, *, versions: Collection[int] | None) -> Stored[T]:
        """Take a new value in, or replace the one that is at one of these versions."""
        if found := tuple(self.problems(value)):
            raise InvalidInput(*found)
        row = session.get(self.table, value.key, populate_existing=True, with_for_update=True)
        kept = self.shape.dump_python(value, mode="json")
        if row is not None and versions is None:
            raise PreconditionMissing
        current = None if row is None else row.version
        if versions is not None and current not in versions:
            raise StaleVersion(current)
        if row is None:
            session.add(self.table(key=value.key, value=kept))
        else:
            row.keep(kept)
        session.flush()
        return self.load(session, value.key)

    def load(self, session: Session, key: str) -> Stored[T]:
        """Return a value, or raise what says that there is none."""
        row = session.get(self.table, key)
        if row is None:
            raise self.missing(key)
        return self._stored(row)

    def find(self, session: Session, *, after: str, limit: int) -> list[Stored[T]]:
        """Return the values after a key, by key."""
        statement = select(self.table).where(col(self.table.key) > after)
        rows = session.exec(statement.order_by(col(self.table.key)).limit(limit))
        return [self._stored(row) for row in rows]

    def find_keys(self, session: Session) -> list[str]:
        """Return the key of every value; the values are not read."""
        return list(session.exec(select(self.table.key).order_by(col(self.table.key))))

    def _stored(self, row: ValueRow) -> Stored[T]:
        value = self.shape.validate_python(row.value)
        return Stored(value=value, version=row.version, updated_at=row.updated_at)


PRICE_LISTS: Shelf[PriceList] = Shelf(
    table=PriceListRow,
    shape=TypeAdapter(PriceList),
    missing=PriceListNotFound,
    problems=price_list_problems,
)
TAX_RULES: Shelf[TaxRule] = Shelf(
    table=TaxRuleRow,
    shape=TypeAdapter(TaxRule),
    missing=TaxRuleNotFound,
    problems=lambda _rule: (),
)


def load_tax_rules(session: Session, keys: Sequence[str]) -> list[TaxRule]:
    """Return these tax rules in their order, or raise `TaxRuleNotFound`."""
    return [TAX_RULES.load(session, key).value for key in keys]
