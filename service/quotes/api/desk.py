"""What the desk's routes share: looking prices up, assessing the kit, freezing a revision."""

import json
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from decimal import Decimal
from importlib.metadata import version
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from fastapi import Depends, Path, Request
from pydantic import TypeAdapter

from service.access.api import read_caller
from service.access.keys import Caller
from service.catalog.parts import Part, PartNotFound
from service.catalog.rules import RuleSeverity
from service.catalog.store.parts import load_parts
from service.compliance.jurisdictions import Profile
from service.compliance.profiles.store import load_profiles
from service.compliance.store import find_documents_about
from service.conditional import content_etag
from service.database import ReadSessionDep
from service.errors import FieldProblem, InvalidInput
from service.jobs.api import LARGEST_ID
from service.kits.api import Assessor
from service.kits.assessment import Assessment
from service.kits.kit import AssessmentRequest
from service.quotes.api.needs import kit_needs
from service.quotes.charge import Charge
from service.quotes.content import QuoteContent, declaration_text, require_sound
from service.quotes.document import Copy, Issue, Override, Versions
from service.quotes.money import Item, TaxRule, bill
from service.quotes.needs import KitNeeds, not_priced
from service.quotes.pdf import quote_pdf
from service.quotes.price_lists import PriceListNotFound, TaxRuleNotFound
from service.quotes.pricing import PriceBook, listed_work
from service.quotes.quote import Deed, Move, Quote, UseNotDeclared, end_of_day
from service.quotes.store.prices import PRICE_LISTS, load_tax_rules
from service.quotes.store.quotes import charged_skus
from service.quotes.store.revisions import IssuedRevision, sha256
from service.quotes.wording import fit_to_print
from service.settings import Settings

QuoteId = Annotated[int, Path(ge=1, le=LARGEST_ID)]
RevisionNumber = Annotated[int, Path(ge=1, le=LARGEST_ID)]

_ASSESSMENT = TypeAdapter(Assessment)
_PROFILE = TypeAdapter(Profile)
_ISSUE = TypeAdapter(Issue)
_PART = TypeAdapter(Part)
ITEMS = TypeAdapter(tuple[Item, ...])

_BESIDE = ("parts", "items")
"""Of the evidence: what a revision rests on beside what it is printed from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Priced:
    """A draft with its prices of today."""

    charge: Charge
    needs: KitNeeds


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """Where quotes are made: the shop's name, its day, its assessor, and who asks."""

    assessor: Assessor
    shop_name: str
    time_zone: str
    caller: Caller

    @property
    def today(self) -> date:
        """The day in the shop's time zone."""
        return datetime.now(ZoneInfo(self.time_zone)).date()

    def deed(
        self, move: Move, by: str, note: str = "", *, data: dict[str, object] | None = None
    ) -> Deed:
        """Return what is done now, with which key, to be remembered."""
        require_name("/by", by)
        key = self.caller.name
        return Deed(move=move, by=by, at=datetime.now(UTC), key=key, note=note, data=data)

    def require_own_knowledge(self, content: QuoteContent) -> None:
        """Raise where somebody who sees no costs says what something costs the shop."""
        if self.caller.sees_costs:
            return
        detail = "What a line costs the shop is said by the desk alone."
        wrong = [
            FieldProblem(pointer=f"/content/lines/{place}/unit_cost", code="scope", detail=detail)
            for place, line in enumerate(content.lines)
            if line.unit_cost is not None
        ]
        if wrong:
            raise InvalidInput(*wrong)

    def words_of_use(self, question: AssessmentRequest) -> str:
        """Return what the customer acknowledges about the use and the place."""
        profile = load_profiles(self.today).get(question.place)
        place = question.place if profile is None else profile.title
        return declaration_text(question, place)

    def expires_at(self, valid_until: date) -> datetime:
        """Return the moment after the last day, in the shop's time zone."""
        if valid_until < self.today:
            detail = f"The last day has to be today, {self.today}, or later."
            raise InvalidInput(
                FieldProblem(pointer="/valid_until", code="in_the_past", detail=detail)
            )
        return end_of_day(valid_until, self.time_zone)

    def assess(self, question: AssessmentRequest) -> Assessment:
        """Return the answer of today; call it with no transaction open."""
        return _ASSESSMENT.validate_json(self.assessor.answer(question).body)

    def price(self, session: ReadSessionDep, content: QuoteContent) -> Priced:
        """Return what a quote costs today; a draft and its issue are charged the same."""
        require_sound(content)
        needs = kit_needs(session, self.assessor, content.question)
        book = self._book(session, content, needs)
        items = book.items(content, needs)
        total = bill(
            items,
            currency=content.currency,
            discount_percent=Decimal(content.discount_percent),
            taxes=_taxes(session, content),
        )
        named = (*book.unpriced(content), *not_priced(content, needs, book.lists))
        return Priced(charge=Charge(items=items, bill=total, not_priced=named), needs=needs)

    def with_machining(
        self, session: ReadSessionDep, content: QuoteContent, assessment: Assessment
    ) -> QuoteContent:
        """Return a draft with the work that findings ask for: by price list, else by catalogue."""
        listed = self._book(session, content, KitNeeds()).machining(content, assessment.fit)
        content = replace(content, lines=(*content.lines, *listed))
        work = listed_work(content, assessment.parts_list.machining)
        return replace(content, lines=(*content.lines, *work))

    def _book(self, session: ReadSessionDep, content: QuoteContent, needs: KitNeeds) -> PriceBook:
        parts = {**needs.parts, **_parts(session, content)}
        prices = None
        if content.price_list is not None:
            try:
                prices = PRICE_LISTS.load(session, content.price_list).value
            except PriceListNotFound as error:
                raise _unknown("/price_list", error.message) from error
        return PriceBook(parts=parts, prices=prices, today=self.today)

    def freeze(
        self,
        session: ReadSessionDep,
        quote: Quote,
        assessment: Assessment,
        priced: Priced,
        *,
        by: str,
        at: datetime,
        override_reason: str | None,
    ) -> IssuedRevision:
        """Return the next revision with everything it says and rests on, and both copies."""
        if quote.declaration is None:
            raise UseNotDeclared
        others = (*priced.needs.parts, *(line.sku for line in assessment.kit))
        parts = _parts(session, quote.content, *others)
        documents = find_documents_about(session, {part.maker_reference for part in parts.values()})
        issue = Issue(
            shop_name=self.shop_name,
            quote_id=quote.id,
            revision=quote.revision + 1,
            issued_at=at,
            issued_by=by,
            time_zone=self.time_zone,
            content=quote.content,
            declaration=quote.declaration,
            bill=priced.charge.bill,
            not_priced=priced.charge.not_priced,
            assessment=assessment,
            documents=tuple(documents),
            override=_override(assessment, by, at, override_reason),
            versions=_versions(quote.content.question.place, assessment),
        )
        return _revision(issue, parts, priced.charge.items)


