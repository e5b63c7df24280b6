"""Units: the only place where one is turned into another.

    T_K = T_C + 273.15
    ppb = µg of O2 per litre of beer; 1 mg/L = 1 ppm = 1000 ppb
    T_F = 1.8 T_C + 32,  1 psi = 0.0689476 bar,  1 atm = 1.01325 bar
    1 volume of CO2 = 44.0095 g/mol / (22.414 L/mol) = 1.963 g/L
    1 mL of O2 gas at 20 °C and 1 atm = M / (R · 293.15 K / 101325 Pa) = 1330 µg

Temperatures are °C outside and K inside a formula, activation energies kJ/mol, ages days. Beer is
taken as 1 kg a litre, as every oxygen meter does: the error is its specific gravity, about 1 %.
Missing values (NaN) stay missing.

Reference: CODATA 2018 recommended values (gas constant); IUPAC 2021 standard atomic weights.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analysis.errors import InputError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

GAS_CONSTANT = 8.31446261815324e-3
"""R, kJ/(mol·K)."""

REFERENCE_C = 20.0
"""Temperature at which ages and ingress are expressed, °C."""

OXYGEN_PPB = {"ppb": 1.0, "ug/L": 1.0, "ppm": 1000.0, "mg/L": 1000.0}
"""What one of each unit is in ppb."""

OXYGEN_MOLAR_MASS = 31.998
"""g/mol."""

OXYGEN_IN_AIR = 0.20946
"""Share of O2 in dry air by volume."""

ATMOSPHERE_KPA = 101.325

CO2_MOLAR_MASS = 44.0095
"""g/mol."""

MOLAR_VOLUME = 22.414
"""Of an ideal gas at 0 °C and 1 atm, L/mol."""

_ZERO_C = 273.15
_BAR_IN_A_PSI = 0.0689475729
_KPA_IN_A_BAR = 100.0


def kelvin(temp_c: ArrayLike) -> Array:
    """Return temperatures in K, in the shape of `temp_c` (°C).

    Raises:
        InputError: a temperature is at or below absolute zero, or infinite.
    """
    temp_k = np.asarray(temp_c, dtype=np.float64) + _ZERO_C
    if np.any(temp_k <= 0.0) or np.any(np.isinf(temp_k)):
        message = "a temperature must be a finite number above -273.15 °C"
        raise InputError(message)
    return temp_k


def celsius(temp_k: ArrayLike) -> Array:
    """Return temperatures in °C, in the shape of `temp_k` (K)."""
    return np.asarray(temp_k, dtype=np.float64) - _ZERO_C


def fahrenheit(temp_c: ArrayLike) -> Array:
    """Return temperatures in °F, in the shape of `temp_c` (°C)."""
    return np.asarray(temp_c, dtype=np.float64) * 1.8 + 32.0


def bar_of_psi(psi: ArrayLike) -> Array:
    """Return pressures in bar, in the shape of `psi`."""
    return np.asarray(psi, dtype=np.float64) * _BAR_IN_A_PSI


def bar_of_atmospheres(atmospheres: ArrayLike) -> Array:
    """Return pressures in bar, in the shape of `atmospheres`."""
    return np.asarray(atmospheres, dtype=np.float64) * ATMOSPHERE_KPA / _KPA_IN_A_BAR


def co2_volumes(g_per_l: ArrayLike) -> Array:
    """Return volumes of CO2 (0 °C, 1 atm) in one of beer, in the shape of `g_per_l`."""
    return np.asarray(g_per_l, dtype=np.float64) * MOLAR_VOLUME / CO2_MOLAR_MASS


def oxygen_ppb(value: ArrayLike, unit: str) -> Array:
    """Return oxygen concentrations in ppb, in the shape of `value`.

    Args:
        value: concentrations in `unit`, any shape.
        unit: ppb, ug/L, ppm or mg/L.

    Raises:
        InputError: the unit is none of these.
    """
    if unit not in OXYGEN_PPB:
        message = f"no oxygen unit {unit!r}: expected one of {', '.join(OXYGEN_PPB)}"
        raise InputError(message)
    return np.asarray(value, dtype=np.float64) * OXYGEN_PPB[unit]


def gas_oxygen_mg_per_l(temp_c: ArrayLike, pressure_atm: ArrayLike = 1.0) -> Array:
    """Return mg of O2 in a litre of gas at that partial pressure: p · M / (R · T).

    Args:
        temp_c: temperature of the gas, °C, any shape.
        pressure_atm: partial pressure of O2, atm, broadcast against `temp_c`.
    """
    pressure_kpa = np.asarray(pressure_atm, dtype=np.float64) * ATMOSPHERE_KPA
    return pressure_kpa * OXYGEN_MOLAR_MASS / (GAS_CONSTANT * kelvin(temp_c))


def ingress_ppb_per_day(ml_o2_per_day: ArrayLike, volume_ml: ArrayLike) -> Array:
    """Return what a closure lets in, ppb a day, from mL of O2 (20 °C, 1 atm) a day.

    Args:
        ml_o2_per_day: O2 through the closure, mL a day, any shape.
        volume_ml: beer in the package, mL, broadcast against it.
    """
    ug = np.asarray(ml_o2_per_day, dtype=np.float64) * gas_oxygen_mg_per_l(REFERENCE_C)
    return ug / np.asarray(volume_ml, dtype=np.float64) * 1000.0


def air_ppb(air_ml: ArrayLike, volume_ml: ArrayLike) -> Array:
    """Return the ppb of O2 that an air content, as an air tester reads it, stands for.

    Args:
        air_ml: dry air in the package, mL at 20 °C and 1 atm, any shape.
        volume_ml: beer in the package, mL, broadcast against it.
    """
    return ingress_ppb_per_day(np.asarray(air_ml, dtype=np.float64) * OXYGEN_IN_AIR, volume_ml)
