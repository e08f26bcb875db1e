"""What of the catalogue can be edited on a page, each kind through the API's own store."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import Request

from service.bodies import merge_patch, patched, read_document
from service.catalog.store.families import add_family, load_family, save_family
from service.catalog.store.parts import add_part, load_part, save_part
from service.catalog.store.rules import add_rule, load_rule, save_rule
from service.compliance.store import add_document, load_document, save_document
from service.database import Database, SessionDep
from service.exchange.report import Kind
from service.exchange.schemas import SHAPES, Shape
from service.pages.forms import Form, Schema
from service.stored import Stored


@dataclass(frozen=True, slots=True, kw_only=True)
class Editable:
    """One kind: what it is called, how its form is laid out, how it is kept."""

    kind: Kind
    one: str
    """The kind in words, of one."""
    shape: Shape
    schema: Schema
    form: Form
    load: Callable[[SessionDep, str], Stored[Any]]
    add: Callable[[SessionDep, Any], Stored[Any]]
    save: Callable[..., Stored[Any]]

    def held(self, request: Request, key: str) -> tuple[dict[str, Any], int]:
        """Return what the catalogue holds as a program would send it, and its version."""
        with _database(request).reading() as session:
            stored = self.load(session, key)
        wire = self.shape.to_wire(stored.value)
        return self.shape.wire.dump_python(wire, mode="json"), stored.version

    def change(
        self, session: SessionDep, key: str, document: Mapping[str, Any], version: int
    ) -> None:
        """Replace what is still at a version, as PATCH with If-Match does."""
        wire = self.shape.to_wire(self.load(session, key).value)
        changed = patched(self.shape.wire, wire, document, key=self.shape.key_field)
        self.save(session, self.shape.from_wire(changed), version=version)

    def create(self, session: SessionDep, document: Mapping[str, Any]) -> None:
        """Take a new one in, as POST does."""
        value = read_document(self.shape.wire, merge_patch({}, document))
        self.add(session, self.shape.from_wire(value))


def _editable(
    kind: Kind,
    one: str,
    load: Callable[[SessionDep, str], Stored[Any]],
    add: Callable[[SessionDep, Any], Stored[Any]],
    save: Callable[..., Stored[Any]],
) -> Editable:
    shape = SHAPES[kind]
    schema = shape.wire.json_schema()
    return Editable(
        kind=kind,
        one=one,
        shape=shape,
        schema=schema,
        form=Form(schema),
        load=load,
        add=add,
        save=save,
    )


EDITABLE = {
    found.kind: found
    for found in (
        _editable(Kind.PARTS, "part", load_part, add_part, save_part),
        _editable(Kind.FAMILIES, "engine family", load_family, add_family, save_family),
        _editable(Kind.RULES, "shop rule", load_rule, add_rule, save_rule),
        _editable(Kind.DOCUMENTS, "paper", load_document, add_document, save_document),
    )
}


def _database(request: Request) -> Database:
    database: Database = request.app.state.database
    return database
