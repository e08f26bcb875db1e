"""How often each of the shop's rules speaks, over every combination of the catalogue.

A rule looks at few slots: the choices of those are tried one by one, by the code of an
assessment, and stand for all combinations that hold them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import prod

from service.catalog.rules import ShopRule
from service.fitup.rules import shop_rule_findings
from service.searches.screens import Offer, SubjectOf, slots_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Firing:
    """How often one rule speaks."""

    key: str
    family: str
    speaks: int
    """Combinations that it says something of."""
    combinations: int
    """All there are, whatever else keeps them apart."""


def firings(
    offer: Offer, subject_of: SubjectOf, family: str, rules: Sequence[ShopRule]
) -> tuple[Firing, ...]:
    """Return how often each rule that holds for a family speaks."""
    total = prod(offer.sizes)
    return tuple(
        Firing(
            key=rule.key,
            family=family,
            speaks=_speaks(offer, subject_of, rule, total),
            combinations=total,
        )
        for rule in rules
        if not rule.families or family in rule.families
    )


def _speaks(offer: Offer, subject_of: SubjectOf, rule: ShopRule, total: int) -> int:
    plain = offer.parts_of((0,) * len(offer.sizes))
    cases = [parts for _, parts in offer.cases(offer.places(slots_of(rule, offer)))]
    spoken = sum(
        bool(shop_rule_findings(subject_of({**plain, **parts}), (rule,))) for parts in cases
    )
    # Every case stands for as many combinations as every other.
    return spoken * (total // len(cases))