def require_name(pointer: str, name: str) -> None:
    """Raise where a name that is to be remembered is none."""
    if not name.strip():
        detail = "Say who: this is kept with the quote."
        raise InvalidInput(FieldProblem(pointer=pointer, code="missing", detail=detail))


def blocking_codes(assessment: Assessment) -> tuple[str, ...]:
    """Return the codes of what blocks the kit."""
    return tuple(
        sorted({one.code for one in assessment.fit if one.severity is RuleSeverity.BLOCKS})
    )


def read_desk(request: Request, caller: Annotated[Caller, Depends(read_caller)]) -> Desk:
    """Take the desk of this application."""
    settings: Settings = request.app.state.settings
    return Desk(
        assessor=request.app.state.assessor,
        shop_name=settings.shop_name,
        time_zone=settings.time_zone,
        caller=caller,
    )


DeskDep = Annotated[Desk, Depends(read_desk)]


def issue_of(evidence: dict[str, Any]) -> Issue:
    """Return what a revision was printed from, out of its evidence."""
    return _ISSUE.validate_python({k: v for k, v in evidence.items() if k not in _BESIDE})


def _revision(issue: Issue, parts: dict[str, Part], items: tuple[Item, ...]) -> IssuedRevision:
    frozen = _ISSUE.dump_python(issue, mode="json")
    frozen["parts"] = [_PART.dump_python(parts[sku], mode="json") for sku in sorted(parts)]
    # What each costs the shop is kept for the desk; no copy is printed from it.
    frozen["items"] = ITEMS.dump_python(items, mode="json")
    evidence = json.dumps(frozen, ensure_ascii=False, sort_keys=True).encode()
    digest = sha256(evidence)
    return IssuedRevision(
        quote_id=issue.quote_id,
        number=issue.revision,
        issued_at=issue.issued_at,
        total_cents=issue.bill.total.cents,
        frozen=evidence,
        customer_pdf=quote_pdf(fit_to_print(issue, Copy.CUSTOMER, digest)),
        shop_pdf=quote_pdf(fit_to_print(issue, Copy.SHOP, digest)),
    )


def _override(assessment: Assessment, by: str, at: datetime, reason: str | None) -> Override | None:
    codes = blocking_codes(assessment)
    if not codes or reason is None:
        return None
    return Override(by=by, at=at, reason=reason, codes=codes)


def _versions(place: str, assessment: Assessment) -> Versions:
    profile = load_profiles(assessment.provenance.assessed_on).get(place)
    told = "none"
    if profile is not None:
        told = f"{profile.title} ({content_etag(_PROFILE.dump_json(profile))[1:13]})"
    return Versions(
        service=version("kitwright"),
        model=assessment.provenance.model_version,
        catalog_revision=assessment.provenance.catalog_revision,
        profile=told,
    )


def _parts(session: ReadSessionDep, content: QuoteContent, *others: str) -> dict[str, Part]:
    """Return the parts charged, and others; or name the field that names no part."""
    try:
        found = load_parts(session, {*charged_skus(content), *others})
    except PartNotFound as error:
        raise _unknown(_pointer(session, content), error.message) from error
    return {sku: stored.value for sku, stored in found.items()}


def _pointer(session: ReadSessionDep, content: QuoteContent) -> str:
    """Return where the first SKU stands that the catalogue does not have."""
    places = {
        **{f"/question/parts/{slot}": sku for slot, sku in content.question.parts.items()},
        **{f"/lines/{place}/sku": line.sku for place, line in enumerate(content.lines)},
    }
    for pointer, sku in places.items():
        try:
            load_parts(session, {sku} if sku else set())
        except PartNotFound:
            return pointer
    return ""


def _taxes(session: ReadSessionDep, content: QuoteContent) -> list[TaxRule]:
    try:
        return load_tax_rules(session, content.tax_rules)
    except TaxRuleNotFound as error:
        raise _unknown("/tax_rules", error.message) from error


def _unknown(pointer: str, detail: str) -> InvalidInput:
    return InvalidInput(FieldProblem(pointer=pointer, code="unknown", detail=detail))
