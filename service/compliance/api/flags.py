"""What the file says of parts, for whoever shows parts without knowing this slice."""

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime

from service.catalog.flags import AskedApplication, StreetUse
from service.catalog.parts import Part
from service.catalog.store.families import load_family
from service.compliance.application import Application
from service.compliance.documents import Document
from service.compliance.flag import street_use_without_application
from service.compliance.profiles.store import load_profiles
from service.compliance.report import part_flag
from service.compliance.store import find_documents_about
from service.database import SessionDep


def flag_parts(
    session: SessionDep, parts: Sequence[Part], asked: AskedApplication
) -> list[StreetUse]:
    """Return for each part what stands on file, for the application asked about.

    The law asks for family, year, use and place; when one of them is not said, no paper
    can be held against it, and the answer is about paper in general.
    """
    documents = find_documents_about(session, {part.maker_reference for part in parts})
    application = _application(asked)
    if application is None:
        return [
            street_use_without_application(part, _numbers_naming(part, documents)) for part in parts
        ]
    family = load_family(session, application.family).value
    today = datetime.now(UTC).date()
    profiles = load_profiles(today)
    return [part_flag(part, family, documents, application, profiles, today) for part in parts]


def _application(asked: AskedApplication) -> Application | None:
    family, year, use, place = asked.family, asked.model_year, asked.use, asked.place
    if family is None or year is None or use is None or place is None:
        return None
    return Application(
        family=family,
        model_year=year,
        use=use,
        place=place,
        certified_for_road=asked.certified_for_road,
        engine_swapped=asked.engine_swapped,
        specially_constructed=asked.specially_constructed,
    )


def _numbers_naming(part: Part, documents: Iterable[Document]) -> frozenset[str]:
    return frozenset(
        document.number
        for document in documents
        for line in document.scope
        if part.maker_reference in line.part_references
    )
