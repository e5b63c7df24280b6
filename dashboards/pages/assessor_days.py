"""What each assessor does to the dates: a sentence and a table for the page of the assessors."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import sentences, words
from dashboards.page import Column, Row, Table, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

_CELL = ("style", "format", "route")


def lead(results: Results) -> str:
    """Say how far the dates hang on a single assessor."""
    found = _by_assessor(results)
    if found.is_empty():
        return ""
    first = found.sort("by", "code", descending=[True, False]).row(0, named=True)
    if not first["moved"]:
        return "No best-before date would be another without any one of the assessors."
    usual = found.select(pl.col("by").median()).item()
    return (
        f"Farthest goes a date without {first['code']}: that of {_date(results, first)}, from "
        f"{_days(first['date_with'])} to {_days(first['date_without'])}. Leaving out the assessor "
        f"in the middle of the panel moves no date by more than {words.days(usual)}."
    )


def table(results: Results) -> Table:
    """Return what leaving each assessor out does: how many dates move, and which one most."""
    return Table(
        name="assessors-days",
        caption="Without each assessor, the others as they came",
        columns=(
            Column("Left out"),
            Column("Dates that move", figures=True),
            Column("Shelf lives, in the middle, %", figures=True),
            Column("The date that moves most", wide=True),
            Column("From, days", figures=True),
            Column("To, days", figures=True),
        ),
        rows=tuple(
            Row(
                (
                    a["code"],
                    words.of(a["moved"], a["dates"]),
                    words.difference(100 * a["change"]),
                    _date(results, a) if a["moved"] else words.NOTHING,
                    _days(a["date_with"]) if a["moved"] else words.NOTHING,
                    _days(a["date_without"]) if a["moved"] else words.NOTHING,
                ),
                narrow=words.sentence(_date(results, a)) if a["moved"] else "",
            )
            if a["fitted"]
            else Row((a["code"], "the others do not settle it", *[words.NOTHING] * 4))
            for a in _by_assessor(results).rows(named=True)
        ),
        frame=results.assessor_days.drop("run_id"),
        source=run_source(results),
        empty=(
            "No date can be worked out without one of the assessors yet: twenty verdicts on aged "
            "beer from each of two, in the table tastings, fill this."
        ),
    )


def _by_assessor(results: Results) -> pl.DataFrame:
    """Find of each assessor how many dates move, and the one that moves farthest."""
    given = pl.col("date_with").is_not_null() | pl.col("date_without").is_not_null()
    moved = pl.col("date_with").ne_missing(pl.col("date_without"))
    # A date that comes or goes moves farther than any number of days says; then none is beside it.
    by = (pl.col("date_without") - pl.col("date_with")).abs()
    return (
        results.assessor_days.with_columns(by=by, moved=moved & given, given=given)
        .sort("code", "by", *_CELL, descending=[False, True, False, False, False], nulls_last=True)
        .group_by("code", maintain_order=True)
        .agg(
            *(pl.col(name).first() for name in (*_CELL, "date_with", "date_without")),
            pl.col("moved").sum(),
            dates=pl.col("given").sum(),
            by=pl.col("by").max().fill_null(0),
            change=(pl.col("days_without") / pl.col("days_with") - 1.0).median(),
            fitted=pl.col("days_without").is_not_null().any(),
        )
    )


def _date(results: Results, cell: Cells) -> str:
    """Name a date by its beer and how it is kept."""
    kept = sentences.routes(results)[cell["route"]].kept
    return f"{cell['style']} in {cell['format']}, {kept}"


def _days(date: int | None) -> str:
    return "no date" if date is None else words.days(date)
