"""What the review of a quarter says of complaints: counted, and beside those expected."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from analysis.cases.safety import SAFETY_CATEGORIES

if TYPE_CHECKING:
    from datetime import date

    from analysis.cases.quarter import Quarter
    from dashboards.results import Results

Cells = dict[str, Any]

_RATE = (
    *("taste", "packages", "expected", "luck_lower", "luck_upper", "per_million"),
    *("lower", "upper", "verdict"),
)


def complaints_of(results: Results, quarter: Quarter, until: date) -> Cells:
    """Return the complaints of a quarter and of the one before, those on safety apart.

    Args:
        results: What is published of the data as they stood.
        quarter: The quarter.
        until: The newest day that counts.
    """
    each = (
        results.field_complaints.filter(
            pl.col("received_on").is_between(quarter.before.first, quarter.last)
        )
        .sort("received_on", "complaint")
        .with_columns(
            of_quarter=pl.col("received_on") >= quarter.first,
            category=pl.col("category").str.split(";"),
        )
    )
    mine, before = each.filter("of_quarter"), each.filter(~pl.col("of_quarter"))
    counted = (
        each.explode("category")
        .group_by("category")
        .agg(now=pl.col("of_quarter").sum(), before=(~pl.col("of_quarter")).sum())
        .sort("now", "before", "category", descending=[True, True, False])
    )
    return {
        "now": mine.height,
        "before": before.height,
        "without_lot": mine.filter(~pl.col("named")).height,
        "rate": _rate(results, quarter),
        "rate_before": _rate(results, quarter.before),
        "rows": counted.to_dicts(),
        "told": _told(results),
        "safety": [
            {
                "complaint": row["complaint"],
                "category": "; ".join(row["category"]),
                "by_note": not set(row["category"]) & set(SAFETY_CATEGORIES),
                "lot": row["named_lot"],
                "closed": row["closed_on"] is not None and row["closed_on"] <= until,
                "on": row["received_on"].isoformat(),
            }
            for row in mine.filter("safety").rows(named=True)
        ],
    }


def _rate(results: Results, quarter: Quarter) -> Cells | None:
    """Return complaints about taste per million packages drunk in a quarter, and those expected."""
    found = results.field_rates.filter(
        pl.col("grouping") == "quarter", pl.col("name") == str(quarter)
    ).select(_RATE)
    return next(found.iter_rows(named=True), None)


def _told(results: Results) -> list[Cells]:
    """Return the lots, lines and outlets with more complaints of a year than luck explains."""
    found = results.field_rates.filter(
        pl.col("verdict") == "more", pl.col("grouping").is_in(["lot", "line", "outlet"])
    ).sort("corrected", "grouping", "name", "format")
    return found.select("grouping", "name", "format", "taste", "expected", "packages").to_dicts()
