"""Panels to try the statistics on: the published one, and simulated ones that nobody completes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import polars as pl

from analysis.panel.cells import Cells

FISH = Path(__file__).parents[2] / "reference" / "iso8586_fish_on_ice_panel.csv"


def fish() -> Cells:
    """Return six samples by four assessors, three glasses each: ISO 8586, SOURCES.md."""
    data = pl.read_csv(FISH)
    return Cells.of(data["sample"], data["assessor"], data["score"])


def long(
    seed: int,
    *,
    samples: int = 40,
    assessors: int = 8,
    attendance: float = 0.7,
    twice: float = 0.3,
    sds: tuple[float, float, float] = (0.8, 0.6, 0.7),
    apart: float = 1.5,
) -> pl.DataFrame:
    """Simulate glasses: sample, assessor, score.

    Args:
        seed: of the draws.
        samples: how many.
        assessors: how many there are.
        attendance: chance that one of them has a sample.
        twice: chance that who has it has it twice.
        sds: of repeats, of assessors' levels, of assessor by sample.
        apart: SD of the samples' levels.
    """
    rng = np.random.default_rng(seed)
    repeat, level, cell = sds
    i, j = np.nonzero(rng.uniform(size=(samples, assessors)) < attendance)
    again = rng.uniform(size=len(i)) < twice
    score = (
        rng.normal(3.0, apart, samples)[i]
        + rng.normal(0.0, level, assessors)[j]
        + rng.normal(0.0, cell, len(i))
    )
    i, j, score = (np.concatenate([part, part[again]]) for part in (i, j, score))
    return pl.DataFrame(
        {"sample": i, "assessor": j, "score": score + rng.normal(0.0, repeat, len(i))}
    )


def cells(data: pl.DataFrame) -> Cells:
    """Lay simulated glasses out."""
    return Cells.of(data["sample"], data["assessor"], data["score"])
