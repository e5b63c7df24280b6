"""Simulated complaints whose cause is known, and how often the stated odds are right.

`make calibration` weighs 5,000 of them, about a minute; the tests weigh fewer. Each complaint is
made package by package (tests/analysis/cases/simulated_complaints.py); each account that could be
is one statement, of its posterior and whether it was the cause.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context

import numpy as np
import polars as pl
from scipy.special import logit
from statsmodels.discrete.discrete_model import Logit
from statsmodels.tools import add_constant

from analysis.cases.odds import weigh
from tests.analysis.cases.simulated_complaints import simulated, staling_draws

KNOWN = staling_draws(200, 1)
BINS, FEWEST, FURTHEST = 10, 100, 2.5


@dataclass(frozen=True)
class Weighing:
    """One complaint weighed.

    Attributes:
        stated: posterior of each account that could be.
        true: whether each was the cause.
        decided: whether it was decided.
        right: whether the likeliest account was the cause.
    """

    stated: tuple[float, ...]
    true: tuple[bool, ...]
    decided: bool
    right: bool


def weighing(seed: int, draws: int, particles: int) -> Weighing:
    """Simulate and weigh one complaint."""
    cause, case = simulated(seed, KNOWN)
    found = weigh(case, draws=draws, particles=particles)
    odds = found.odds.filter("possible")
    likeliest = odds.sort("posterior", descending=True)["account"][0]
    return Weighing(
        stated=tuple(odds["posterior"]),
        true=tuple(account == cause for account in odds["account"]),
        decided=found.decided is not None,
        right=likeliest == cause,
    )


def binned(weighings: list[Weighing]) -> pl.DataFrame:
    """Return bin, statements, stated, observed, and how many SEs lie between the two."""
    return (
        pl.DataFrame(
            {
                "stated": [p for each in weighings for p in each.stated],
                "true": [t for each in weighings for t in each.true],
            }
        )
        .with_columns(bin=(pl.col("stated") * BINS).floor().clip(0, BINS - 1).cast(pl.Int32))
        .group_by("bin")
        .agg(
            statements=pl.len(),
            stated=pl.col("stated").mean(),
            observed=pl.col("true").mean(),
            error=(pl.col("stated") * (1.0 - pl.col("stated"))).sum().sqrt() / pl.len(),
        )
        .with_columns(off=(pl.col("observed") - pl.col("stated")) / pl.col("error"))
        .sort("bin")
    )


def slope(weighings: list[Weighing]) -> float:
    """Return the slope of the logistic regression of what was true on the logit of the stated."""
    stated = np.array([p for each in weighings for p in each.stated])
    true = np.array([t for each in weighings for t in each.true], dtype=np.float64)
    logits = logit(np.clip(stated, 1e-6, 1.0 - 1e-6))
    return float(Logit(true, add_constant(logits)).fit(disp=False).params[1])


def main(number: int = 5_000) -> int:
    """Print how stated and observed compare; 1 where a bin or the slope is off."""
    with ProcessPoolExecutor(mp_context=get_context("spawn")) as pool:
        one = partial(weighing, draws=64, particles=4_096)
        weighings = list(pool.map(one, range(number), chunksize=50))
    table, steep = binned(weighings), slope(weighings)
    for row in table.iter_rows(named=True):
        print("{bin:2d} {statements:6d} {stated:6.3f} {observed:6.3f} {off:+5.2f} SE".format(**row))
    decided = [each.right for each in weighings if each.decided]
    print(f"slope {steep:.3f}; decided {len(decided)} of {number}, right {np.mean(decided):.3f}")
    off = table.filter((pl.col("statements") >= FEWEST) & (pl.col("off").abs() > FURTHEST))
    return int(off.height > 0 or not 0.85 <= steep <= 1.15)


if __name__ == "__main__":
    sys.exit(main())
