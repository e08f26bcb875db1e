"""Which scopes open which address; an address that is named nowhere is opened by none."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from service.access.keys import Scope

DESK, SHOP = frozenset({Scope.DESK}), frozenset({Scope.SHOP})
STAFF = DESK | SHOP
EVERY_KEY = frozenset(Scope)

READ = frozenset({"GET"})
ASK = frozenset({"GET", "POST"})
ANY = frozenset({"GET", "POST", "PUT", "PATCH", "DELETE"})

LOGIN = "/login"
BUILDER = "/builder"
EMBED = "embed"
"""In an address of the builder: to be shown in a frame of the shop's storefront."""
PAGES = ("/desk", BUILDER, "/shop")
START = "/"
OPEN = (LOGIN, "/livez", "/readyz", "/openapi.json", "/problems", "/files")
"""Nothing there is anybody's: health, the API's description, the style of pages."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Right:
    """Who may use one address and what lies below it."""

    address: str
    methods: frozenset[str]
    scopes: frozenset[Scope]
    exact: bool = False
    """Not what lies below."""


def _rights(
    addresses: Iterable[str], methods: frozenset[str], scopes: frozenset[Scope]
) -> list[Right]:
    return [Right(address=each, methods=methods, scopes=scopes) for each in addresses]


CATALOGUE = (
    "/v1/engine-families",
    "/v1/parts",
    "/v1/shop-rules",
    "/v1/surfaces",
    "/v1/jurisdictions",
)
RIGHTS: tuple[Right, ...] = (
    *_rights(CATALOGUE, READ, EVERY_KEY),
    *_rights(CATALOGUE, ANY, SHOP),
    *_rights(("/v1/assessments", "/v1/comparisons", "/v1/searches"), ASK, EVERY_KEY),
    Right(address="/v1/quotes", methods=frozenset({"POST"}), scopes=EVERY_KEY - SHOP, exact=True),
    *_rights(("/v1/quotes", "/v1/price-lists", "/v1/tax-rules", "/v1/webhooks"), ANY, DESK),
    *_rights(("/v1/documents", "/v1/document-copies"), READ, STAFF),
    *_rights(("/v1/exports", "/v1/refusals"), READ, STAFF),
    *_rights(("/v1/documents", "/v1/imports"), ANY, SHOP),
    *_rights(("/v1/work-sheets",), ASK, STAFF),
    *_rights(("/v1/simulations", "/v1/jobs"), ANY, STAFF),
    *_rights((BUILDER,), READ, EVERY_KEY),
    *_rights(("/desk",), ANY, DESK),
    *_rights(("/shop",), READ, STAFF),
    *_rights(("/shop",), ANY, SHOP),
)
"""The first that names the address and the method counts."""


def is_open(path: str) -> bool:
    """Say whether an address is answered without a key."""
    return path == START or any(_lies_at(path, each) for each in OPEN)


def is_for_a_frame(method: str, path: str, query: Collection[str]) -> bool:
    """Say whether an address is what a storefront shows to everybody, in a frame.

    A browser sends no cookie of ours there (SameSite), so that nobody can be known.
    """
    return method in READ and _lies_at(path, BUILDER) and EMBED in query


def is_page(path: str) -> bool:
    """Say whether an address is one for people."""
    return any(_lies_at(path, each) for each in PAGES)


def scopes_for(method: str, path: str) -> frozenset[Scope]:
    """Return the scopes of which a key needs one; none: no key opens this."""
    for right in RIGHTS:
        here = path == right.address if right.exact else _lies_at(path, right.address)
        if here and method in right.methods:
            return right.scopes
    return frozenset()


def _lies_at(path: str, address: str) -> bool:
    return path == address or path.startswith(f"{address}/")
