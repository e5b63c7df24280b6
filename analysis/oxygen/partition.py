"""Total package oxygen from the reading of a shaken package.

    ln C    = -139.34411 + 1.575701e5/T - 6.642308e7/T² + 1.243800e10/T³ - 8.621949e11/T⁴
    ln p_w  = 11.8571 - 3840.70/T - 216961/T²
    K       = [0.20946 · (1 - p_w) · M / (R·T)] / C
    total   = Z · shaken,   Z = 1 + K · Vh / Vb

C is the oxygen, mg/L, that pure water holds under moist air at 1 atm; p_w water's vapour pressure,
atm; K the oxygen in a litre of gas against that in a litre of beer when the two are at rest with
each other (about 30 at 20 °C); Vh the headspace and Vb the beer, mL; T is absolute and given in
°C. Beer is taken as water. The equation for C holds from 0 to 40 °C; beer cooled to -2 °C is read
off its continuation.

Reference: Benson & Krause, Limnology and Oceanography 29(3), 620-632, 1984.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analysis.errors import InputError
from analysis.units import OXYGEN_IN_AIR, gas_oxygen_mg_per_l, kelvin

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

COLDEST_C, WARMEST_C = -2.0, 40.0
"""Temperatures between which a shaken reading can be converted, both included, °C."""

_LN_SOLUBILITY = np.array([-139.34411, 1.575701e5, -6.642308e7, 1.243800e10, -8.621949e11])
_LN_VAPOUR = np.array([11.8571, -3840.70, -216961.0])


def oxygen_solubility(temp_c: ArrayLike) -> Array:
    """Return the oxygen that pure water holds under moist air at 1 atm, mg/L.

    Args:
        temp_c: temperature of the water, -2 to 40 °C, any shape; NaN stays NaN.

    Raises:
        InputError: a temperature is outside that range.
    """
    return np.exp(_in_inverse_temperature(_LN_SOLUBILITY, temp_c))


def partition(temp_c: ArrayLike) -> Array:
    """Return K, the oxygen in a litre of gas against that in a litre of beer at rest with it.

    Args:
        temp_c: temperature of the package, -2 to 40 °C, any shape; NaN stays NaN.

    Raises:
        InputError: a temperature is outside that range.
    """
    vapour_atm = np.exp(_in_inverse_temperature(_LN_VAPOUR, temp_c))
    gas = gas_oxygen_mg_per_l(temp_c, OXYGEN_IN_AIR * (1.0 - vapour_atm))
    return gas / oxygen_solubility(temp_c)


def shaken_multiplier(temp_c: ArrayLike, headspace_ml: ArrayLike, volume_ml: ArrayLike) -> Array:
    """Return Z, by which a shaken reading is multiplied to give the total.

    Args:
        temp_c: temperature of the package when shaken, -2 to 40 °C.
        headspace_ml: gas above the beer, mL, 0 or more.
        volume_ml: beer, mL, above 0.

    Returns:
        Multipliers, 1 or more, in the shape to which the three broadcast; NaN where one is NaN.

    Raises:
        InputError: a temperature or a volume is outside its range.
    """
    headspace = np.asarray(headspace_ml, dtype=np.float64)
    volume = np.asarray(volume_ml, dtype=np.float64)
    if np.any(headspace < 0.0) or np.any(volume <= 0.0):
        message = "a headspace must be 0 mL or more and a volume above 0 mL"
        raise InputError(message)
    return 1.0 + partition(temp_c) * headspace / volume


def _in_inverse_temperature(coefficients: Array, temp_c: ArrayLike) -> Array:
    temp = np.asarray(temp_c, dtype=np.float64)
    if np.any(temp < COLDEST_C) or np.any(temp > WARMEST_C):
        message = f"oxygen's solubility is known from {COLDEST_C:g} to {WARMEST_C:g} °C"
        raise InputError(message)
    value = np.polynomial.polynomial.polyval(1.0 / kelvin(temp), coefficients)
    return np.asarray(value, dtype=np.float64)
