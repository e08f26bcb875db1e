"""What has to be true between the values of a catalogue, and inside one of them.

Every check returns what is wrong, with a pointer to the field. The index it looks into
may be the stored catalogue or the catalogue as it would stand after an import.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from itertools import pairwise

from service.catalog.families import EngineFamily
from service.catalog.parts import Part, PartStatus
from service.catalog.rules import RuleKind, ShopRule
from service.catalog.slots import KIT_SLOTS, Slot
from service.catalog.specs import CylinderHeadsSpec, FlowPoint
from service.errors import FieldProblem
from service.wording import banned_fields


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedPart:
    """What other values rely on in a part."""

    slot: Slot
    families: tuple[str, ...]
    superseded_by: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CatalogIndex:
    """The keys of a catalogue and how they point at each other."""

    stock_parts: Mapping[str, Mapping[Slot, str]]
    """By family key: the SKU of the factory part of each slot."""
    parts: Mapping[str, ListedPart]
    """By SKU."""

    def with_values(
        self, families: Sequence[EngineFamily], parts: Sequence[Part]
    ) -> "CatalogIndex":
        """Return the index as it stands once these values are written."""
        return CatalogIndex(
            stock_parts={**self.stock_parts, **{f.key: f.stock_parts for f in families}},
            parts={
                **self.parts,
                **{part.sku: _listed(part) for part in parts},
            },
        )


_NOT_OURS = r"/maker_reference|/documents/\d+|/exterior/corrections/\d+/was"


def family_problems(family: EngineFamily, index: CatalogIndex) -> list[FieldProblem]:
    """Return what is wrong with a family; its factory parts have to be in the index."""
    problems = list(_years(family.first_model_year, family.last_model_year, ""))
    problems += banned_fields(asdict(family), _NOT_OURS)
    if family.port_offsets.absorbed_mm > family.port_offsets.dry_fit_mm:
        detail = "`absorbed_mm` is past `dry_fit_mm`, at which machining begins."
        problems.append(_problem("/port_offsets/absorbed_mm", "out_of_order", detail))
    problems += _repeats(family.use_classes, "/use_classes")
    problems += _repeats(family.required_slots, "/required_slots")
    for place, slot in enumerate(family.required_slots):
        if slot not in KIT_SLOTS:
            problems.append(_no_place(f"/required_slots/{place}", slot))
    for slot, sku in family.stock_parts.items():
        if slot not in KIT_SLOTS:
            problems.append(_no_place(f"/stock_parts/{slot.value}", slot))
        pointer = f"/stock_parts/{slot.value}"
        part = index.parts.get(sku)
        if part is None:
            problems.append(_unknown(pointer, "part", sku))
        elif part.slot != slot:
            problems.append(_wrong_slot(pointer, sku, part.slot, slot))
        elif family.key not in part.families:
            detail = f"Part {sku!r} does not list the family {family.key!r}."
            problems.append(_problem(pointer, "family_not_listed", detail))
    return problems


def part_problems(part: Part, index: CatalogIndex) -> list[FieldProblem]:
    """Return what is wrong with a part, also for the families that name it."""
    problems = [
        *_repeats(part.families, "/families"),
        *_rising_lifts(part),
        *_flanges_of_its_own(part),
        *banned_fields(asdict(part), _NOT_OURS),
    ]
    for place, key in enumerate(part.families):
        if key not in index.stock_parts:
            problems.append(_unknown(f"/families/{place}", "engine family", key))
    problems += _succession(part, index)
    for key, stock in index.stock_parts.items():
        for slot, sku in stock.items():
            if sku != part.sku:
                continue
            if slot != part.slot:
                problems.append(_wrong_slot("/spec/slot", sku, part.slot, slot))
            if key not in part.families:
                detail = f"Family {key!r} names this part as its factory part; list the family."
                problems.append(_problem("/families", "family_not_listed", detail))
    return problems


def rule_problems(rule: ShopRule, index: CatalogIndex) -> list[FieldProblem]:
    """Return what is wrong with a rule: its terms, and the parts and families it names."""
    problems = list(_repeats(rule.families, "/families"))
    problems += banned_fields(asdict(rule), _NOT_OURS)
    for place, key in enumerate(rule.families):
        if key not in index.stock_parts:
            problems.append(_unknown(f"/families/{place}", "engine family", key))
    for name, selector in (("when", rule.when), ("other", rule.other)):
        for place, sku in enumerate(selector.skus if selector else ()):
            if sku not in index.parts:
                problems.append(_unknown(f"/{name}/skus/{place}", "part", sku))
    if not rule.when.skus and rule.when.slot is None:
        problems.append(
            _problem("/when", "missing", "The rule has to say which parts it is about.")
        )
    problems += _limit_terms(rule) if rule.kind is RuleKind.LIMITS else _pair_terms(rule)
    return problems


def _listed(part: Part) -> ListedPart:
    return ListedPart(slot=part.slot, families=part.families, superseded_by=part.superseded_by)


def _limit_terms(rule: ShopRule) -> Iterator[FieldProblem]:
    if rule.quantity is None:
        yield _problem("/quantity", "missing", "A limit needs the quantity that it limits.")
    if rule.at_least is None and rule.at_most is None:
        yield _problem("/at_least", "missing", "A limit needs at_least, at_most or both.")
    elif rule.at_least is not None and rule.at_most is not None and rule.at_least > rule.at_most:
        yield _problem("/at_most", "out_of_order", "at_most is less than at_least.")


def _pair_terms(rule: ShopRule) -> Iterator[FieldProblem]:
    if rule.other is None or (not rule.other.skus and rule.other.slot is None):
        detail = f"A rule of kind {rule.kind.value!r} needs to say which other part is meant."
        yield _problem("/other", "missing", detail)


def _succession(part: Part, index: CatalogIndex) -> Iterator[FieldProblem]:
    successor = part.superseded_by
    if (part.status is PartStatus.SUPERSEDED) != (successor is not None):
        detail = "A part is superseded exactly when superseded_by names its successor."
        yield _problem("/superseded_by", "inconsistent", detail)
    if successor is not None and successor != part.sku and successor not in index.parts:
        yield _unknown("/superseded_by", "part", successor)
    seen: set[str] = set()
    while successor is not None and successor not in seen:
        if successor == part.sku:
            detail = "Following superseded_by from part to part leads back to this one."
            yield _problem("/superseded_by", "own_successor", detail)
        seen.add(successor)
        successor = index.parts[successor].superseded_by if successor in index.parts else None


def _flanges_of_its_own(part: Part) -> Iterator[FieldProblem]:
    """Name a flange that is told of for a pattern by which the part is not bolted on."""
    needed = {need.code for need in part.needs}
    for place, flange in enumerate(part.flanges):
        if flange.pattern not in needed:
            detail = f"{part.sku} needs no flange {flange.pattern!r}: {', '.join(sorted(needed))}."
            yield _problem(f"/flanges/{place}/pattern", "unknown_reference", detail)
    yield from _repeats([flange.pattern for flange in part.flanges], "/flanges")


def _rising_lifts(part: Part) -> Iterator[FieldProblem]:
    if isinstance(part.spec, CylinderHeadsSpec):
        yield from _rising(part.spec.intake.flow, "/spec/intake/flow")
        yield from _rising(part.spec.exhaust.flow, "/spec/exhaust/flow")


def _rising(readings: Sequence[FlowPoint], pointer: str) -> Iterator[FieldProblem]:
    for place, (before, after) in enumerate(pairwise(readings), start=1):
        if after.lift_mm <= before.lift_mm:
            detail = f"Readings go by rising lift; {after.lift_mm} follows {before.lift_mm}."
            yield _problem(f"{pointer}/{place}/lift_mm", "out_of_order", detail)


def _years(first: int, last: int, pointer: str) -> Iterator[FieldProblem]:
    if first > last:
        detail = f"The last model year {last} is before the first, {first}."
        yield _problem(f"{pointer}/last_model_year", "out_of_order", detail)


def _repeats(values: Sequence[str], pointer: str) -> Iterator[FieldProblem]:
    for place, value in enumerate(values):
        if value in values[:place]:
            yield _problem(f"{pointer}/{place}", "repeated", f"{str(value)!r} stands there twice.")


def _unknown(pointer: str, noun: str, key: str) -> FieldProblem:
    return _problem(pointer, "unknown_reference", f"There is no {noun} {key!r}.")


def _wrong_slot(pointer: str, sku: str, actual: Slot, wanted: Slot) -> FieldProblem:
    detail = f"Part {sku!r} goes into {actual.value!r}; a family names it for {wanted.value!r}."
    return _problem(pointer, "wrong_slot", detail)


def _no_place(pointer: str, slot: Slot) -> FieldProblem:
    detail = f"{slot.value} are supplies, chosen for each kit; they are no place of a kit."
    return _problem(pointer, "no_place_of_a_kit", detail)


def _problem(pointer: str, code: str, detail: str) -> FieldProblem:
    return FieldProblem(pointer=pointer, code=code, detail=detail)
