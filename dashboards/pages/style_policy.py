"""How a style's dates were set: one label for all markets, and what each choice costs in days."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import words
from dashboards.page import Column, Row, Table, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

_PLACE = ["format", "route"]
_CHOICES = ("share", "confidence", "rounding", "cap", "oldest tasted", "margin")
_SETTINGS = {
    "day": "whole days",
    "week": "whole weeks",
    "month": "month's end",
    "none": "no cap",
    "goes beyond": "beyond oldest tasted",
    "stops there": "to oldest tasted",
    "0 days": "no margin",
}


def said(results: Results, style: str) -> list[str]:
    """Return a sentence for each beer and format that goes several ways."""
    lines = []
    found = results.route_dates.filter(pl.col("style") == style)
    for (beer, format_), part in found.group_by(["beer", "format"], maintain_order=True):
        ways = part.rows(named=True)
        dated = [way for way in ways if way["supported_days"] is not None]
        if len(ways) < 2 or not dated:  # noqa: PLR2004 - one way needs no choice
            continue
        first = min(dated, key=lambda way: (way["supported_days"], way["route"]))
        unfit = words.listed([way["route"] for way in ways if way not in dated])
        apart = _markets(dated)
        lines.append(
            f"{beer}, {format_}: {apart}one label for all markets: "
            f"{words.days(first['supported_days'])}, "
            f"ended by {first['route']} at {words.temperature(first['temp_c'])}"
            + (f"; none for {unfit}, for which it is not fit." if unfit else ".")
        )
    return lines


def _markets(dated: list[Cells]) -> str:
    """Return the date of each market, the shortest of its ways, where there are several."""
    days: dict[str, int] = {}
    for way in dated:
        before = days.get(way["market"], way["supported_days"])
        days[way["market"]] = min(before, way["supported_days"])
    if len(days) < 2:  # noqa: PLR2004 - one market stands beside no other
        return ""
    return "; ".join(f"{market} {words.days(least)}" for market, least in days.items()) + "; "


def shelf(results: Results, style: str) -> list[str]:
    """Return, for each cold route and format, the days that the same beer has on a shelf."""
    cold = results.date_rules.filter(
        pl.col("style") == style, pl.col("beer").is_null(), "cold"
    ).join(results.dates.select("style", *_PLACE, "best_before_days"), on=["style", *_PLACE])
    return [
        f"{row['format']}, {row['route']} at {words.temperature(row['temp_c'])}: "
        f"{words.days(row['best_before_days'])}; on a shelf at {words.temperature(21)} "
        + ("no date." if row["shelf_days"] is None else f"{words.days(row['shelf_days'])}.")
        for row in cold.filter(pl.col("best_before_days").is_not_null()).rows(named=True)
    ]


def table(results: Results, style: str, stem: str) -> Table:
    """Return what each other choice would bring, a row for each format and route.

    Args:
        results: What the store publishes.
        style: The style.
        stem: The page's file name without its ending, which begins the name of the CSV.
    """
    found = results.policy_choices.filter(pl.col("style") == style)
    days, least = pl.col("best_before_days"), pl.col("least_days")
    stands = days.filter(pl.col("in_force")).first().over(_PLACE)
    moves = days.ne_missing(stands) | least.ne_missing(days)
    others = found.filter(~pl.col("in_force"), moves).select("choice", "setting").unique()
    order = {choice: place for place, choice in enumerate(_CHOICES)}
    asked = sorted(others.rows(), key=lambda other: (order[other[0]], other[1]))
    temps = dict(
        results.date_rules.filter(pl.col("beer").is_null()).select("route", "temp_c").iter_rows()
    )
    shown = []
    for (format_, route), part in found.group_by(_PLACE, maintain_order=True):
        rows = part.rows(named=True)
        by_choice = {(row["choice"], row["setting"]): row for row in rows}
        now = next((row["best_before_days"] for row in rows if row["in_force"]), None)
        cells = [_changed(by_choice.get(other), now) for other in asked]
        shown.append(
            Row(
                (
                    f"{format_}, {route}, ends at {words.temperature(temps.get(route))}",
                    words.whole(now),
                    *cells,
                ),
                narrow=words.sentence(
                    "; ".join(
                        f"{_heading(*other)}: {cell}"
                        for other, cell in zip(asked, cells, strict=True)
                        if cell not in {"0", "as set", words.NOTHING}
                    )
                    or "no other choice changes it"
                ),
            )
        )
    return Table(
        name=f"{stem}-choices",
        caption="What each choice costs: days more (+) or fewer than now, each changed alone",
        columns=(
            Column("Format, kept as"),
            Column("Now, days", figures=True),
            *(Column(_heading(*other), figures=True, wide=True) for other in asked),
        ),
        rows=tuple(shown),
        frame=found.drop("run_id"),
        source=run_source(results),
        empty="No date yet, so no choice costs anything.",
    )


def _heading(choice: str, setting: str) -> str:
    if choice in {"share", "confidence"}:
        what = "rejected" if choice == "share" else "sure"
        return f"{words.percent(float(setting))} {what}"
    if setting in _SETTINGS:
        return _SETTINGS[setting]
    return f"cap {setting}" if choice == "cap" else f"{setting} kept back"


def _changed(row: Cells | None, now: int | None) -> str:
    """Return what a choice changes: `+21`, `−7`, `−30 to 0`, or the days where there are none."""
    if row is None or row["in_force"]:
        return "as set"
    if row["best_before_days"] is None:
        return "no date" if now is not None else words.NOTHING
    if row["difference_days"] is None:
        return f"{words.whole(row['best_before_days'])}{words.NBSP}in all"
    worst = row["least_days"] - row["best_before_days"]
    if worst:
        least = words.difference(row["difference_days"] + worst)
        return f"{least} to {words.difference(row['difference_days'])}".replace(" ", words.NBSP)
    return words.difference(row["difference_days"])
