"""Price lists and tax rules over HTTP: two kinds of value, one way to put and to read them."""

from collections.abc import Callable
from dataclasses import dataclass, fields
from typing import Annotated, Any, Generic, TypeVar

from fastapi import APIRouter, Header, Response

from service.bodies import ApiRoute
from service.conditional import ValidatorsDep, read_expected_version, version_etag
from service.database import ReadSessionDep, SessionDep
from service.errors import FieldProblem, InvalidInput
from service.paging import Page, PagingDep
from service.problems import problem_responses
from service.quantities import Key
from service.quotes.money import TaxRule
from service.quotes.price_lists import PriceList
from service.quotes.schemas import PriceListOut, TaxRuleOut
from service.quotes.store.prices import PRICE_LISTS, TAX_RULES, Shelf
from service.stored import Stored

router = APIRouter(prefix="/v1", tags=["quotes"], route_class=ApiRoute)

IfMatch = Annotated[
    str | None, Header(description="ETag of the version to be replaced; needed where there is one.")
]
PUT_PROBLEMS = problem_responses(409, 412, 415, 422, 428)

T = TypeVar("T", PriceList, TaxRule)
Out = TypeVar("Out", PriceListOut, TaxRuleOut)


@dataclass(frozen=True, slots=True, kw_only=True)
class Counter(Generic[T, Out]):
    """One shelf, as callers see it."""

    shelf: Shelf[T]
    shown: Callable[..., Out]

    def put(
        self, session: SessionDep, key: str, body: T, if_match: str | None, response: Response
    ) -> Out:
        """Take a value in under the key of its address."""
        if key != body.key:
            detail = f"The address says {key}; the key of an item never changes."
            raise InvalidInput(FieldProblem(pointer="/key", code="fixed", detail=detail))
        versions = None if if_match is None else read_expected_version(if_match).versions
        stored = self.shelf.put(session, body, versions=versions)
        response.headers["ETag"] = version_etag(stored.version)
        return self._out(stored)

    def read(self, session: ReadSessionDep, key: str, validators: ValidatorsDep) -> Out:
        """Return one value with its version."""
        stored = self.shelf.load(session, key)
        validators.send(version_etag(stored.version))
        return self._out(stored)

    def list(self, session: ReadSessionDep, paging: PagingDep) -> Page[Out]:
        """Return a piece of the shelf, by key."""
        after = str(paging.after[0]) if paging.after else ""
        found = self.shelf.find(session, after=after, limit=paging.fetch_count)
        return paging.page([self._out(each) for each in found], lambda item: (item.key,))

    def _out(self, stored: Stored[T]) -> Out:
        value: dict[str, Any] = {
            each.name: getattr(stored.value, each.name) for each in fields(stored.value)
        }
        return self.shown(**value, version=stored.version, updated_at=stored.updated_at)


PRICES = Counter(shelf=PRICE_LISTS, shown=PriceListOut)
TAXES = Counter(shelf=TAX_RULES, shown=TaxRuleOut)


@router.put("/price-lists/{key}", responses=PUT_PROBLEMS)
def put_prices(
    key: Key, body: PriceList, session: SessionDep, response: Response, if_match: IfMatch = None
) -> PriceListOut:
    """Take a price list in, or replace one; issued quotes keep the prices of their day."""
    return PRICES.put(session, key, body, if_match, response)


@router.get("/price-lists/{key}", responses=problem_responses(404, 422))
def read_price_list(key: Key, session: ReadSessionDep, validators: ValidatorsDep) -> PriceListOut:
    """Return one price list."""
    return PRICES.read(session, key, validators)


@router.get("/price-lists", responses=problem_responses(400, 422))
def list_price_lists(session: ReadSessionDep, paging: PagingDep) -> Page[PriceListOut]:
    """Return the price lists, by key."""
    return PRICES.list(session, paging)


@router.put("/tax-rules/{key}", responses=PUT_PROBLEMS)
def put_tax(
    key: Key, body: TaxRule, session: SessionDep, response: Response, if_match: IfMatch = None
) -> TaxRuleOut:
    """Take a tax rule in, or replace one; which tax is owed, the shop's adviser says."""
    return TAXES.put(session, key, body, if_match, response)


@router.get("/tax-rules/{key}", responses=problem_responses(404, 422))
def read_tax_rule(key: Key, session: ReadSessionDep, validators: ValidatorsDep) -> TaxRuleOut:
    """Return one tax rule."""
    return TAXES.read(session, key, validators)


@router.get("/tax-rules", responses=problem_responses(400, 422))
def list_tax_rules(session: ReadSessionDep, paging: PagingDep) -> Page[TaxRuleOut]:
    """Return the tax rules, by key."""
    return TAXES.list(session, paging)
