r"""Age of a stored sample on the clock of 20 °C, as a function of the activation energy.

A sample that stood d₀ days at T₀ and then d₁ days at T₁ has the equivalent age

    a(Ea) = Σ d_i exp(Ea · s_i),      s_i = −(1/R)(1/T_i − 1/293.15)

With w the second stage's part of a, the derivatives of log a in Ea are the mean, the variance and
the third central moment of s under w: those of a log-sum of exponentials.

Reference: the Arrhenius relation as in Labuza, Shelf-Life Dating of Foods, 1982.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.kinetics.arrhenius import acceleration, arrhenius_slope

if TYPE_CHECKING:
    import polars as pl
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


def equivalent_days(samples: pl.DataFrame, activation_energy: ArrayLike) -> Array:
    """Return the equivalent ages of n samples, days at 20 °C.

    Args:
        samples: before_days, before_temp_c, stored_days, storage_temp_c.
        activation_energy: Ea in kJ/mol, of a shape that broadcasts with (n,).
    """
    before, stored = (
        samples[days].to_numpy() * acceleration(samples[temp].to_numpy(), activation_energy)
        for days, temp in (("before_days", "before_temp_c"), ("stored_days", "storage_temp_c"))
    )
    return np.asarray(before + stored)


@dataclass(frozen=True)
class LogAge:
    """log equivalent age and its first three derivatives in Ea; arrays of equal shape."""

    value: Array
    slope: Array
    curvature: Array
    third: Array


@dataclass(frozen=True)
class Clock:
    """Two stages before each end of an interval.

    Attributes:
        before_days: days before the sample was placed, shape (n,).
        before_slope: s of the temperature before, mol/kJ.
        stored_slope: s of the storage temperature, mol/kJ.
    """

    before_days: Array
    before_slope: Array
    stored_slope: Array

    @classmethod
    def of(cls, before_days: Array, before_temp_c: Array, storage_temp_c: Array) -> Clock:
        """Make the clock of samples from days and °C."""
        return cls(before_days, arrhenius_slope(before_temp_c), arrhenius_slope(storage_temp_c))

    def log_age(self, stored_days: Array, activation_energy: Array) -> LogAge:
        """Return log equivalent age after `stored_days` (above 0), for Ea in kJ/mol; shape (n,)."""
        before = self.before_days * np.exp(activation_energy * self.before_slope)
        stored = stored_days * np.exp(activation_energy * self.stored_slope)
        part = stored / (before + stored)
        spread = self.stored_slope - self.before_slope
        return LogAge(
            value=np.log(before + stored),
            slope=self.before_slope + part * spread,
            curvature=part * (1.0 - part) * spread**2,
            third=part * (1.0 - part) * (1.0 - 2.0 * part) * spread**3,
        )
