"""What the kit of a quote takes, looked up."""

from service.database import ReadSessionDep
from service.errors import InvalidInput
from service.kits.api import Assessor, kit_off_shelf, take_shelf
from service.kits.kit import AssessmentRequest
from service.quotes.needs import KitNeeds, needs_of
from service.revision import load_catalog_revision


def kit_needs(session: ReadSessionDep, assessor: Assessor, question: AssessmentRequest) -> KitNeeds:
    """Return what a kit of a known family takes; nothing of one that is not whole yet.

    A draft may be kept while its kit is being put together: its issue says which field is wrong.
    """
    revision = load_catalog_revision(session)
    try:
        shelf = take_shelf(assessor.shelves, session, question.family, revision)
    except InvalidInput as error:
        raise error.below("/question") from error
    try:
        kit = kit_off_shelf(session, question, shelf)
    except InvalidInput:
        return KitNeeds()
    return needs_of(kit, shelf.rules, shelf.by_slot, shelf.supplies)
