"""Pressure of the carbon dioxide in a package, by temperature, and whether the package may take it.

    P = −16.6999 − 0.0101059 T + 0.00116512 T² + 0.173354 T V + 4.24267 V − 0.0684226 V²

with P in psi above the atmosphere, T in °F and V in volumes: the brewers' usual relation, made for
cold beer. Warm it reads low, a tenth at 40 °C, so that the other one is given where it is higher:

    P = V / (22.414 L/mol · K₀) − 1 atm,    ln K₀ = −58.0931 + 90.5069 (100/T) + 22.2940 ln(T/100)

with K₀ in mol/(L·atm) and T in K: Henry's law with the solubility in water. Neither knows of air in
the package, of beer that swells into a small headspace, or of yeast that is still at work.

References: Force Carbonation Tables, brewery.org library, for the first; Weiss, Marine Chemistry 2,
1974, 203-215, for K₀ (0 to 40 °C).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.units import (
    MOLAR_VOLUME,
    bar_of_atmospheres,
    bar_of_psi,
    fahrenheit,
    kelvin,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

WARM_ABOVE_C = 25.0
"""A storage above it is a warm cupboard: beer is forced there."""

_NEVER_WARM = frozenset({"keg", "plastic keg", "cask"})
_GLASS = "bottle"


def headspace_bar(co2_volumes: ArrayLike, temp_c: ArrayLike) -> Array:
    """Return the pressure above the atmosphere, bar, 0 or more.

    Args:
        co2_volumes: carbon dioxide, volumes of gas at 0 °C and 1 atm in one of beer.
        temp_c: temperature, °C, broadcast against it.

    Raises:
        InputError: a temperature is none.
    """
    v, t, temp_k = np.asarray(co2_volumes, np.float64), fahrenheit(temp_c), kelvin(temp_c)
    usual = (
        -16.6999
        - 0.0101059 * t
        + 0.00116512 * t**2
        + 0.173354 * t * v
        + 4.24267 * v
        - 0.0684226 * v**2
    )
    solubility = np.exp(-58.0931 + 90.5069 * (100.0 / temp_k) + 22.2940 * np.log(temp_k / 100.0))
    by_henry = v / (MOLAR_VOLUME * solubility) - 1.0
    return np.maximum(np.maximum(bar_of_psi(usual), bar_of_atmospheres(by_henry)), 0.0)


@dataclass(frozen=True)
class Package:
    """What is known of a package and the beer in it.

    Attributes:
        kind: bottle (of glass), can, plastic bottle, keg, plastic keg or cask.
        limit_bar: pressure it may take, bar; None where not known.
        co2_volumes: the most that the beer was filled with; None where not known.
        at_rest: whether it holds no live yeast or sugar; None where not known.
    """

    kind: str
    limit_bar: float | None
    co2_volumes: float | None
    at_rest: bool | None


@dataclass(frozen=True)
class StoredAt:
    """A package in a storage.

    Attributes:
        temp_c: temperature, °C.
        bar: pressure by its carbon dioxide, bar above the atmosphere; None where not known.
        left_out: why it is not stored there; None where it may be.
        within: whether it is within its limit; None where nobody can say.
    """

    temp_c: float
    bar: float | None
    left_out: str | None
    within: bool | None


def stored_at(package: Package, temp_c: float) -> StoredAt:
    """Tell the pressure of a package in a storage, and whether it is to be stored there.

    Beer that may referment is never said to be within a limit, and never forced in glass.
    """
    bar = None
    if package.co2_volumes is not None:
        bar = float(headspace_bar(package.co2_volumes, temp_c))
    within = None if bar is None or package.limit_bar is None else bar <= package.limit_bar
    left_out = None
    if temp_c > WARM_ABOVE_C and package.kind in _NEVER_WARM:
        left_out = (
            "kegs and casks are never put in the warm cupboard; bottles and cans lend them a date"
        )
    elif within is False:
        left_out = f"its CO2 alone is above the package's limit of {package.limit_bar:g} bar"
    elif temp_c > WARM_ABOVE_C and package.kind == _GLASS and not package.at_rest:
        left_out = "beer that may referment is not forced in glass"
    if within and not package.at_rest:
        within = None
    return StoredAt(temp_c, bar, left_out, within)
