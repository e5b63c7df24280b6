"""What a partner may see of the results: the one place that decides it.

A column is shown only where it stands here, so that a new view, or a new column of an old one, is
left out until somebody has thought about it. What is left out keeps its name and is empty.
"""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

import polars as pl

from dashboards.results import Results

if TYPE_CHECKING:
    from collections.abc import Collection

NOT_SHOWN = "customers not shown"

_RULE = ("share_rejected", "confidence")
_LIFE = ("shelf_life_days", "shelf_life_days_lower", "shelf_life_days_upper")

SHOWN: dict[str, tuple[str, ...]] = {
    # Rows of a beer: those of the partner's.
    "beer_dates": (
        *("run_id", "beer", "style", "format", "route", "main_route", "lot", "packaged_on"),
        *("printed_on", "printed_days", "supported_days", "difference_days", "basis"),
        *("binding_cause", "reason"),
    ),
    "market_dates": (
        *("beer", "style", "format", "market", "days", "route", "temp_c", "way_days", "cold"),
        *("storage_text", "binding_cause", "basis", "reason", "rounding", "shelf_days", "abv_pct"),
        "unfit",
    ),
    "labels": (
        *("beer", "format", "market", "packaged_on", "days", "computed_on", "printed_on", "words"),
        *("printed", "reason", "notes", "rule", "rule_name", "form", "rounding"),
    ),
    "lot_oxygen": (
        *("run_id", "lot", "format", "beer", "style", "packaged_on", "packages"),
        *("total_oxygen_ppb", "total_oxygen_lower_ppb", "total_oxygen_upper_ppb", "at_least_ppb"),
    ),
    "pulls": (
        *("run_id", "style", "beer", "format", "lot", "sample", "storage_temp_c", "age_days"),
        *("equivalent_days", "tasted", "rejected", "not_sure", "expected_rejected"),
    ),
    "stock": (
        *("lot", "format", "beer", "place", "route", "temp_c", "packages", "packaged_on"),
        *("shipped_on", "printed_on", "printed", "printed_days", "middle_days", "flavour_days"),
        *("days_left", "logged_days"),
    ),
    "field_complaints": (
        *("complaint", "received_on", "category", "safety", "taste", "named", "lot", "format"),
        *("odds", "beer", "age_days", "packages", "closed_on"),
    ),
    # Rows of a style in a format: those that a beer of the partner's is dated by.
    "dates": (
        *("run_id", "style", "format", "route", *_RULE, *_LIFE, "best_before_days"),
        *("binding_cause", "basis", "reason"),
    ),
    "shelf_life": ("style", "format", "route", *_RULE, *_LIFE, "basis"),
    # Rows of a route: those that the partner's beers go.
    "routes": (
        *("route", "market", "kinds", "storage_text", "stage_no", "stage", "temp_c", "days"),
    ),
    # Of nobody's beer.
    "run": (
        *("run_id", "finished_at", "load_id", "brewery", "question", "share_rejected"),
        *("confidence", "rounding", "outcome"),
    ),
    "loads": ("load_id", "finished_at"),
    "this_week": ("today", "written_on"),
    "stock_summary": ("today",),
}


def restricted(results: Results, beers: Collection[str]) -> Results:
    """Return of the results what concerns some beers alone, with their own counts.

    Args:
        results: All of them.
        beers: The partner's.
    """
    theirs = pl.col("beer").is_in(list(beers))
    dated = results.beer_dates.filter(theirs)
    # A beer without a validation must not borrow the date of its style.
    safe = dated.filter(pl.col("binding_cause").ne_missing("safety"))
    shown = {
        f.name: _shown(getattr(results, f.name), SHOWN.get(f.name, ())) for f in fields(Results)
    }
    for name, frame in shown.items():
        columns = SHOWN.get(name, ())
        if "beer" in columns:
            shown[name] = frame.filter(theirs)
        elif "style" in columns:
            shown[name] = frame.join(safe, on=["style", "format"], how="semi")
        elif "route" in columns:
            shown[name] = frame.join(dated, on="route", how="semi")
    pulls = shown["pulls"]
    shown["run"] = shown["run"].with_columns(
        verdicts=pl.lit(pulls["tasted"].sum(), pl.Int64),
        lots=pl.lit(pulls["lot"].n_unique(), pl.Int64),
    )
    shown["stock"] = shown["stock"].with_columns(customers=pl.lit(NOT_SHOWN))
    return Results(**shown)


def _shown(frame: pl.DataFrame, columns: tuple[str, ...]) -> pl.DataFrame:
    """Empty the columns that are not shown; without any that is, all rows go."""
    if not columns:
        return frame.clear()
    return frame.with_columns(
        pl.lit(None, kind).alias(name) for name, kind in frame.schema.items() if name not in columns
    )
