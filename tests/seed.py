"""The demo catalogue of `seed_data/` as values, and the kits of its story."""

import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from service.catalog.families import EngineFamily
from service.catalog.parts import Part
from service.catalog.rules import RuleSeverity, ShopRule
from service.catalog.slots import Slot, UseClass
from service.catalog.specs import (
    CalibrationSpec,
    CylinderHeadsSpec,
)
from service.compliance.documents import Document
from service.engine.geometry import clearance_volume, swept_volume
from service.fitup.check import fit_findings
from service.fitup.subject import FitSubject
from service.units import (
    cm3_to_m3,
    mm_to_m,
)

SEED = Path(__file__).parent.parent / "seed_data"
QUAY_BIG = "quay-7-6"
FAMILIES = (QUAY_BIG, "quay-5-3", "orrin-4-4")
FACTORY_MANIFOLD = "Q76-MANIFOLD-HERON"
MODIFIED_TWIN = "Q76-MANIFOLD-BITTERN"

OPEN_KIT = {
    Slot.INTAKE_MANIFOLD: "Q76-MANIFOLD-CURLEW",
    Slot.THROTTLE_BODY: "Q76-THROTTLE-LYCHGATE",
    Slot.CAMSHAFT: "Q76-CAM-BECKET",
    Slot.CYLINDER_HEADS: "Q76-HEADS-GRANITE",
    Slot.EXHAUST_MANIFOLD: "Q76-EXHAUST-STURGEON",
    Slot.EXHAUST_SYSTEM: "Q76-SYSTEM-LEAT",
    Slot.CALIBRATION: "Q76-CALIBRATION-NOON",
    Slot.INJECTORS: "Q76-INJECTORS-SHOWER",
    Slot.AIR_INLET: "Q76-INLET-TOPSAIL",
}
BOAT_KIT = {
    Slot.INTAKE_MANIFOLD: "Q76-MANIFOLD-EIDER",
    Slot.THROTTLE_BODY: "Q76-THROTTLE-LOCKGATE",
    Slot.CAMSHAFT: "Q76-CAM-HALYARD",
    Slot.CYLINDER_HEADS: "Q76-HEADS-SERPENTINE",
    Slot.EXHAUST_MANIFOLD: "Q76-EXHAUST-LAMPREY",
    Slot.EXHAUST_SYSTEM: "Q76-SYSTEM-OUTFALL",
    Slot.CALIBRATION: "Q76-CALIBRATION-EBB",
    Slot.INJECTORS: "Q76-INJECTORS-DRIZZLE",
    Slot.AIR_INLET: "Q76-INLET-STAYSAIL",
}
STOCK_LOOK_KIT = {
    Slot.INTAKE_MANIFOLD: MODIFIED_TWIN,
    Slot.CAMSHAFT: "Q76-CAM-CARRICK",
    Slot.CYLINDER_HEADS: "Q76-HEADS-GNEISS",
    Slot.CALIBRATION: "Q76-CALIBRATION-PRIME",
    Slot.INJECTORS: "Q76-INJECTORS-DRIZZLE",
}
HEADER_KIT = {Slot.CAMSHAFT: "Q76-CAM-BOWLINE", Slot.EXHAUST_MANIFOLD: "Q76-EXHAUST-PIKE"}


FILES = {
    "engine_families": "engine-families",
    "parts_quay_7_6": "parts",
    "parts_quay_5_3": "parts",
    "parts_orrin_4_4": "parts",
    "supplies": "parts",
    "shop_rules": "shop-rules",
    "documents": "documents",
}
PART_FILES = tuple(name for name, kind in FILES.items() if kind == "parts")


def lines(name: str) -> Iterator[dict[str, Any]]:
    for text in (SEED / f"{name}.jsonl").read_text("utf-8").splitlines():
        yield json.loads(text)


def values(name: str) -> list[str]:
    return [json.dumps(line["value"]) for line in lines(name)]


@cache
def families() -> dict[str, EngineFamily]:
    adapter = TypeAdapter(EngineFamily)
    found = [adapter.validate_json(value) for value in values("engine_families")]
    return {family.key: family for family in found}


@cache
def parts() -> dict[str, Part]:
    adapter = TypeAdapter(Part)
    found = [
        adapter.validate_json(json.dumps(with_cents(line["value"])))
        for name in PART_FILES
        for line in lines(name)
    ]
    return {part.sku: part for part in found}


@cache
def shop_rules() -> tuple[ShopRule, ...]:
    adapter = TypeAdapter(ShopRule)
    return tuple(adapter.validate_json(value) for value in values("shop_rules"))


@cache
def documents() -> dict[str, Document]:
    adapter = TypeAdapter(Document)
    found = [adapter.validate_json(value) for value in values("documents")]
    return {document.number: document for document in found}


def with_cents(value: dict[str, Any]) -> dict[str, Any]:
    price = value.pop("price")
    whole, cents = price["amount"].split(".")
    assert len(cents) == 2
    return {**value, "price_cents": int(whole) * 100 + int(cents), "currency": price["currency"]}


def of(family: str, slot: Slot) -> list[Part]:
    return [part for part in parts().values() if part.slot is slot and family in part.families]


def stock_kit(family: str, **changes: str) -> dict[Slot, str]:
    stock = dict(families()[family].stock_parts)
    return {**stock, **{Slot(slot): sku for slot, sku in changes.items()}}


def subject(family: str, kit: dict[Slot, str], use: UseClass = UseClass.ROAD) -> FitSubject:
    home = families()[family]
    chosen = {slot: parts()[sku] for slot, sku in kit.items()}
    calibration = chosen[Slot.CALIBRATION].spec
    assert isinstance(calibration, CalibrationSpec)
    return FitSubject(
        family=home,
        parts=chosen,
        bore_mm=home.bore_mm,
        stroke_mm=home.stroke_mm,
        compression_ratio=compression_ratio(home, kit[Slot.CYLINDER_HEADS]),
        octane_aki=calibration.octane_aki_min,
        rev_limit_rpm=min(calibration.rev_limit_rpm, home.rev_limit_rpm),
        model_year=home.first_model_year,
        use=use,
    )


def obstacles(family: str, kit: dict[Slot, str], use: UseClass = UseClass.ROAD) -> set[str]:
    """Return the codes of what blocks a kit, by the service's own fit checks."""
    return _codes(family, kit, use, {RuleSeverity.BLOCKS})


def findings_above_notes(family: str, kit: dict[Slot, str]) -> set[str]:
    """Return the codes of what blocks or warns."""
    return _codes(family, kit, UseClass.ROAD, {RuleSeverity.BLOCKS, RuleSeverity.WARNS})


def _codes(
    family: str, kit: dict[Slot, str], use: UseClass, severities: set[RuleSeverity]
) -> set[str]:
    findings = fit_findings(subject(family, kit, use), shop_rules(), {}, None)
    return {one.code for one in findings if one.severity in severities}


def compression_ratio(home: EngineFamily, sku: str) -> float:
    """Return the ratio with other heads on the stock gasket and pistons."""
    swept = swept_volume(mm_to_m(home.bore_mm), mm_to_m(home.stroke_mm))
    stock, other = parts()[home.stock_parts[Slot.CYLINDER_HEADS]].spec, parts()[sku].spec
    assert isinstance(stock, CylinderHeadsSpec)
    assert isinstance(other, CylinderHeadsSpec)
    change = cm3_to_m3(other.chamber_cm3 - stock.chamber_cm3)
    clearance = float(clearance_volume(swept, home.compression_ratio)) + change
    return 1.0 + float(swept) / clearance
