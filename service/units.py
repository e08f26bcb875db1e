"""Conversions and constants; names say both units.

Every factor is built from a definition that is exact by agreement: the inch, the
avoirdupois pound, standard gravity, and the conventional densities of water and mercury
behind "inches of water" and "inches of mercury" (NIST SP 811, appendix B).
"""

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Number = TypeVar("Number", float, NDArray[np.float64])
"""A scalar or an array; what goes in comes out."""

STANDARD_GRAVITY = 9.80665
"""Conventional free fall, exact by agreement. [m s⁻²]"""
_INCH_M = 0.0254
_FOOT_M = 12.0 * _INCH_M
_POUND_KG = 0.45359237
_POUND_FORCE_N = _POUND_KG * STANDARD_GRAVITY
_WATER_KG_PER_M3 = 1000.0
_MERCURY_KG_PER_M3 = 13595.1
_INH2O_PA = _WATER_KG_PER_M3 * STANDARD_GRAVITY * _INCH_M
_INHG_PA = _MERCURY_KG_PER_M3 * STANDARD_GRAVITY * _INCH_M
_PSI_PA = _POUND_FORCE_N / _INCH_M**2
_CFM_M3_PER_S = _FOOT_M**3 / 60.0
_HP_W = 550.0 * _FOOT_M * _POUND_FORCE_N
_LBFT_NM = _FOOT_M * _POUND_FORCE_N
_LBIN_NM = _INCH_M * _POUND_FORCE_N
_LB_PER_H_KG_PER_S = _POUND_KG / 3600.0
_RPM_RAD_PER_S = 2.0 * np.pi / 60.0
_ZERO_CELSIUS_K = 273.15
_ZERO_FAHRENHEIT_RANKINE = 459.67
_KELVIN_RANKINE = 1.8


def in_to_m(length_in: Number) -> Number:
    """Inches to metres."""
    return length_in * _INCH_M


def mm_to_m(length_mm: Number) -> Number:
    """Millimetres to metres."""
    return length_mm * 1e-3


def in2_to_m2(area_in2: Number) -> Number:
    """Square inches to square metres."""
    return area_in2 * _INCH_M**2


def mm2_to_m2(area_mm2: Number) -> Number:
    """Square millimetres to square metres."""
    return area_mm2 * 1e-6


def in3_to_m3(volume_in3: Number) -> Number:
    """Cubic inches to cubic metres."""
    return volume_in3 * _INCH_M**3


def cm3_to_m3(volume_cm3: Number) -> Number:
    """Cubic centimetres to cubic metres."""
    return volume_cm3 * 1e-6


def inh2o_to_pa(pressure_inh2o: Number) -> Number:
    """Conventional inches of water to pascals."""
    return pressure_inh2o * _INH2O_PA


def inhg_to_pa(pressure_inhg: Number) -> Number:
    """Conventional inches of mercury to pascals."""
    return pressure_inhg * _INHG_PA


def psi_to_pa(pressure_psi: Number) -> Number:
    """Pounds-force per square inch to pascals."""
    return pressure_psi * _PSI_PA


def cfm_to_m3_per_s(flow_cfm: Number) -> Number:
    """Cubic feet per minute to cubic metres per second."""
    return flow_cfm * _CFM_M3_PER_S


def m3_per_s_to_cfm(flow_m3_per_s: Number) -> Number:
    """Cubic metres per second to cubic feet per minute."""
    return flow_m3_per_s / _CFM_M3_PER_S


def cm3_per_min_to_m3_per_s(flow_cm3_per_min: Number) -> Number:
    """Cubic centimetres per minute to cubic metres per second."""
    return flow_cm3_per_min * (1e-6 / 60.0)


def lb_per_h_to_kg_per_s(flow_lb_per_h: Number) -> Number:
    """Pounds per hour to kilograms per second."""
    return flow_lb_per_h * _LB_PER_H_KG_PER_S


def kg_per_s_to_lb_per_h(flow_kg_per_s: Number) -> Number:
    """Kilograms per second to pounds per hour."""
    return flow_kg_per_s / _LB_PER_H_KG_PER_S


def kg_to_lb(mass_kg: Number) -> Number:
    """Kilograms to pounds."""
    return mass_kg / _POUND_KG


def lb_per_hp_h_to_kg_per_j(consumption_lb_per_hp_h: Number) -> Number:
    """Pounds per horsepower-hour to kilograms per joule."""
    return consumption_lb_per_hp_h * (_LB_PER_H_KG_PER_S / _HP_W)


def hp_to_w(power_hp: Number) -> Number:
    """Mechanical horsepower, 550 ft·lbf/s, to watts."""
    return power_hp * _HP_W


def w_to_hp(power_w: Number) -> Number:
    """Watts to mechanical horsepower, 550 ft·lbf/s."""
    return power_w / _HP_W


def lbft_to_nm(torque_lbft: Number) -> Number:
    """Pound-force feet to newton metres."""
    return torque_lbft * _LBFT_NM


def nm_to_lbft(torque_nm: Number) -> Number:
    """Newton metres to pound-force feet."""
    return torque_nm / _LBFT_NM


def lbin_to_nm(torque_lbin: Number) -> Number:
    """Pound-force inches to newton metres."""
    return torque_lbin * _LBIN_NM


def nm_to_lbin(torque_nm: Number) -> Number:
    """Newton metres to pound-force inches."""
    return torque_nm / _LBIN_NM


def n_to_lbf(force_n: Number) -> Number:
    """Newtons to pounds-force."""
    return force_n / _POUND_FORCE_N


def rpm_to_rad_per_s(speed_rpm: Number) -> Number:
    """Revolutions per minute to radians per second."""
    return speed_rpm * _RPM_RAD_PER_S


def rad_per_s_to_rpm(speed_rad_per_s: Number) -> Number:
    """Radians per second to revolutions per minute."""
    return speed_rad_per_s / _RPM_RAD_PER_S


def celsius_to_kelvin(temperature_celsius: Number) -> Number:
    """Degrees Celsius to kelvins."""
    return temperature_celsius + _ZERO_CELSIUS_K


def fahrenheit_to_kelvin(temperature_fahrenheit: Number) -> Number:
    """Degrees Fahrenheit to kelvins."""
    return (temperature_fahrenheit + _ZERO_FAHRENHEIT_RANKINE) / _KELVIN_RANKINE
