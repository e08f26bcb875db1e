"""Field types for boundaries: numbers that are numbers, with their limits.

Domain values are plain dataclasses. The limits stand in their annotations, so that one
definition serves the code, the checks at the edge and the OpenAPI document. This is
the only file below the edge that knows pydantic, and it takes three words from it.
"""

from typing import Annotated

from annotated_types import Ge, Gt, Le, MaxLen, MinLen
from pydantic import ConfigDict, Discriminator, Strict

STRICT = Strict()
"""No conversion between JSON types: true is not 1, "1" is not 1."""

BY_SLOT = Discriminator("slot")
"""The field `slot` says which member of a union is meant."""

EDGE_CONFIG = ConfigDict(extra="forbid", allow_inf_nan=False, use_attribute_docstrings=True)
"""How the edge reads a domain value: nothing unknown, nothing infinite."""

Flag = Annotated[bool, STRICT]
Count = Annotated[int, STRICT, Ge(0), Le(1_000_000)]
PositiveCount = Annotated[int, STRICT, Ge(1), Le(1_000_000)]
Year = Annotated[int, STRICT, Ge(1886), Le(2100)]
Cents = Annotated[int, STRICT, Ge(0), Le(10_000_000_000)]
Name = Annotated[str, STRICT, MinLen(1), MaxLen(120)]
Text = Annotated[str, STRICT, MaxLen(2000)]

LengthMm = Annotated[float, STRICT, Gt(0), Le(5000)]
"""A dimension of a part. [mm]"""
LiftMm = Annotated[float, STRICT, Ge(0), Le(40)]
"""A valve or tappet lift. [mm]"""
AreaMm2 = Annotated[float, STRICT, Gt(0), Le(200_000)]
"""A flow area. [mm²]"""
VolumeCm3 = Annotated[float, STRICT, Gt(0), Le(100_000)]
"""A volume. [cm³]"""
FlowCfm = Annotated[float, STRICT, Gt(0), Le(5000)]
"""A flow read on a bench. [ft³/min]"""
DepressionInH2O = Annotated[float, STRICT, Gt(0), Le(100)]
"""A pressure drop on a bench. [inH₂O]"""
AngleDeg = Annotated[float, STRICT, Ge(-360), Le(720)]
"""A crank, cam or face angle. [deg]"""
SpeedRpm = Annotated[float, STRICT, Gt(0), Le(20_000)]
"""A crank speed. [rev/min]"""
Coefficient = Annotated[float, STRICT, Gt(0), Le(1)]
"""A discharge coefficient or a share. [-]"""
CompressionRatio = Annotated[float, STRICT, Ge(5), Le(18)]
"""Geometric compression ratio. [-]"""
Ratio = Annotated[float, STRICT, Gt(0), Le(100)]
"""Any other ratio. [-]"""
PressureKpa = Annotated[float, STRICT, Gt(0), Le(2000)]
"""A pressure; the field says gauge or absolute. [kPa]"""
