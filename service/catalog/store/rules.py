"""Shop rules: written and read."""

from collections.abc import Sequence

from pydantic import TypeAdapter
from sqlmodel import Session, col, select

from service.catalog.integrity import rule_problems
from service.catalog.rules import RuleKeyTaken, RuleNotFound, ShopRule
from service.catalog.store.index import load_index
from service.catalog.tables import ShopRuleRow
from service.errors import InvalidInput, StaleVersion
from service.revision import lock_catalog, raise_catalog_revision
from service.stored import Stored, Written

VALUES = TypeAdapter(ShopRule)


def load_rule(session: Session, key: str) -> Stored[ShopRule]:
    """Return the rule with this key, or raise `RuleNotFound`."""
    row = _find_row(session, key)
    if row is None:
        raise RuleNotFound(key)
    return stored_rule(row)


def find_family_rules(session: Session, family_key: str) -> list[ShopRule]:
    """Return the rules that hold for a family, by key."""
    rows = session.exec(select(ShopRuleRow).order_by(col(ShopRuleRow.key)))
    rules = [stored_rule(row).value for row in rows]
    return [rule for rule in rules if not rule.families or family_key in rule.families]


def add_rule(session: Session, rule: ShopRule) -> Stored[ShopRule]:
    """Take a new rule in; the parts and families that it names have to be there."""
    lock_catalog(session)
    if _find_row(session, rule.key) is not None:
        raise RuleKeyTaken(rule.key)
    return _write(session, rule)


def save_rule(session: Session, rule: ShopRule, *, version: int) -> Stored[ShopRule]:
    """Replace a rule that is still at `version`."""
    lock_catalog(session)
    current = load_rule(session, rule.key)
    if current.version != version:
        raise StaleVersion(current.version)
    return _write(session, rule)


def put_rules(session: Session, rules: Sequence[ShopRule]) -> Written:
    """Write rules that have been checked."""
    keys = [rule.key for rule in rules]
    found = session.exec(select(ShopRuleRow).where(col(ShopRuleRow.key).in_(keys)))
    rows = {row.key: row for row in found}
    created = updated = 0
    for rule in rules:
        value = VALUES.dump_python(rule, mode="json")
        row = rows.get(rule.key)
        if row is None:
            session.add(ShopRuleRow(key=rule.key, value=value))
            created += 1
        elif row.keep(value):
            updated += 1
    if created or updated:
        session.flush()
        raise_catalog_revision(session)
    return Written(created=created, updated=updated, unchanged=len(rules) - created - updated)


def stored_rule(row: ShopRuleRow) -> Stored[ShopRule]:
    """Return what a row keeps."""
    value = VALUES.validate_python(row.value)
    return Stored(value=value, version=row.version, updated_at=row.updated_at)


def _find_row(session: Session, key: str) -> ShopRuleRow | None:
    statement = select(ShopRuleRow).where(ShopRuleRow.key == key)
    return session.exec(statement.execution_options(populate_existing=True)).first()


def _write(session: Session, rule: ShopRule) -> Stored[ShopRule]:
    if problems := rule_problems(rule, load_index(session)):
        raise InvalidInput(*problems)
    put_rules(session, [rule])
    return load_rule(session, rule.key)
