"""Surfaces kept and read back, on both databases."""

from dataclasses import fields, replace

import numpy as np
import pytest
from sqlmodel import Session

from service.engine.design import DesignRange, Spread
from service.engine.surface import Surface
from service.kits.fitted import FittedSurface
from service.revision import load_catalog_revision
from service.surfaces.schemas import read_surfaces, written_surfaces
from service.surfaces.store import (
    SurfaceNotFound,
    find_surface,
    find_surface_facts,
    load_surface_facts,
    put_surface,
)
from tests.factories import FAMILY_KEY
from tests.surfaces.made import made_surface


def assert_same(one: FittedSurface, other: FittedSurface) -> None:
    """Every number, to its last digit."""
    for each in fields(FittedSurface):
        if each.name != "surface":
            assert getattr(one, each.name) == getattr(other, each.name), each.name
    for each in fields(Surface):
        mine, theirs = getattr(one.surface, each.name), getattr(other.surface, each.name)
        if isinstance(mine, np.ndarray):
            assert np.array_equal(mine, theirs), each.name
    assert one.surface.base == other.surface.base
    assert_same_fields(one.surface.box, other.surface.box)
    assert one.surface.box.spreads
    for mine, theirs in zip(one.surface.box.spreads, other.surface.box.spreads, strict=True):
        assert_same_fields(mine, theirs)


def assert_same_fields(one: DesignRange | Spread, other: DesignRange | Spread) -> None:
    for each in fields(one):
        if each.name != "spreads":
            assert np.array_equal(getattr(one, each.name), getattr(other, each.name)), each.name


def test_a_surface_comes_back_to_the_last_digit(session: Session) -> None:
    put_surface(session, made_surface())
    session.flush()
    session.expire_all()

    found = find_surface(session, FAMILY_KEY)

    assert found is not None
    assert_same(found, made_surface())


def test_a_file_of_surfaces_comes_back_to_the_last_digit() -> None:
    (found,) = read_surfaces(written_surfaces([made_surface()]).encode())

    assert_same(found, made_surface())


def test_a_refit_replaces_and_counts_as_a_write(session: Session) -> None:
    put_surface(session, made_surface())
    before = load_catalog_revision(session)
    put_surface(session, made_surface())
    assert load_catalog_revision(session) == before

    put_surface(session, replace(made_surface(), model_version="another"))

    (kept,) = find_surface_facts(session)
    assert (kept.version, kept.value.model_version) == (2, "another")
    assert load_catalog_revision(session) == before + 1


def test_a_family_without_a_surface_is_told_where_to_order_one(session: Session) -> None:
    assert find_surface(session, FAMILY_KEY) is None
    with pytest.raises(SurfaceNotFound, match=f"POST /v1/surfaces/{FAMILY_KEY}/refits"):
        load_surface_facts(session, FAMILY_KEY)
