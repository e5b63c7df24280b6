"""How much faster beer ages when it is warmer.

    k(T) / k(T0) = exp(-(Ea / R) · (1/T - 1/T0))        acceleration
    Q10(T)       = k(T + 10) / k(T)
    by Q10       : k(T) / k(T0) = Q10 ^ ((T - T0) / 10)

Ea is the activation energy, kJ/mol; T and T0 are absolute temperatures, given in °C; T0 is 20 °C
unless said. A life is the inverse of a rate: an acceleration of 2 halves it. Under Arrhenius' law
Q10 falls as it gets warmer, so that a Q10 holds at the temperature it was found at and no other.

Reference: Labuza & Riboh, Food Technology 36(10), 66-74, 1982; ASTM F1980 for the rule by Q10.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analysis.errors import InputError
from analysis.units import GAS_CONSTANT, REFERENCE_C, kelvin

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

_TEN_DEGREES = 10.0


def arrhenius_slope(temp_c: ArrayLike) -> Array:
    """Return -(1/R)(1/T - 1/293.15 K), mol/kJ, in the shape of `temp_c` (°C).

    It is 0 at 20 °C and the derivative of the log acceleration by the activation energy: the
    acceleration against 20 °C is exp(Ea · slope).

    Raises:
        InputError: a temperature is at or below absolute zero, or infinite.
    """
    return (1.0 / kelvin(REFERENCE_C) - 1.0 / kelvin(temp_c)) / GAS_CONSTANT


def acceleration(
    temp_c: ArrayLike, activation_energy: ArrayLike, reference_c: ArrayLike = REFERENCE_C
) -> Array:
    """Return days at `reference_c` that one day at `temp_c` is worth.

    Args:
        temp_c: temperature, °C.
        activation_energy: kJ/mol.
        reference_c: temperature at which the rate counts as 1, °C.

    Returns:
        The ratio of the rates, in the shape to which the three broadcast.

    Raises:
        InputError: a temperature is at or below absolute zero, or infinite.
    """
    energy = np.asarray(activation_energy, dtype=np.float64)
    return np.exp(energy * (arrhenius_slope(temp_c) - arrhenius_slope(reference_c)))


def acceleration_by_q10(q10: ArrayLike, temp_c: ArrayLike, reference_c: ArrayLike) -> Array:
    """Return the acceleration if every ten degrees multiplied the rate by `q10`.

    The rule of thumb of packaging and storage tests, to compare with; the dates never use it.

    Args:
        q10: factor for ten degrees.
        temp_c: temperature, °C.
        reference_c: temperature at which the rate counts as 1, °C.

    Returns:
        The ratio of the rates, in the shape to which the three broadcast.

    Raises:
        InputError: a Q10 is not above 0, or a temperature is no temperature.
    """
    warmer = kelvin(temp_c) - kelvin(reference_c)
    return np.exp(_log_q10(q10) * warmer / _TEN_DEGREES)


def q10(activation_energy: ArrayLike, temp_c: ArrayLike) -> Array:
    """Return the factor by which ageing speeds up from `temp_c` to ten degrees above it.

    Args:
        activation_energy: kJ/mol.
        temp_c: the lower temperature, °C, broadcast against it.

    Raises:
        InputError: a temperature is at or below absolute zero, or infinite.
    """
    lower = np.asarray(temp_c, dtype=np.float64)
    return acceleration(lower + _TEN_DEGREES, activation_energy, lower)


def activation_energy_from_q10(q10: ArrayLike, temp_c: ArrayLike) -> Array:
    """Return the activation energy, kJ/mol, that gives `q10` from `temp_c` to ten degrees above.

    Args:
        q10: factor for these ten degrees.
        temp_c: the lower temperature, °C, broadcast against it.

    Raises:
        InputError: a Q10 is not above 0, or a temperature is no temperature.
    """
    lower = np.asarray(temp_c, dtype=np.float64)
    return _log_q10(q10) / (arrhenius_slope(lower + _TEN_DEGREES) - arrhenius_slope(lower))


def _log_q10(q10: ArrayLike) -> Array:
    factor = np.asarray(q10, dtype=np.float64)
    if np.any(factor <= 0.0):
        message = "a Q10 must be above 0"
        raise InputError(message)
    return np.log(factor)
