"""Surfaces as plain numbers, and as the API tells of them."""

import json
from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any

import numpy as np
from pydantic import TypeAdapter

from service.engine.design import DesignRange, Spread
from service.engine.inputs import FloatArray
from service.engine.model import EngineSpec
from service.engine.parameters import PARAMETERS
from service.engine.study import SurfaceErrors
from service.engine.surface import Surface
from service.kits.fitted import FittedSurface, is_of_this_version
from service.quantities import EDGE_CONFIG
from service.stored import Stored
from service.units import rad_per_s_to_rpm


@dataclass(frozen=True, slots=True, kw_only=True)
class ParameterRange:
    """Between which values of one parameter of the airflow a surface holds."""

    __pydantic_config__ = EDGE_CONFIG

    name: str
    unit: str
    """Of the International System, written without superscripts; `-` for a ratio."""
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceFacts:
    """What is told of a fitted surface; its numbers are its own affair."""

    __pydantic_config__ = EDGE_CONFIG

    family: str
    errors: SurfaceErrors
    """On engines that it was not fitted to, as shares of the simulated value."""
    kit_errors: SurfaceErrors
    """The same of those engines only that are made of catalogue parts."""
    input_errors: tuple[float, ...]
    """Half width of the simulation's own bounds at the slowest, middle and fastest speed."""
    slowest_rpm: float
    fastest_rpm: float
    range: tuple[ParameterRange, ...]
    model_version: str
    """Of the simulation that it was fitted to."""
    features_version: str
    catalog_digest: str
    """Of the airflow of the parts that its range was drawn around."""
    seed: int
    fitted_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceOut(SurfaceFacts):
    """A fitted surface, and whether it can be used."""

    is_of_this_version: bool
    """False: the simulation has changed since, and kits are simulated until it is refitted."""
    version: int
    """Rises with every refit."""


_BOX_ARRAYS = ("low", "high")
_SPREAD_ARRAYS = ("middle", "span", "metric")
_SURFACE_ARRAYS = (
    "centre",
    "scale",
    "directions",
    "nodes",
    "intercept",
    "slopes",
    "weights",
)
_BASE = TypeAdapter(EngineSpec)
_FACTS = TypeAdapter(SurfaceFacts)


def facts_of(fitted: FittedSurface) -> SurfaceFacts:
    """Return what is told of a surface."""
    box = fitted.surface.box
    return SurfaceFacts(
        family=fitted.family,
        errors=fitted.errors,
        kit_errors=fitted.kit_errors,
        input_errors=fitted.input_errors,
        slowest_rpm=float(rad_per_s_to_rpm(box.slowest)),
        fastest_rpm=float(rad_per_s_to_rpm(box.fastest)),
        range=tuple(
            ParameterRange(name=each.name, unit=each.unit, low=float(low), high=float(high))
            for each, low, high in zip(PARAMETERS, box.low, box.high, strict=True)
        ),
        model_version=fitted.model_version,
        features_version=fitted.features_version,
        catalog_digest=fitted.catalog_digest,
        seed=fitted.seed,
        fitted_at=fitted.fitted_at,
    )


def surface_out(stored: Stored[SurfaceFacts]) -> SurfaceOut:
    """Return what the API tells of a kept surface."""
    facts = stored.value
    told = {each.name: getattr(facts, each.name) for each in fields(facts)}
    return SurfaceOut(
        **told,
        is_of_this_version=is_of_this_version(facts.model_version, facts.features_version),
        version=stored.version,
    )


def numbers_of(surface: Surface) -> dict[str, Any]:
    """Return a surface as JSON: lists of numbers, and the base engine."""
    box, base = surface.box, _BASE.dump_python(surface.base, mode="json")
    edges = {each.name: getattr(box, each.name) for each in fields(box)}
    edges |= _plain(box, _BOX_ARRAYS)
    edges["spreads"] = [
        {
            "columns": spread.columns.tolist(),
            "farthest": spread.farthest,
            **_plain(spread, _SPREAD_ARRAYS),
        }
        for spread in box.spreads
    ]
    return {"base": base, "box": edges, **_plain(surface, _SURFACE_ARRAYS)}


def surface_of(numbers: dict[str, Any]) -> Surface:
    """Return the surface that numbers stand for, every digit of it."""
    edges = dict(numbers["box"])
    edges["spreads"] = tuple(
        Spread(
            columns=np.array(spread["columns"], dtype=np.int64),
            farthest=spread["farthest"],
            **_arrays(spread, _SPREAD_ARRAYS),
        )
        for spread in edges["spreads"]
    )
    return Surface(
        base=_BASE.validate_python(numbers["base"]),
        box=DesignRange(**{**edges, **_arrays(edges, _BOX_ARRAYS)}),
        **_arrays(numbers, _SURFACE_ARRAYS),
    )


def fitted_of(facts: SurfaceFacts, numbers: dict[str, Any]) -> FittedSurface:
    """Put a surface together from what is kept of it."""
    return FittedSurface(
        family=facts.family,
        surface=surface_of(numbers),
        errors=facts.errors,
        kit_errors=facts.kit_errors,
        input_errors=facts.input_errors,
        model_version=facts.model_version,
        features_version=facts.features_version,
        catalog_digest=facts.catalog_digest,
        seed=facts.seed,
        fitted_at=facts.fitted_at,
    )


def written_surfaces(surfaces: Iterable[FittedSurface]) -> str:
    """Return surfaces as a file: one in a line."""
    lines = (
        json.dumps(
            {
                "facts": _FACTS.dump_python(facts_of(fitted), mode="json"),
                "numbers": numbers_of(fitted.surface),
            },
            separators=(",", ":"),
        )
        for fitted in surfaces
    )
    return "[\n" + ",\n".join(lines) + "\n]\n"


def read_surfaces(content: bytes) -> list[FittedSurface]:
    """Return the surfaces of a file."""
    return [
        fitted_of(_FACTS.validate_python(entry["facts"]), entry["numbers"])
        for entry in json.loads(content)
    ]


def _plain(value: Surface | DesignRange | Spread, names: Iterable[str]) -> dict[str, Any]:
    return {name: getattr(value, name).tolist() for name in names}


def _arrays(numbers: dict[str, Any], names: Iterable[str]) -> dict[str, FloatArray]:
    return {name: np.array(numbers[name], dtype=np.float64) for name in names}
