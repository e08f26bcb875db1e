"""Block 2: what becomes of every device that the factory fitted for this model year."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from service.catalog.devices import (
    DEVICE_TERMS,
    MARINE_DEVICES,
    Device,
    DeviceChange,
    DeviceEffect,
)
from service.catalog.families import EngineFamily
from service.catalog.parts import Part
from service.catalog.slots import KIT_SLOTS, Slot, UseClass
from service.compliance.application import is_original
from service.compliance.inspections import DeviceTest, Functional, latest_tests
from service.quantities import EDGE_CONFIG, Flag, Name, Text


class DeviceState(StrEnum):
    """What the kit does to a device, best first."""

    KEPT = "kept"
    UNKNOWN = "unknown"
    CHANGED = "changed"
    CONNECTION_LOST = "connection_lost"
    REMOVED = "removed"


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceRow:
    """One device."""

    __pydantic_config__ = EDGE_CONFIG

    device: Device
    title: Name | None = None
    """In words; answers given before it was kept have none."""
    abbreviation: Name | None = None
    named_in_statute: Flag = False
    """Whether HSC 43008.6(c) or (d) names it."""
    state: DeviceState
    by_parts: tuple[Name, ...] = ()
    """SKUs of the parts that do this to it; empty: kept."""
    notes: tuple[Text, ...] = ()
    """What the catalogue records of it, part by part."""
    functional: Functional = Functional.NOT_TESTED
    test: DeviceTest | None = None
    """The latest test that was told with the question; None: nobody told of one."""
    fitted_source: Text
    """On whose word it was fitted."""
    listed: Flag = True
    """Whether the family lists it for this year and use; where not, a part's record speaks of it
    and its state is never better than unknown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceBlock:
    """Block 2 of the report."""

    __pydantic_config__ = EDGE_CONFIG

    fitted_known: Flag
    """Whether the catalogue records which devices the family had in this year and use."""
    rows: tuple[DeviceRow, ...]

    def in_state(self, *states: DeviceState) -> tuple[DeviceRow, ...]:
        """Return the devices in one of these states."""
        return tuple(row for row in self.rows if row.state in states)


_INTAKE = frozenset({Slot.AIR_INLET, Slot.THROTTLE_BODY, Slot.INTAKE_MANIFOLD})
_EXHAUST = frozenset({Slot.EXHAUST_MANIFOLD, Slot.EXHAUST_SYSTEM})
_HEADS = frozenset({Slot.CYLINDER_HEADS})
_FUEL = frozenset({Slot.INJECTORS, Slot.CALIBRATION})
_EVERY_SLOT = frozenset(KIT_SLOTS)
_TOUCHED_BY: dict[Device, frozenset[Slot]] = {
    Device.PCV: _INTAKE | _HEADS,
    Device.EGR: _INTAKE | _HEADS | _EXHAUST,
    Device.EVAP: _INTAKE,
    Device.FILL_RESTRICTOR: frozenset(),
    Device.CAP: frozenset(),
    Device.AIR: _HEADS | _EXHAUST,
    Device.PAIR: _HEADS | _EXHAUST,
    Device.OC: _EXHAUST,
    Device.TWC: _EXHAUST,
    Device.WU_TWC: _EXHAUST,
    Device.O2S: _EXHAUST,
    Device.HO2S: _EXHAUST,
    Device.TAC: _INTAKE | _EXHAUST,
    Device.EFE: _INTAKE | _HEADS | _EXHAUST,
    Device.SPARK: _HEADS | {Slot.CAMSHAFT, Slot.CALIBRATION},
    Device.CARB: _INTAKE,
    Device.TB: _INTAKE,
    Device.MFI: _INTAKE | _FUEL,
    Device.SFI: _INTAKE | _FUEL,
    Device.TBI: _INTAKE | _FUEL,
    Device.IAC: _INTAKE,
    Device.TP: _INTAKE,
    Device.MAP: _INTAKE,
    Device.MAF: _INTAKE,
    Device.IAT: _INTAKE,
    Device.ECT: _INTAKE | _HEADS,
    Device.VACUUM_LINES: _INTAKE,
    Device.VECI: frozenset(),
    Device.MARINE_LABEL: frozenset(),
    Device.MARINE_FLAME: _INTAKE,
    Device.MIL: frozenset({Slot.CALIBRATION}),
    Device.DLC: frozenset({Slot.CALIBRATION}),
    Device.DTC: frozenset({Slot.CALIBRATION}),
    Device.READINESS: frozenset({Slot.CALIBRATION}),
    Device.CALIBRATION_ID: frozenset({Slot.CALIBRATION}),
    Device.CALIBRATION_VERIFICATION: frozenset({Slot.CALIBRATION}),
    Device.ELEMENT_OF_DESIGN: _HEADS | {Slot.CAMSHAFT},
}
"""Which slots a device hangs on; one not named here, on all. A part elsewhere leaves it
alone unless its own record says otherwise. Device list with the parts that touch each:
HSC 43008.6(c) for the devices, common practice for the parts."""

