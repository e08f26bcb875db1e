"""Emission-control devices by their standard names, and what a part does to them.

Keys and abbreviations after SAE J1930 / ISO 15031-2 (term strings from memory).
"""

from dataclasses import dataclass
from enum import StrEnum

from service.catalog.slots import UseClass
from service.quantities import EDGE_CONFIG, Text, Year


class Device(StrEnum):
    """What the factory fitted to keep emissions down."""

    PCV = "pcv"
    EGR = "egr"
    EVAP = "evap"
    AIR = "air"
    OC = "oc"
    TWC = "twc"
    WU_TWC = "wu_twc"
    O2S = "o2s"
    HO2S = "ho2s"
    TAC = "tac"
    EFE = "efe"
    SPARK = "spark"
    MFI = "mfi"
    SFI = "sfi"
    TBI = "tbi"
    IAC = "iac"
    TP = "tp"
    MAP = "map"
    MAF = "maf"
    IAT = "iat"
    ECT = "ect"
    PCM = "pcm"
    OBD = "obd"
    VACUUM_LINES = "vac"
    VECI = "veci"
    MARINE_LABEL = "marine_label"
    MARINE_DIAGNOSTICS = "marine_diag"
    MARINE_FLAME = "marine_flame"


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
