"""Price lists and tax rules over HTTP."""

from dataclasses import fields
from typing import Annotated, Any

from fastapi import APIRouter, Header, Response

from service.bodies import ApiRoute
from service.conditional import ValidatorsDep, read_expected_version, version_etag
from service.database import ReadSessionDep, SessionDep
from service.errors import FieldProblem, InvalidInput
from service.paging import Page, PagingDep
from service.problems import problem_responses
from service.quantities import Key
from service.quotes.money import TaxRule
from service.quotes.pricing import PriceList
from service.quotes.schemas import PriceListOut, TaxRuleOut
from service.quotes.store.prices import (
    find_price_lists,
    find_tax_rules,
    load_price_list,
    load_tax_rule,
    put_price_list,
    put_tax_rule,
)
from service.stored import Stored

router = APIRouter(prefix="/v1", tags=["quotes"], route_class=ApiRoute)

IfMatch = Annotated[
    str | None, Header(description="ETag of the version to be replaced; needed where there is one.")
]
PUT_PROBLEMS = problem_responses(412, 415, 422)


@router.put("/price-lists/{key}", responses=PUT_PROBLEMS)
def put_prices(
    key: Key, body: PriceList, session: SessionDep, response: Response, if_match: IfMatch = None
) -> PriceListOut:
    """Take a price list in, or replace one; issued quotes keep the prices of their day."""
    _require_key(key, body.key)
    put_price_list(session, body, version=_version(if_match))
    stored = load_price_list(session, key)
    response.headers["ETag"] = version_etag(stored.version)
    return _price_list_out(stored)


@router.get("/price-lists/{key}", responses=problem_responses(404, 422))
def read_price_list(key: Key, session: ReadSessionDep, validators: ValidatorsDep) -> PriceListOut:
    """Return one price list."""
    stored = load_price_list(session, key)
    validators.send(version_etag(stored.version))
    return _price_list_out(stored)


@router.get("/price-lists", responses=problem_responses(400, 422))
def list_price_lists(session: ReadSessionDep, paging: PagingDep) -> Page[PriceListOut]:
    """Return the price lists, by key."""
    after = str(paging.after[0]) if paging.after else ""
    found = find_price_lists(session, after=after, limit=paging.fetch_count)
    return paging.page([_price_list_out(each) for each in found], lambda item: (item.key,))


@router.put("/tax-rules/{key}", responses=PUT_PROBLEMS)
def put_tax(
    key: Key, body: TaxRule, session: SessionDep, response: Response, if_match: IfMatch = None
) -> TaxRuleOut:
    """Take a tax rule in, or replace one; which tax is owed, the shop's adviser says."""
    _require_key(key, body.key)
    put_tax_rule(session, body, version=_version(if_match))
    stored = load_tax_rule(session, key)
    response.headers["ETag"] = version_etag(stored.version)
    return _tax_rule_out(stored)


@router.get("/tax-rules/{key}", responses=problem_responses(404, 422))
def read_tax_rule(key: Key, session: ReadSessionDep, validators: ValidatorsDep) -> TaxRuleOut:
    """Return one tax rule."""
    stored = load_tax_rule(session, key)
    validators.send(version_etag(stored.version))
    return _tax_rule_out(stored)


@router.get("/tax-rules", responses=problem_responses(400, 422))
def list_tax_rules(session: ReadSessionDep, paging: PagingDep) -> Page[TaxRuleOut]:
    """Return the tax rules, by key."""
    after = str(paging.after[0]) if paging.after else ""
    found = find_tax_rules(session, after=after, limit=paging.fetch_count)
    return paging.page([_tax_rule_out(each) for each in found], lambda item: (item.key,))


def _version(if_match: str | None) -> int | None:
    if if_match is None:
        return None
    return max(read_expected_version(if_match).versions, default=None)


def _require_key(in_address: str, in_body: str) -> None:
    if in_address != in_body:
        detail = f"The address says {in_address}; the key of an item never changes."
        raise InvalidInput(FieldProblem(pointer="/key", code="fixed", detail=detail))


def _price_list_out(stored: Stored[PriceList]) -> PriceListOut:
    return PriceListOut(
        **_fields(stored.value), version=stored.version, updated_at=stored.updated_at
    )


def _tax_rule_out(stored: Stored[TaxRule]) -> TaxRuleOut:
    return TaxRuleOut(**_fields(stored.value), version=stored.version, updated_at=stored.updated_at)


def _fields(value: PriceList | TaxRule) -> dict[str, Any]:
    return {each.name: getattr(value, each.name) for each in fields(value)}
