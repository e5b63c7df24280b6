"""What the review of a quarter says of oxygen, heads, meters and formats apart."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from analysis.cases.oxygen_quarters import oxygen_by_quarter
from dashboards import sentences, signals

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analysis.cases.quarter import Quarter
    from dashboards.results import Results

Cells = dict[str, Any]

MENDED = "bad head mended"


def oxygen_of(results: Results, rows: Mapping[str, pl.DataFrame], quarter: Quarter) -> Cells:
    """Return package oxygen by line and format, and what the charts say of lots of the quarter."""
    within = pl.col("packaged_on").is_between(quarter.first, quarter.last)
    place = ["line", "format"]
    packages = rows["lots"].filter(within).group_by(place).agg(packages=_packages())
    compared = oxygen_by_quarter(rows["oxygen"], quarter).join(
        packages, on=place, how="left", nulls_equal=True, maintain_order="left"
    )
    charts = {signals.chart_key(c): c for c in results.oxygen_charts.iter_rows(named=True)}
    found = results.oxygen_signals.filter(
        pl.col("found_on").is_between(quarter.first, quarter.last)
    )
    of_one_chart = found.sort("lots", "sigmas", descending=True, maintain_order=True).unique(
        place, keep="first", maintain_order=True
    )
    return {
        "rows": compared.to_dicts(),
        "signals": [
            signals.told(row, charts[signals.chart_key(row)])
            for row in of_one_chart.iter_rows(named=True)
        ],
    }


def heads_of(results: Results, filled: pl.DataFrame) -> list[Cells]:
    """Return heads that stand out, with what was filled on their line and what mending is worth."""
    found = results.head_findings.filter(pl.col("finding") == "named")
    ways = sentences.routes(results)
    mains = results.beer_dates.filter("main_route").select("style", "format", "route").unique()
    said = []
    for row in found.rows(named=True):
        own = filled.filter(
            pl.col("line").eq_missing(row["line"]),
            True if row["line"] is not None else pl.col("format") == row["format"],
        )
        worth = (
            results.levers.filter(pl.col("lever") == MENDED)
            .join(own, on=["style", "format"], how="semi")
            .join(mains, on=["style", "format", "route"], how="semi")
            .sort("days_gained", "style", "format", "route", descending=[True, False, False, False])
        )
        best = next(worth.iter_rows(named=True), None)
        said.append(
            {
                **{name: row[name] for name in ("line", "format", "head", "chance", "heads")},
                **{name: row[name] for name in ("ratio", "ratio_lower", "ratio_upper")},
                "packages": _all(own),
                "days": best and best["days_gained"],
                "of": best and f"{best['style']}, {best['format']}",
                "kept": best and ways[best["route"]].kept,
            }
        )
    return said


def meters_of(results: Results, rows: Mapping[str, pl.DataFrame], quarter: Quarter) -> Cells:
    """Return the checks of a quarter by meter, and which of its lots were read in doubt."""
    checks = results.meter_checks.filter(
        pl.col("checked_at").cast(pl.Date).is_between(quarter.first, quarter.last)
    ).sort("checked_at")
    doubted = rows["doubted"].join(
        rows["lots"].select("lot", "format", "packages"), on=["lot", "format"], how="left"
    )
    by_meter = (
        checks.group_by("meter")
        .agg(
            checks=pl.len(),
            failed=(~pl.col("passed")).sum(),
            last_passed=pl.col("passed").last(),
        )
        .sort("meter")
    )
    effects = results.doubt_effects
    return {
        "rows": [
            {
                **row,
                "lots": (own := doubted.filter(pl.col("meter") == row["meter"])).height,
                "packages": _all(own),
            }
            for row in by_meter.to_dicts()
        ],
        "doubt": results.meter_doubts.height > 0,
        "dates_moved": effects.filter(
            pl.col("date_with").ne_missing(pl.col("date_without"))
        ).height,
        "dates": effects.height,
    }


def formats_of(results: Results) -> list[Cells]:
    """Return for each style its widest gap between two formats on the route of most volume."""
    ways = sentences.routes(results)
    mains = results.beer_dates.filter("main_route").select("style", "format", "route").unique()
    widest = (
        results.format_gaps.join(mains, on=["style", "format", "route"], how="semi")
        .sort("gap_days", "style", "format", "other_format", descending=[True, False, False, False])
        .unique("style", keep="first", maintain_order=True)
    )
    names = ("gap_days", "gap_days_lower", "gap_days_upper", "filling_days", "ingress_days")
    return [
        {
            **{name: row[name] for name in ("style", "format", "other_format", *names)},
            "kept": ways[row["route"]].kept,
            "ends": ways[row["route"]].ends,
        }
        for row in widest.rows(named=True)
    ]


def _packages() -> pl.Expr:
    return pl.when(pl.col("packages").is_not_null().any()).then(pl.col("packages").sum())


def _all(lots: pl.DataFrame) -> int | None:
    """Add up the packages of lots; None where none is known."""
    known = lots["packages"].drop_nulls()
    return int(known.sum()) if known.len() else None
