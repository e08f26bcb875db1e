"""Shop rules over HTTP."""

from fastapi import APIRouter, Response
from pydantic import TypeAdapter

from service.bodies import ApiRoute, MergePatchBody, patched
from service.catalog.rules import ShopRule
from service.catalog.schemas import RuleOut, rule_out
from service.catalog.store.lists import find_rules
from service.catalog.store.rules import add_rule, load_rule, save_rule
from service.conditional import ExpectedVersionDep, ValidatorsDep, version_etag
from service.database import ReadSessionDep, SessionDep
from service.paging import Page, PagingDep
from service.problems import problem_responses
from service.quantities import Key

router = APIRouter(prefix="/v1/shop-rules", tags=["catalogue"], route_class=ApiRoute)

_RULE = TypeAdapter(ShopRule)


@router.post("", status_code=201, responses=problem_responses(409, 415, 422))
def create_shop_rule(body: ShopRule, session: SessionDep, response: Response) -> RuleOut:
    """Take a new rule in; the parts and families that it names have to be there."""
    stored = add_rule(session, body)
    response.headers["Location"] = f"{router.prefix}/{body.key}"
    response.headers["ETag"] = version_etag(stored.version)
    return rule_out(stored)


@router.get("/{key}", responses=problem_responses(404, 422))
def read_shop_rule(key: Key, session: ReadSessionDep, validators: ValidatorsDep) -> RuleOut:
    """Return one rule."""
    stored = load_rule(session, key)
    validators.send(version_etag(stored.version))
    return rule_out(stored)


@router.get("", responses=problem_responses(400, 422))
def list_shop_rules(session: ReadSessionDep, paging: PagingDep) -> Page[RuleOut]:
    """Return the rules, by key."""
    after = str(paging.after[0]) if paging.after else None
    found = find_rules(session, after=after, limit=paging.fetch_count)
    return paging.page([rule_out(stored) for stored in found], lambda item: (item.key,))


@router.patch("/{key}", responses=problem_responses(404, 412, 415, 422, 428))
def update_shop_rule(
    key: Key,
    body: MergePatchBody,
    session: SessionDep,
    expected: ExpectedVersionDep,
    response: Response,
) -> RuleOut:
    """Change some fields of a rule; the key stays."""
    current = load_rule(session, key)
    version = expected.require(current.version)
    rule = patched(_RULE, current.value, body, key="key")
    stored = save_rule(session, rule, version=version)
    response.headers["ETag"] = version_etag(stored.version)
    return rule_out(stored)
