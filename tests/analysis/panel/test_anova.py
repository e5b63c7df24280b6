"""The analysis of variance of a panel's scores, against ISO 8586 and plain least squares."""

from __future__ import annotations

from dataclasses import replace
from math import isnan, sqrt

import numpy as np
import polars as pl
import pytest

from analysis.errors import NotEstimable
from analysis.panel.anova import anova
from analysis.panel.cells import Cells
from tests.analysis.panel.scores import cells, fish, long


def test_the_worked_example_of_iso_8586_is_reproduced() -> None:
    """Published (ISO 8586, SOURCES.md): F 16.42, 6.79 and 0.837, SD of repeats 1.130."""
    samples, assessors, interaction, repeats = anova(fish())
    assert [round(samples.f, 2), round(assessors.f, 2), round(interaction.f, 3)] == [
        16.42,
        6.79,
        0.837,
    ]
    assert round(sqrt(repeats.mean_square), 3) == 1.130
    assert round(samples.mean_square / interaction.mean_square, 3) == 19.618
    assert [row.freedom for row in anova(fish())] == [5, 3, 15, 48]


def squares_left(y: np.ndarray, *factors: np.ndarray) -> tuple[float, int]:
    """Return what dummies of these factors leave of the squares, and their rank."""
    X = np.hstack([(f[:, None] == np.unique(f)).astype(float) for f in factors])
    fitted, _, rank, _ = np.linalg.lstsq(X, y)
    return float(np.sum((y - X @ fitted) ** 2)), int(rank)


@pytest.mark.parametrize("seed", range(3))
def test_unbalanced_squares_are_those_of_least_squares(seed: int) -> None:
    """Identity: each row is what leaving its factor out of plain least squares adds."""
    data = long(seed, samples=10, assessors=5)
    y, sample, assessor = (data[name].to_numpy() for name in ("score", "sample", "assessor"))
    cell = data.select(pl.struct("sample", "assessor").rank("dense")).to_series().to_numpy()
    both, rank = squares_left(y, sample, assessor)
    expected = []
    for left, smaller, larger in (
        (squares_left(y, assessor), both, rank),
        (squares_left(y, sample), both, rank),
        ((both, rank), *squares_left(y, cell)),
    ):
        expected.append((left[0] - smaller, larger - left[1]))
    found = anova(cells(data))
    assert [(row.squares, row.freedom) for row in found[:3]] == [
        (pytest.approx(squares), freedom) for squares, freedom in expected
    ]
    assert found[3].squares == pytest.approx(squares_left(y, cell)[0])


def test_assessors_who_share_no_sample_are_not_compared() -> None:
    """Two pairs who never met: one degree of freedom a pair, none between them."""
    data = pl.DataFrame(
        {
            "sample": [1, 1, 2, 2, 3, 3, 4, 4],
            "assessor": [1, 2, 1, 2, 3, 4, 3, 4],
            "score": [1.0, 2.0, 3.0, 5.0, 20.0, 21.0, 25.0, 27.0],
        }
    )
    samples, assessors, interaction, _ = anova(cells(data))
    assert (samples.freedom, assessors.freedom, interaction.freedom) == (2, 2, 2)
    assert samples.squares < 100.0


def test_without_repeats_there_is_no_f() -> None:
    """Nothing to hold the squares against: no F, no chance."""
    laid = cells(long(1, twice=0.0))
    assert all(isnan(row.f) and isnan(row.p) for row in anova(laid))
    assert isnan(anova(laid)[3].mean_square)
    assert anova(replace(fish(), within=np.zeros(4)))[0].squares == pytest.approx(104.9027777)


def test_one_assessor_alone_is_no_panel() -> None:
    """There is nobody to hold them against."""
    with pytest.raises(NotEstimable, match="alone"):
        anova(Cells.of([1, 2, 3], [1, 1, 1], [1.0, 2.0, 3.0]))
