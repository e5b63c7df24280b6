"""Verdicts of a series of pulls to the interval in which rejection began.

Tasting destroys the package, so the age T at which an assessor would begin to reject a beer is
never seen. By the widest-uncertainty rule it lies in (lower, upper]:

    lower = the last age up to which every verdict is accept (0 where the first is a rejection)
    upper = the first age from which every verdict is reject (none where the last is accept)

so that answers that go back and forth widen the interval instead of being argued away. A series
that begins with a rejection and ends with an acceptance says nothing and is left out.

Reference: Hough, Sensory Shelf Life Estimation of Food Products, 2010, chapter 3.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from analysis.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence


def widest_brackets(verdicts: pl.DataFrame, by: Sequence[str], age: str) -> pl.DataFrame:
    """Bracket the start of rejection in every series of verdicts.

    Args:
        verdicts: one row a glass with the columns `by`, `age` (above 0, any unit) and `rejected`
            (Boolean, never missing).
        by: columns that tell the series apart: assessor, lot, storage.
        age: name of the age column.

    Returns:
        One row a series, sorted by `by`: those columns, `lower` (0 where open), `upper` (null where
        open) in the unit of `age`, `glasses` and `rejections`.

    Raises:
        InputError: an age is missing, zero or below, or a verdict is missing.
    """
    faulty = verdicts.filter(
        pl.col(age).is_null() | (pl.col(age) <= 0) | pl.col("rejected").is_null()
    )
    if faulty.height:
        message = f"{faulty.height} verdicts have no age above 0 or no answer"
        raise InputError(message)
    first_rejection = pl.col(age).filter(pl.col("rejected")).min()
    last_acceptance = pl.col(age).filter(~pl.col("rejected")).max()
    return (
        verdicts.group_by(by)
        .agg(
            lower=pl.col(age).filter(pl.col(age) < first_rejection.fill_null(float("inf"))).max(),
            upper=pl.col(age).filter(pl.col(age) > last_acceptance.fill_null(0.0)).min(),
            glasses=pl.len(),
            rejections=pl.col("rejected").sum(),
        )
        .with_columns(pl.col("lower").fill_null(0.0))
        .sort(by)
    )
