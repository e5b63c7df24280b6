"""What the review of a quarter says of the panel."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

if TYPE_CHECKING:
    from analysis.cases.quarter import Quarter
    from dashboards.results import Results

Cells = dict[str, Any]

_MOVES = ("drifts", "may drift")


def panel_of(results: Results, quarter: Quarter) -> Cells:
    """Return the sittings of a quarter and whose answers stand apart, by code.

    How assessors answer is told over all their glasses: a quarter alone is too few.
    """
    held = results.panel_sessions.filter(
        pl.col("tasted_on").is_between(quarter.first, quarter.last)
    )
    apart = results.assessors.filter(~pl.col("follows") | pl.col("drift").is_in(_MOVES))
    return {
        "sessions": held.height,
        "assessors": held["assessors"].median(),
        "few": int(held["few_assessors"].sum()),
        "without_control": int(held["no_fresh"].sum()),
        "fresh_tasted": int(held["fresh_tasted"].sum()),
        "fresh_rejected": int(held["fresh_rejected"].sum()),
        "failed": [
            {**row, "tasted_on": row["tasted_on"].isoformat()}
            for row in held.filter("fresh_failed")
            .select("session", "tasted_on", "fresh_rejected", "fresh_tasted")
            .to_dicts()
        ],
        "apart": apart.select("code", "follows", "drift").sort("code").to_dicts(),
    }
