"""What readings in doubt do to the dates: the same assessment with them and without."""

from __future__ import annotations

import polars as pl

_CELL = ("style", "format", "route")


def effect_in_days(with_them: pl.DataFrame, without: pl.DataFrame) -> pl.DataFrame:
    """Set two tables of dates side by side.

    Args:
        with_them: `dates` of an assessment of every reading.
        without: `dates` of one without the readings in doubt.

    Returns:
        style, format, route, days_with, days_without (shelf life at the policy's share, null where
        there is no estimate), date_with and date_without (best-before days), difference_days (of
        the shelf life, without − with); the largest difference first.
    """
    numbers = ("shelf_life_days", "best_before_days")
    return (
        with_them.select(*_CELL, *numbers)
        .join(without.select(*_CELL, *numbers), on=_CELL, suffix="_without")
        .select(
            *_CELL,
            days_with="shelf_life_days",
            days_without="shelf_life_days_without",
            date_with="best_before_days",
            date_without="best_before_days_without",
            difference_days=pl.col("shelf_life_days_without") - pl.col("shelf_life_days"),
        )
        .sort(
            pl.col("difference_days").abs(),
            *_CELL,
            descending=[True, False, False, False],
            nulls_last=True,
        )
    )
