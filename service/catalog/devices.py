"""Emission-control devices by their standard names, and what a part does to them.

Keys and abbreviations after SAE J1930 / ISO 15031-2 (term strings from memory).
"""

from dataclasses import dataclass
from enum import StrEnum

from service.catalog.slots import UseClass
from service.errors import FieldProblem
from service.quantities import EDGE_CONFIG, IsoDate, Name, Text, Year


class Device(StrEnum):
    """What the factory fitted to keep emissions down; more may be added."""

    PCV = "pcv"
    EGR = "egr"
    EVAP = "evap"
    FILL_RESTRICTOR = "fill_restrictor"
    CAP = "cap"
    AIR = "air"
    PAIR = "pair"
    OC = "oc"
    TWC = "twc"
    WU_TWC = "wu_twc"
    O2S = "o2s"
    HO2S = "ho2s"
    TAC = "tac"
    EFE = "efe"
    SPARK = "spark"
    CARB = "carb"
    TB = "tb"
    MFI = "mfi"
    SFI = "sfi"
    TBI = "tbi"
    IAC = "iac"
    TP = "tp"
    MAP = "map"
    MAF = "maf"
    IAT = "iat"
    ECT = "ect"
    ECM = "ecm"
    PCM = "pcm"
    MIL = "mil"
    DLC = "dlc"
    OBD = "obd"
    DTC = "dtc"
    READINESS = "readiness"
    CALIBRATION_ID = "cal_id"
    CALIBRATION_VERIFICATION = "cvn"
    VACUUM_LINES = "vac"
    VECI = "veci"
    MARINE_LABEL = "marine_label"
    MARINE_DIAGNOSTICS = "marine_diag"
    MARINE_FLAME = "marine_flame"
    ELEMENT_OF_DESIGN = "cover"
    """Cam timing, compression, port shape: 42 USC 7522(a)(3) names elements of design."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceTerm:
    """What a device is called, and whether a statute lists it by name."""

    title: str
    abbreviation: str | None = None
    in_statute: bool = False
    """Whether HSC 43008.6(c) or (d) names it."""


DEVICE_TERMS = {
    Device.PCV: DeviceTerm(
        title="Positive crankcase ventilation", abbreviation="PCV", in_statute=True
    ),
    Device.EGR: DeviceTerm(
        title="Exhaust gas recirculation: valve, passages, cooler",
        abbreviation="EGR",
        in_statute=True,
    ),
    Device.EVAP: DeviceTerm(
        title="Evaporative emission control: canister, purge, vent",
        abbreviation="EVAP",
        in_statute=True,
    ),
    Device.FILL_RESTRICTOR: DeviceTerm(title="Fuel filler neck restrictor", in_statute=True),
    Device.CAP: DeviceTerm(title="Fuel filler cap", in_statute=True),
    Device.AIR: DeviceTerm(title="Secondary air injection", abbreviation="AIR", in_statute=True),
    Device.PAIR: DeviceTerm(
        title="Pulsed secondary air injection", abbreviation="PAIR", in_statute=True
    ),
    Device.OC: DeviceTerm(
        title="Oxidation catalytic converter", abbreviation="OC", in_statute=True
    ),
    Device.TWC: DeviceTerm(
        title="Three-way catalytic converter", abbreviation="TWC", in_statute=True
    ),
    Device.WU_TWC: DeviceTerm(
        title="Warm-up three-way catalytic converter", abbreviation="WU-TWC", in_statute=True
    ),
    Device.O2S: DeviceTerm(title="Oxygen sensor", abbreviation="O2S", in_statute=True),
    Device.HO2S: DeviceTerm(title="Heated oxygen sensor", abbreviation="HO2S", in_statute=True),
    Device.TAC: DeviceTerm(
        title="Thermostatic air cleaner, heated air intake", abbreviation="TAC", in_statute=True
    ),
    Device.EFE: DeviceTerm(
        title="Early fuel evaporation: heat riser, crossover", abbreviation="EFE"
    ),
    Device.SPARK: DeviceTerm(title="Spark controls and timing", in_statute=True),
    Device.CARB: DeviceTerm(title="Carburettor", abbreviation="CARB", in_statute=True),
    Device.TB: DeviceTerm(title="Throttle body", abbreviation="TB", in_statute=True),
    Device.MFI: DeviceTerm(title="Multiport fuel injection", abbreviation="MFI", in_statute=True),
    Device.SFI: DeviceTerm(title="Sequential fuel injection", abbreviation="SFI", in_statute=True),
    Device.TBI: DeviceTerm(title="Throttle body injection", abbreviation="TBI", in_statute=True),
    Device.IAC: DeviceTerm(title="Idle air control", abbreviation="IAC"),
    Device.TP: DeviceTerm(title="Throttle position sensor", abbreviation="TP"),
    Device.MAP: DeviceTerm(title="Manifold absolute pressure sensor", abbreviation="MAP"),
    Device.MAF: DeviceTerm(title="Mass air flow sensor", abbreviation="MAF"),
    Device.IAT: DeviceTerm(title="Intake air temperature sensor", abbreviation="IAT"),
    Device.ECT: DeviceTerm(title="Engine coolant temperature sensor", abbreviation="ECT"),
    Device.ECM: DeviceTerm(
        title="Engine control module with its calibration", abbreviation="ECM", in_statute=True
    ),
    Device.PCM: DeviceTerm(
        title="Powertrain control module with its calibration",
        abbreviation="PCM",
        in_statute=True,
    ),
    Device.MIL: DeviceTerm(title="Malfunction indicator lamp", abbreviation="MIL", in_statute=True),
    Device.DLC: DeviceTerm(title="Data link connector", abbreviation="DLC", in_statute=True),
    Device.OBD: DeviceTerm(title="On-board diagnostics", abbreviation="OBD", in_statute=True),
    Device.DTC: DeviceTerm(
        title="Stored diagnostic trouble codes", abbreviation="DTC", in_statute=True
    ),
    Device.READINESS: DeviceTerm(title="Status of the readiness monitors", in_statute=True),
    Device.CALIBRATION_ID: DeviceTerm(
        title="Calibration identification", abbreviation="CAL ID", in_statute=True
    ),
    Device.CALIBRATION_VERIFICATION: DeviceTerm(
        title="Calibration verification number", abbreviation="CVN", in_statute=True
    ),
    Device.VACUUM_LINES: DeviceTerm(
        title="Vacuum lines and thermal vacuum valves", abbreviation="TVV", in_statute=True
    ),
    Device.VECI: DeviceTerm(
        title="Vehicle emission control information label", abbreviation="VECI"
    ),
    Device.MARINE_LABEL: DeviceTerm(title="Engine label of a vessel (13 CCR 2443.1)"),
    Device.MARINE_DIAGNOSTICS: DeviceTerm(
        title="Engine diagnostics of a vessel (40 CFR 1045.110)", abbreviation="OBD-M"
    ),
    Device.MARINE_FLAME: DeviceTerm(title="Backfire flame control", abbreviation="BFC"),
    Device.ELEMENT_OF_DESIGN: DeviceTerm(
        title="Element of design: cam timing, compression, port shape"
    ),
}
"""Terms after SAE J1930 / ISO 15031-2, from memory; what the statute names was read in it."""


MARINE_DEVICES = frozenset({Device.MARINE_LABEL, Device.MARINE_DIAGNOSTICS, Device.MARINE_FLAME})
"""What only vessels carry."""


class DeviceEffect(StrEnum):
    """What fitting a part does to a device."""

    KEEPS = "keeps"
    CHANGES = "changes"
    NO_CONNECTION = "no_connection"
    REMOVES = "removes"


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceFitting:
    """A device that a family had when new, and on whose word."""

    __pydantic_config__ = EDGE_CONFIG

    device: Device
    first_model_year: Year
    last_model_year: Year
    source: Text
    """Label, maker's data or authority that says so."""
    uses: tuple[UseClass, ...] = ()
    """Uses for which the engine left the factory with it; empty: all, or for what only
    vessels carry the marine use."""

    def was_fitted(self, model_year: int, use: UseClass) -> bool:
        """Return whether an engine of this year and use had it; a racer was a road vehicle."""
        built_for = UseClass.ROAD if use is UseClass.COMPETITION else use
        uses = self.uses or ((UseClass.MARINE,) if self.device in MARINE_DEVICES else ())
        return self.first_model_year <= model_year <= self.last_model_year and (
            not uses or built_for in uses
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceChange:
    """What one part does to one device."""

    __pydantic_config__ = EDGE_CONFIG

    device: Device
    effect: DeviceEffect
    note: Text = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceCorrection:
    """A recorded effect on a device put right: what stood there, what stands now, and why."""

    __pydantic_config__ = EDGE_CONFIG

    corrected_on: IsoDate
    device: Device
    was: DeviceEffect
    now: DeviceEffect
    reason: Name
    corrected_by: Name


def effect_problems(
    before: tuple[DeviceChange, ...],
    after: tuple[DeviceChange, ...],
    kept: tuple[DeviceCorrection, ...],
    corrections: tuple[DeviceCorrection, ...],
) -> list[FieldProblem]:
    """Return which recorded effects are made better without a correction that says why.

    `kept` are the corrections on record, `corrections` those that are to be.
    """
    at = "/device_corrections"
    if corrections[: len(kept)] != kept:
        detail = "Corrections on record stay as they are; add a new one at the end."
        return [FieldProblem(pointer=at, code="append_only", detail=detail)]
    declared, now = _worst_effects(before), _worst_effects(after)
    for place, correction in enumerate(corrections[len(kept) :], start=len(kept)):
        on_record = declared.get(correction.device)
        if correction.was is not on_record:
            detail = f"On record is {on_record or 'nothing'}, not {correction.was}."
            return [FieldProblem(pointer=f"{at}/{place}/was", code="not_on_record", detail=detail)]
        declared[correction.device] = correction.now
    return [
        FieldProblem(
            pointer="/device_changes",
            code="declared",
            detail=f"{device}: {effect} is on record; it is made less only with an entry in "
            "`device_corrections` that says why.",
        )
        for device, effect in declared.items()
        if _WORST_LAST.index(now.get(device, DeviceEffect.KEEPS)) < _WORST_LAST.index(effect)
    ]


_WORST_LAST = tuple(DeviceEffect)


def _worst_effects(changes: tuple[DeviceChange, ...]) -> dict[Device, DeviceEffect]:
    """Return of each device named the worst that is said of it."""
    ordered = sorted(changes, key=lambda change: _WORST_LAST.index(change.effect))
    return {change.device: change.effect for change in ordered}