_STATES = {
    DeviceEffect.KEEPS: DeviceState.KEPT,
    DeviceEffect.CHANGES: DeviceState.CHANGED,
    DeviceEffect.NO_CONNECTION: DeviceState.CONNECTION_LOST,
    DeviceEffect.REMOVES: DeviceState.REMOVED,
}
_BEST_FIRST = tuple(DeviceState)


def device_block(
    parts: Iterable[Part],
    family: EngineFamily,
    model_year: int,
    use: UseClass,
    tests: Iterable[DeviceTest] = (),
) -> DeviceBlock:
    """Return what the parts do to each device fitted for this year and use, by device.

    A part that is recorded as doing something to a device that nobody lists keeps its row: that
    the list lacks it does not show that the factory did. Only a vessel has a vessel's devices.
    """
    latest = latest_tests(tests)
    kit = sorted(parts, key=lambda part: part.sku)
    sources = {
        fitting.device: fitting.source
        for fitting in reversed(family.devices_fitted)
        if fitting.was_fitted(model_year, use)
    }
    touched = {
        change.device
        for part in kit
        for change in part.device_changes
        if change.effect is not DeviceEffect.KEEPS
        and (use is UseClass.MARINE or change.device not in MARINE_DEVICES)
    }
    return DeviceBlock(
        fitted_known=bool(sources),
        rows=tuple(
            _device_row(device, kit, sources.get(device), latest)
            for device in Device
            if device in sources or device in touched
        ),
    )


NOT_LISTED = "The family's record does not list it for this year and use."


def _device_row(
    device: Device, parts: Iterable[Part], source: str | None, tests: Mapping[Device, DeviceTest]
) -> DeviceRow:
    states = [(state, part.sku) for part in parts for state in _part_states(part, device)]
    state = max((one for one, _ in states), key=_BEST_FIRST.index, default=DeviceState.KEPT)
    doing = {sku for one, sku in states if one is state and state is not DeviceState.KEPT}
    term, test = DEVICE_TERMS[device], tests.get(device)
    return DeviceRow(
        device=device,
        title=term.title,
        abbreviation=term.abbreviation,
        named_in_statute=term.in_statute,
        functional=Functional.NOT_TESTED if test is None else test.result,
        test=test,
        state=DeviceState.UNKNOWN if source is None else state,
        by_parts=tuple(sorted(doing)),
        notes=tuple(
            f"{part.sku}: {note}"
            for part in parts
            for change in part.device_changes
            if change.device is device
            for note in (*_recorded_loss(change, source), change.note)
            if note
        ),
        fitted_source=source or NOT_LISTED,
        listed=source is not None,
    )


def _recorded_loss(change: DeviceChange, source: str | None) -> tuple[str, ...]:
    """Return in words what the state of a device that nobody lists no longer tells."""
    if source is not None or change.effect is DeviceEffect.KEEPS:
        return ()
    return (f"recorded as: {change.effect.value.replace('_', ' ')}.",)


def _part_states(part: Part, device: Device) -> tuple[DeviceState, ...]:
    named = tuple(
        _STATES[change.effect] for change in part.device_changes if change.device is device
    )
    if named:
        return named
    touches = part.slot in _TOUCHED_BY.get(device, _EVERY_SLOT)
    return (DeviceState.UNKNOWN,) if touches and not is_original(part) else ()
