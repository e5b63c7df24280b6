"""Printed dates beside supported ones, and what of it needs a person."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from analysis.dating.policy import LOW_ALCOHOL_REASON
from analysis.dating.rounding import BestBefore
from analysis.dating.routes import main_route
from analysis.dating.shelf_life import date_of, limits_of, oldest_tasted
from analysis.staling.checks import REAL_TIME_C
from analysis.staling.evidence import AGED

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from analysis.dating.policy import Policy
    from analysis.dating.routes import Route
    from analysis.dating.shelf_life import Cell
    from analysis.staling.evidence import Evidence

_BEER_DATES = {
    "beer": pl.String,
    "style": pl.String,
    "format": pl.String,
    "route": pl.String,
    "main_route": pl.Boolean,
    "lot": pl.String,
    "packaged_on": pl.Date,
    "printed_on": pl.Date,
    "printed_days": pl.Int32,
    "supported_days": pl.Int32,
    "difference_days": pl.Int32,
    "basis": pl.String,
    "binding_cause": pl.String,
    "reason": pl.String,
}


def beer_dates(
    all_cells: Sequence[Cell],
    routes: Sequence[Route],
    evidence: Evidence,
    beers: pl.DataFrame,
    policy: Policy,
    limits: pl.DataFrame,
) -> pl.DataFrame:
    """Set the date on the newest lot of each beer and format beside what the data support.

    Args:
        all_cells: the cells of all lots.
        routes: the brewery's routes.
        evidence: its lots.
        beers: beer, abv_pct.
        policy: the brewery's rule.
        limits: beer, style, format, cause, days.

    Returns:
        One row for each beer, format and route that carries the format; the main route is the one
        with the largest share of the volume, at a tie the one whose name comes first.
    """
    abv = dict(beers.select("beer", "abv_pct").iter_rows())
    by_place = {(cell.style, cell.format): cell for cell in all_cells}
    newest = (
        evidence.lots.sort("packaged_on", "lot")
        .group_by("beer", "format", maintain_order=True)
        .last()
        .sort("beer", "format")
    )
    rows = []
    for lot in newest.iter_rows(named=True):
        cell = by_place[lot["style"], lot["format"]]
        carried = [route for route in routes if route.carries(cell.kind)]
        main = main_route(carried)
        printed = (lot["best_before"] - lot["packaged_on"]).days if lot["best_before"] else None
        ends = limits_of(limits, style=cell.style, format_=cell.format, beer=lot["beer"])
        safety = policy.needs_validation(lot["beer"], abv[lot["beer"]])
        for route in carried:
            oldest = oldest_tasted(evidence, cell.style, route.last_temp_c)
            rule = policy.of(cell.style, beer=lot["beer"], format_=cell.format, market=route.market)
            date = (
                BestBefore(None, "safety", LOW_ALCOHOL_REASON)
                if safety
                else date_of(cell, route, rule, oldest, ends)
            )
            rows.append(
                {
                    "beer": lot["beer"],
                    "style": cell.style,
                    "format": cell.format,
                    "route": route.name,
                    "main_route": route is main,
                    "lot": lot["lot"],
                    "packaged_on": lot["packaged_on"],
                    "printed_on": lot["best_before"],
                    "printed_days": printed,
                    "supported_days": date.days,
                    "difference_days": _difference(date.days, printed),
                    "basis": "none" if safety else cell.basis(route, rule.share_rejected),
                    "binding_cause": date.binding_cause or None,
                    "reason": date.reason,
                }
            )
    return pl.DataFrame(rows, schema=_BEER_DATES, orient="row")


def _difference(supported: int | None, printed: int | None) -> int | None:
    return None if supported is None or printed is None else supported - printed


def attention(
    dates: pl.DataFrame,
    flagged: pl.DataFrame,
    broken_routes: Sequence[str],
    left_out: pl.DataFrame,
) -> pl.DataFrame:
    """List what needs a person: safety first, then most days at stake, then what is not known.

    Args:
        dates: as `beer_dates` returns them.
        flagged: sessions whose fresh control was rejected: session, tasted_on, …
        broken_routes: routes that lack a stage, so that nothing is dated on them.
        left_out: lots whose beer or format was withdrawn: beer, format.

    Returns:
        rank, what, beer, style, format, route, session, days. A beer in a format appears once for
        each kind of line, with its main route where that is concerned, else the worst.
    """
    once = ["beer", "format"]
    lines = dates.select(
        "beer",
        "style",
        "format",
        "route",
        "main_route",
        days=-pl.col("difference_days"),
        what=pl.when((pl.col("binding_cause") == "safety") & pl.col("printed_on").is_not_null())
        .then(pl.lit("no safety validation"))
        .when(pl.col("difference_days") < 0)
        .then(pl.lit("printed too long"))
        .when(pl.col("binding_cause") == "route")
        .then(pl.lit("not fit for route"))
        .when((pl.col("basis") == "none") & pl.col("binding_cause").is_null())
        .then(pl.lit("no estimate"))
        .when(pl.col("basis") == "borrowed")
        .then(pl.lit("lent date")),
    ).filter(pl.col("what").is_not_null())
    per_beer = (
        lines.sort("main_route", "days", descending=True, nulls_last=True)
        .group_by("what", *once, maintain_order=True)
        .first()
    )
    sessions = flagged.select("session", what=pl.lit("fresh control rejected"))
    routes = pl.DataFrame(
        {"route": broken_routes, "what": "route incomplete"}, schema_overrides={"route": pl.String}
    )
    homeless = left_out.select(
        "beer", "format", what=pl.lit("lots without beer or format")
    ).unique()
    order = {
        "no safety validation": 0,
        "route incomplete": 1,
        "lots without beer or format": 1,
        "printed too long": 2,
        "not fit for route": 3,
        "fresh control rejected": 4,
        "no estimate": 5,
        "lent date": 6,
    }
    return (
        pl.concat([per_beer, sessions, routes, homeless], how="diagonal")
        .with_columns(order=pl.col("what").replace_strict(order, return_dtype=pl.Int32))
        .sort(
            ["order", "days", "main_route", "beer", "format", "session"],
            descending=[False, True, True, False, False, False],
            nulls_last=True,
        )
        .with_row_index("rank", offset=1)
        .select(
            pl.col("rank").cast(pl.Int32),
            "what",
            "beer",
            "style",
            "format",
            "route",
            "session",
            "days",
        )
    )


def cautions(
    all_cells: Sequence[Cell],
    routes: Sequence[Route],
    evidence: Evidence,
    dates: pl.DataFrame,
    asked_since: date | None,
) -> pl.DataFrame:
    """List what a reader must know before using a date.

    Args:
        all_cells: the cells of all lots.
        routes: the brewery's routes.
        evidence: its servings.
        dates: the dates table.
        asked_since: first day of the panel's question as it is worded now; None: always.

    Returns:
        style, format (null: all), route (null: all), caution, days (null where none is meant).
    """
    estimated = [cell for cell in all_cells if cell.drawn is not None]
    found: list[_Caution] = []
    for style in sorted({cell.style for cell in estimated}):
        kinds = {cell.kind for cell in estimated if cell.style == style}
        gone = [route for route in routes if any(route.carries(kind) for kind in kinds)]
        found += _of_style(style, gone, evidence, asked_since)
    for cell in estimated:
        if not cell.verdicts:
            found.append((cell.style, cell.format, None, "lent by other formats", None))
        elif cell.lots < _FEW_LOTS:
            found.append((cell.style, cell.format, None, "few lots", None))
        if not _kept_to_its_date(cell, evidence):
            found.append((cell.style, cell.format, None, "first estimate", None))
        if cell.oxygen_from != "measured":
            found.append((cell.style, cell.format, None, "oxygen assumed", None))
    beyond = dates.filter(pl.col("shelf_life_days_lower") > pl.col("oldest_tasted_days"))
    found.extend(
        (
            row["style"],
            row["format"],
            row["route"],
            "beyond oldest tasted",
            row["oldest_tasted_days"],
        )
        for row in beyond.iter_rows(named=True)
    )
    return pl.DataFrame(found, schema=_CAUTIONS, orient="row")


_Caution = tuple[str, str | None, str | None, str, float | None]
_OVER_FORCED_C = 40.0
_FEW_LOTS = 3
_CAUTIONS = {
    "style": pl.String,
    "format": pl.String,
    "route": pl.String,
    "caution": pl.String,
    "days": pl.Float64,
}


def _of_style(
    style: str, routes: Sequence[Route], evidence: Evidence, asked_since: date | None
) -> list[_Caution]:
    """List the cautions that hold for a style in every format."""
    stored = evidence.servings.filter(AGED & (pl.col("style") == style))
    temperatures = stored["storage_temp_c"].unique()
    holds = {
        "one temperature": len(temperatures) == 1,
        "above 40": bool((temperatures > _OVER_FORCED_C).any()),
        "two wordings": asked_since is not None and bool((stored["tasted_on"] < asked_since).any()),
    }
    found: list[_Caution] = [(style, None, None, words, None) for words, so in holds.items() if so]
    for words, left_out in (
        ("assessors left out", evidence.astray),
        ("samples left out", evidence.impossible),
    ):
        if left_out:
            found.append((style, None, None, words, float(left_out)))
    found.extend(
        (style, None, route.name, "none at route temperature", None)
        for route in routes
        if oldest_tasted(evidence, style, route.last_temp_c) is None
    )
    return found


def _kept_to_its_date(cell: Cell, evidence: Evidence) -> bool:
    """Tell whether beer kept at no more than 25 °C was tasted at or after its printed date."""
    place = (pl.col("style") == cell.style) & (pl.col("format") == cell.format)
    dated = evidence.servings.filter(AGED & place).join(
        evidence.lots.select("lot", "format", "best_before"), on=["lot", "format"]
    )
    old = (
        pl.col("packaged_on") + pl.duration(days=pl.col("age_days").cast(pl.Int64))
        >= pl.col("best_before")
    ) & (pl.col("storage_temp_c") <= REAL_TIME_C[1])
    return bool(dated.select(old.any()).item())
