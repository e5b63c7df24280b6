"""Scores of one attribute laid out by sample and assessor, replicates as counts, means and scatter.

Whatever a panel's scores say of samples and assessors, they say by the mean of each cell, how many
glasses it is of, and how these scatter about it; a panel that is never complete has empty cells.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

import numpy as np

from analysis.errors import InputError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class Cells:
    """Glasses of each sample by each assessor; m samples, k assessors, each with a glass at least.

    Attributes:
        counts: glasses, shape (m, k); 0 where there is none.
        means: of their scores, shape (m, k); 0 where there is none.
        within: sum of squares about the means of the cells, by assessor, shape (k,).
    """

    counts: Array
    means: Array
    within: Array

    @classmethod
    def of(cls, sample: ArrayLike, assessor: ArrayLike, score: ArrayLike) -> Self:
        """Lay out glasses, each array of shape (n,); samples and assessors in sorted order.

        Raises:
            InputError: the arrays differ in length or are empty, or a score is not finite.
        """
        y = np.asarray(score, dtype=np.float64)
        samples, i = np.unique(np.asarray(sample), return_inverse=True)
        assessors, j = np.unique(np.asarray(assessor), return_inverse=True)
        if not len(y) or not len(i) == len(j) == len(y) or not np.isfinite(y).all():
            message = "each glass needs a sample, an assessor and a finite score"
            raise InputError(message)
        shape = (len(samples), len(assessors))
        cell = i * shape[1] + j
        counts = np.bincount(cell, minlength=shape[0] * shape[1]).astype(np.float64)
        means = np.bincount(cell, y, len(counts)) / np.maximum(counts, 1.0)
        within = np.bincount(j, (y - means[cell]) ** 2, shape[1]).astype(np.float64)
        return cls(counts.reshape(shape), means.reshape(shape), within)

    @property
    def glasses(self) -> int:
        """How many glasses there are."""
        return int(self.counts.sum())

    @property
    def samples(self) -> int:
        """How many samples there are."""
        return len(self.counts)

    @property
    def assessors(self) -> int:
        """How many assessors there are."""
        return int(self.counts.shape[1])

    @property
    def repeats(self) -> Array:
        """Degrees of freedom of the scatter within cells, by assessor, shape (k,)."""
        return np.asarray(np.maximum(self.counts - 1.0, 0.0).sum(axis=0))

    def without(self, assessor: int) -> Self:
        """Leave an assessor out, and the samples that nobody else had: they become empty rows."""
        kept = np.ones(self.assessors, dtype=np.bool_)
        kept[assessor] = False
        return type(self)(self.counts[:, kept], self.means[:, kept], self.within[kept])
