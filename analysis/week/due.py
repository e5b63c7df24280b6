"""Due or overdue, as seen from a day.

An item with a last day `due_on` is *overdue* when that day has passed, *due* when it lies within
the week that begins with today (today and the six days after it), and *later* beyond that.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import polars as pl

WEEK = timedelta(days=7)


@dataclass(frozen=True)
class Due:
    """What is to be done, the longest overdue first.

    Attributes:
        rows: one row an item, with `due_on`, `days_late` (0 until it is overdue) and `status`.
        missed: items whose time has gone, which are no longer listed.
    """

    rows: pl.DataFrame
    missed: int


def with_status(items: pl.DataFrame, today: date) -> pl.DataFrame:
    """Add `days_late` and `status` (overdue, due, later) to items with a `due_on`."""
    late = (pl.lit(today) - pl.col("due_on")).dt.total_days()
    return items.with_columns(
        days_late=late.clip(0).cast(pl.Int32),
        status=pl.when(late > 0)
        .then(pl.lit("overdue"))
        .when(pl.col("due_on") < pl.lit(today + WEEK))
        .then(pl.lit("due"))
        .otherwise(pl.lit("later")),
    )


def pulled(samples: pl.DataFrame, tasted: pl.DataFrame, today: date) -> pl.Expr:
    """Tell which samples have left their storage.

    A row whose pull lies ahead is a plan, and so is one for today: it is on today's list until it
    is tasted.

    Args:
        samples: sample, pulled_on, …
        tasted: sample: those of which a glass was tasted.
        today: the day.
    """
    known = samples["sample"].is_in(tasted["sample"].implode())
    return (pl.col("pulled_on") < pl.lit(today)) | pl.lit(known)
