r"""Least squares with many lots and few heads and run positions, lots swept out.

    y = lot + head + position + e
    N = B'B − (L'B)' (L'L)⁻¹ (L'B),        q = B'y − (L'B)' (L'L)⁻¹ L'y,        N β = q

L are the lots' indicators, B those of the other factors. L'L is diagonal, so that a hundred
thousand lots cost no more than their counts, and N is as small as heads and positions are few.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import polars as pl

from analysis.oxygen.packages import LOT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Places = NDArray[np.int64]

_NOTHING = 1e-9  # of the largest eigenvalue: directions of which the data say nothing


class Part(NamedTuple):
    """What a factor explains after all others: squares, degrees of freedom, and k of E[squares].

    E[squares] = freedom · (variance of e) + k · (variance of the factor's levels).
    """

    squares: float
    freedom: int
    k: float


@dataclass(frozen=True)
class Crossed:
    """Values with the number of each one's lot and of its level of every other factor.

    Attributes:
        y: values, shape (n,).
        lot: numbers from 0, every one of them there, shape (n,).
        columns: numbers from 0 of the other factors, likewise.
    """

    y: Array
    lot: Places
    columns: tuple[Places, ...]

    @cached_property
    def residual(self) -> tuple[float, int]:
        """Sum of squares that no factor explains, and its degrees of freedom."""
        matrix, right = self._swept
        taken, rank = _explained(matrix, right)
        squares = float(self.y @ self.y) - self._lot_squares - taken
        return max(squares, 0.0), len(self.y) - len(self._of_lot) - rank

    @cached_property
    def lots(self) -> Part:
        """What the lots explain after all other factors."""
        matrix, right = self._swept
        swept, swept_rank = _explained(matrix, right)
        alone, alone_rank = _explained(self._levels, self._level_sums)
        inverse, _ = inverted(self._levels)
        return Part(
            self._lot_squares + swept - alone,
            len(self._of_lot) + swept_rank - alone_rank,
            len(self.y) - float(np.sum(inverse * (self._crossing.T @ self._crossing))),
        )

    def factor(self, number: int) -> Part:
        """Return what another factor explains after the lots and all the rest."""
        matrix, right = self.after(number)
        squares, rank = _explained(matrix, right)
        return Part(squares, rank, float(np.trace(matrix)))

    def after(self, number: int) -> tuple[Array, Array]:
        """Return the normal equations of one factor, the lots and all other factors swept out.

        Returns:
            Matrix of shape (levels, levels), the information on the levels in units of one over the
            variance of e, and right side of shape (levels,).
        """
        matrix, right = self._swept
        begins = np.cumsum([0, *self._sizes])
        own = np.zeros(len(right), dtype=np.bool_)
        own[begins[number] : begins[number + 1]] = True
        between = matrix[np.ix_(own, ~own)]
        inverse, _ = inverted(matrix[np.ix_(~own, ~own)])
        return (
            matrix[np.ix_(own, own)] - between @ inverse @ between.T,
            right[own] - between @ inverse @ right[~own],
        )

    @cached_property
    def _sizes(self) -> tuple[int, ...]:
        return tuple(int(column.max(initial=-1)) + 1 for column in self.columns)

    @cached_property
    def _of_lot(self) -> Array:
        return np.bincount(self.lot).astype(np.float64)

    @cached_property
    def _lot_sums(self) -> Array:
        return np.bincount(self.lot, self.y).astype(np.float64)

    @cached_property
    def _lot_squares(self) -> float:
        return float(self._lot_sums @ (self._lot_sums / self._of_lot))

    @cached_property
    def _crossing(self) -> Array:
        """L'B: how often each lot meets each level."""
        return np.hstack(
            [
                _counts(self.lot, column, len(self._of_lot), size)
                for column, size in zip(self.columns, self._sizes, strict=True)
            ]
        )

    @cached_property
    def _levels(self) -> Array:
        """B'B."""
        factors = list(zip(self.columns, self._sizes, strict=True))
        return np.block([[_counts(a, b, m, n) for b, n in factors] for a, m in factors])

    @cached_property
    def _level_sums(self) -> Array:
        """B'y."""
        return np.concatenate(
            [
                np.bincount(column, self.y, size)
                for column, size in zip(self.columns, self._sizes, strict=True)
            ]
        )

    @cached_property
    def _swept(self) -> tuple[Array, Array]:
        """N and q."""
        share = self._crossing / self._of_lot[:, None]
        return (
            self._levels - self._crossing.T @ share,
            self._level_sums - share.T @ self._lot_sums,
        )


def _counts(a: Places, b: Places, m: int, n: int) -> Array:
    return np.bincount(a * n + b, minlength=m * n).reshape(m, n).astype(np.float64)


def inverted(matrix: Array) -> tuple[Array, int]:
    """Return the generalised inverse of a symmetric matrix, and its rank."""
    size, direction = np.linalg.eigh(matrix)
    known = size > _NOTHING * size.max(initial=0.0)
    kept = direction[:, known]
    return np.asarray((kept / size[known]) @ kept.T), int(known.sum())


def _explained(matrix: Array, right: Array) -> tuple[float, int]:
    inverse, rank = inverted(matrix)
    return float(right @ inverse @ right), rank


def numbered(packages: pl.DataFrame, *names: str) -> Places:
    """Return the number of each row's combination of columns, in sorted order from 0."""
    ranked = packages.select(pl.struct(names).rank("dense").cast(pl.Int64) - 1)
    return np.asarray(ranked.to_series().to_numpy())


def crossed(packages: pl.DataFrame, *factors: str) -> Crossed:
    """Return log ppb of clean packages, about their mean, with their lots and other factors.

    Args:
        packages: lot, format, lower_ppb (above 0), and the factors, none of them missing.
        factors: names of columns.
    """
    y = packages["lower_ppb"].log().to_numpy()
    return Crossed(
        y - y.mean() if len(y) else y,
        numbered(packages, *LOT),
        tuple(numbered(packages, factor) for factor in factors),
    )
