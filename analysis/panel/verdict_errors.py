r"""How often each assessor is wrong where it is known what is right.

    false alarm   a rejection of blind fresh beer (role fresh)
    miss          an acceptance of beer known to be aged: spiked, or aged beer that at least four in
                  five of the others, five or more, rejected in that session

A fresh control that half of the others or more rejected was no fresh beer, and counts for nobody.
"Not sure" is no answer here. With k of n wrong, the exact (Clopper-Pearson) 90 % interval runs from
the 5 % quantile of Beta(k, n − k + 1) to the 95 % quantile of Beta(k + 1, n − k).

Reference: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl
from scipy import stats

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

FEWEST_GLASSES = 10
"""From so many glasses on a share is told."""

_LEVEL = 0.90
_SPOILT = 0.5
_AGED_FOR_SURE = 0.8
_OTHERS = 5


def exact_interval(wrong: ArrayLike, glasses: ArrayLike) -> tuple[Array, Array]:
    """Return the exact two-sided 90 % bounds of a share, 0 to 1, element by element.

    Args:
        wrong: how many were; from 0 to glasses.
        glasses: of how many; with none the bounds are 0 and 1.
    """
    k, n = np.asarray(wrong, dtype=float), np.asarray(glasses, dtype=float)
    tail = (1.0 - _LEVEL) / 2.0
    none, all_ = k == 0, k == n
    lower = np.where(none, 0.0, stats.beta.ppf(tail, np.where(none, 1.0, k), n - k + 1.0))
    upper = np.where(all_, 1.0, stats.beta.isf(tail, k + 1.0, np.where(all_, 1.0, n - k)))
    return lower, upper


def verdict_errors(poured: pl.DataFrame) -> pl.DataFrame:
    """Count each assessor's false alarms and misses.

    Args:
        poured: session, assessor, sample, rejected, role; as `analysis.panel.glasses` gives them.

    Returns:
        assessor, fresh_tasted, fresh_rejected, false_alarms with _lower and _upper, aged_tasted,
        aged_accepted, misses with _lower and _upper; shares are null with fewer than ten glasses.
        Everyone who tasted, sorted.
    """
    answered = poured.filter(pl.col("rejected").is_not_null())
    of_sample = answered.group_by("session", "sample").agg(
        all_glasses=pl.len(), all_rejected=pl.col("rejected").sum()
    )
    # What the others found: all glasses of the sample but this assessor's own, duplicates too.
    judged = (
        answered.join(of_sample, on=["session", "sample"])
        .with_columns(
            others=pl.col("all_glasses") - pl.len().over("session", "sample", "assessor"),
            others_rejected=pl.col("all_rejected")
            - pl.col("rejected").sum().over("session", "sample", "assessor"),
        )
        .with_columns(share=pl.col("others_rejected") / pl.col("others"))
    )
    fresh = (pl.col("role") == "fresh") & ~((pl.col("others") > 0) & (pl.col("share") >= _SPOILT))
    surely_aged = (pl.col("others") >= _OTHERS) & (pl.col("share") >= _AGED_FOR_SURE)
    aged = (pl.col("role") == "spiked") | ((pl.col("role") == "aged") & surely_aged)
    counted = (
        poured.select("assessor")
        .unique()
        .join(
            judged.group_by("assessor").agg(
                fresh_tasted=fresh.sum(),
                fresh_rejected=(fresh & pl.col("rejected")).sum(),
                aged_tasted=aged.sum(),
                aged_accepted=(aged & ~pl.col("rejected")).sum(),
            ),
            on="assessor",
            how="left",
        )
        .with_columns(pl.exclude("assessor").fill_null(0).cast(pl.Int32))
        .sort("assessor")
    )
    return counted.select(
        "assessor",
        "fresh_tasted",
        "fresh_rejected",
        *_shares(counted, "false_alarms", "fresh_rejected", "fresh_tasted"),
        "aged_tasted",
        "aged_accepted",
        *_shares(counted, "misses", "aged_accepted", "aged_tasted"),
    )


def _shares(counted: pl.DataFrame, name: str, wrong: str, glasses: str) -> list[pl.Expr]:
    bounds = exact_interval(counted[wrong].to_numpy(), counted[glasses].to_numpy())
    enough = pl.col(glasses) >= FEWEST_GLASSES
    return [
        pl.when(enough).then(pl.col(wrong) / pl.col(glasses)).alias(name),
        *(
            pl.when(enough).then(pl.Series(bound)).alias(f"{name}_{end}")
            for end, bound in zip(("lower", "upper"), bounds, strict=True)
        ),
    ]
