"""Which samples to pull: what the plan asks for and no pull has answered, and pulls written down.

A series is the aged samples of one lot in one format at one planned storage temperature; its days
count from the first sample placed. Each sample answers the one planned age that is nearest to its
own, if it is within the tolerance. A planned age that nothing answers is due on its day. It is
*missed*, and no longer listed, once a later pull of the series has been made or it has been overdue
for too long: beer pulled then would answer another age.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

from analysis.week.due import Due, pulled, with_status

if TYPE_CHECKING:
    from datetime import date

NEAR_C = 1.0  # a cupboard written down as 19.5 °C is the one planned for 20 °C

_SERIES = ("lot", "format", "plan_temp_c")
_SHOWN = ("lot", "format", "beer", "style", "storage_temp_c", "place", "age_days", "sample")


@dataclass(frozen=True)
class Tolerance:
    """How far a pull may be from its planned day, and when it is given up.

    Attributes:
        days: a pull this many days off counts,
        share: or this share of its days in storage; the wider of the two.
        missed_after_days: days overdue after which it is counted as missed.
    """

    days: int = 2
    share: float = 0.10
    missed_after_days: int = 60


def due_pulls(
    samples: pl.DataFrame,
    tasted: pl.DataFrame,
    lots: pl.DataFrame,
    plan: pl.DataFrame,
    tolerance: Tolerance,
    today: date,
) -> Due:
    """Give the pulls that are overdue or due within the week.

    Args:
        samples: sample, lot, format, storage_temp_c, placed_on, pulled_on, place, role.
        tasted: sample: those of which a glass was tasted.
        lots: lot, format, beer, style.
        plan: style, plan_temp_c, age_days: when to pull, days in storage at °C.
        tolerance: what counts as a pull made.
        today: the day.

    Returns:
        lot, format, beer, style, storage_temp_c, place, age_days (in storage), sample (of a pull
        that is written down, else null), due_on, days_late, status.
    """
    known = samples.join(lots, on=["lot", "format"]).with_columns(
        age=_days("placed_on", "pulled_on"), pulled=pulled(samples, tasted, today)
    )
    written = known.filter(~pl.col("pulled")).with_columns(
        age_days=pl.col("age").cast(pl.Int32), due_on="pulled_on"
    )
    unanswered = with_status(_unanswered(known, plan, tolerance), today)
    overdue = pl.col("status") == "overdue"
    gone = overdue & (
        (pl.col("age_days") < pl.col("last_pulled_days"))
        | (pl.col("days_late") > tolerance.missed_after_days)
    ).fill_null(value=False)
    listed = pl.concat(
        [
            with_status(written, today).select(*_SHOWN, "due_on", "days_late", "status"),
            unanswered.filter(~gone).select(*_SHOWN, "due_on", "days_late", "status"),
        ]
    )
    return Due(
        listed.filter(pl.col("status") != "later").sort(
            "due_on", "lot", "format", "storage_temp_c", "age_days", "sample"
        ),
        unanswered.filter(gone).height,
    )


def _unanswered(known: pl.DataFrame, plan: pl.DataFrame, tolerance: Tolerance) -> pl.DataFrame:
    """Planned ages of each series that no sample answers, with the series' oldest pull."""
    temperatures = plan.select("style", "plan_temp_c").unique()
    placed = (
        known.filter(pl.col("role").fill_null("aged") == "aged")
        .join(temperatures, on="style")
        .with_columns(off=(pl.col("storage_temp_c") - pl.col("plan_temp_c")).abs())
        .filter(pl.col("off") <= NEAR_C)
        .sort("off", "plan_temp_c")
        .unique("sample", keep="first", maintain_order=True)
        .sort("placed_on", "sample")
    )
    answered = (
        placed.join(plan, on=["style", "plan_temp_c"])
        .with_columns(off=(pl.col("age") - pl.col("age_days")).abs())
        .sort("off", "age_days")
        .unique("sample", keep="first", maintain_order=True)
        .filter(
            pl.col("off")
            <= pl.max_horizontal(
                pl.lit(tolerance.days, dtype=pl.Float64), pl.col("age_days") * tolerance.share
            )
        )
        .select(*_SERIES, "age_days")
        .unique()
    )
    series = placed.group_by(*_SERIES).agg(
        pl.col("beer", "style").first(),
        pl.col("place").drop_nulls().last(),
        pl.col("placed_on").min(),
        last_pulled_days=pl.col("age").filter("pulled").max(),
    )
    return (
        series.join(plan, on=["style", "plan_temp_c"])
        .join(answered, on=[*_SERIES, "age_days"], how="anti")
        .with_columns(
            storage_temp_c="plan_temp_c",
            sample=pl.lit(None, dtype=pl.String),
            due_on=pl.col("placed_on") + pl.duration(days="age_days"),
        )
    )


def _days(first: str, second: str) -> pl.Expr:
    return (pl.col(second) - pl.col(first)).dt.total_days()
