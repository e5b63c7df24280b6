r"""The plain analysis of variance of a panel's scores, balanced or not.

    y = sample + assessor + sample × assessor + e

Samples stand after assessors and assessors after samples, the interaction after both, each F
against the mean square within cells. Where the data are balanced the order does not matter.

Reference: ISO 8586, the assessment of a panel by analysis of variance with interaction.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import stats

from analysis.errors import NotEstimable
from analysis.panel.mixed import sweep

if TYPE_CHECKING:
    from analysis.panel.cells import Cells

_ALONE = 1e-9  # of the largest eigenvalue: assessors who share no sample with the others


@dataclass(frozen=True)
class Source:
    """A row of the table; f and p are nan where there is nothing to hold it against.

    Attributes:
        name: samples, assessors, samples × assessors, or repeats.
        squares: sum of squares.
        freedom: degrees of freedom.
        f: mean square over that of the repeats.
        p: chance of an f as large where nothing differs.
    """

    name: str
    squares: float
    freedom: int
    f: float
    p: float

    @property
    def mean_square(self) -> float:
        """Squares by degree of freedom; nan without any."""
        return self.squares / self.freedom if self.freedom else math.nan


def anova(cells: Cells) -> tuple[Source, ...]:
    """Return the table: samples, assessors, their interaction, repeats.

    Raises:
        NotEstimable: a single sample or assessor.
    """
    if cells.samples < 2 or cells.assessors < 2:  # noqa: PLR2004 - one cannot differ
        message = "one sample or one assessor alone has nothing to be held against"
        raise NotEstimable(message)
    swept = sweep(cells, 1.0, 0.0, 0.0)
    size, direction = np.linalg.eigh(swept.curvature)
    known = size > _ALONE * size.max(initial=0.0)
    rank = int(known.sum())
    assessors = float(np.sum((direction.T @ swept.right)[known] ** 2 / size[known]))
    samples = assessors + _between(cells, 1) - _between(cells, 0)
    residual, repeats = float(cells.within.sum()), int(cells.repeats.sum())
    filled = int((cells.counts > 0.0).sum())
    found = (
        ("samples", samples, cells.samples - cells.assessors + rank),
        ("assessors", assessors, rank),
        ("samples × assessors", swept.squares - assessors, filled - cells.samples - rank),
        ("repeats", residual, repeats),
    )
    return tuple(_source(*row, residual, repeats) for row in found)


def _between(cells: Cells, axis: int) -> float:
    """Return the squares of the means of the rows (1) or columns (0), about nought."""
    return float(
        ((cells.counts * cells.means).sum(axis=axis) ** 2 / cells.counts.sum(axis=axis)).sum()
    )


def _source(name: str, squares: float, freedom: int, residual: float, repeats: int) -> Source:
    if name == "repeats" or not freedom or not repeats or not residual > 0.0:
        return Source(name, squares, freedom, math.nan, math.nan)
    f = (squares / freedom) / (residual / repeats)
    return Source(name, squares, freedom, f, float(stats.f.sf(f, freedom, repeats)))
