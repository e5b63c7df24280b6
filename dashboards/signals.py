"""What the control charts of package oxygen say, in sentences; no statistics."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import words

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

BEYOND_LIMIT = "beyond limit"
SIX_RISING_OR_FALLING = "six rising or falling"
RULES = {
    BEYOND_LIMIT: "beyond a limit",
    "eight on one side": "eight in a row on one side of the middle",
    "two of three beyond two sigma": "two of three far from the middle",
    "four of five beyond one sigma": "four of five off the middle, to one side",
    SIX_RISING_OR_FALLING: "six in a row rising or falling",
    "running mean beyond limit": "the running mean is beyond its limit",
}


def chart_name(row: Cells) -> str:
    """Return the line and format of a chart."""
    packed = row["format"].replace(" ", words.NBSP)
    return f"{row['line']}, {packed}" if row["line"] else f"{packed}, line not recorded"


def chart_key(row: Cells) -> tuple[str | None, str]:
    """Return what tells a chart from the others."""
    return row["line"], row["format"]


def changed(results: Results) -> list[str]:
    """Say which line and format changed, by how much and since when, those that rose first.

    A chart is told of once, by its longest signal that its newest lot still belongs to.
    """
    longest = (
        results.oxygen_signals.filter("ongoing")
        .sort("lots", "sigmas", descending=True, maintain_order=True)
        .unique(["line", "format"], keep="first", maintain_order=True)
        .sort("change_ppb", descending=True, maintain_order=True)
    )
    charts = {chart_key(c): c for c in results.oxygen_charts.iter_rows(named=True)}
    return [told(s, charts[chart_key(s)]) for s in longest.iter_rows(named=True)]


def told(signal: Cells, chart: Cells) -> str:
    """Say one signal: the line and format, what, by how many ppb, since when."""
    where = chart_name(signal)
    if signal["rule"] == BEYOND_LIMIT and signal["lots"] == 1:
        limit = "upper" if signal["side"] == "above" else "lower"
        ppb = chart[f"limit_{limit}_ppb"]
        return words.sentence(
            f"{where}: lot {signal['found_lot']} of {words.day(signal['found_on'])} held "
            f"{_level(signal)}, {signal['side']} the {limit} limit of {words.whole(ppb)}"
        )
    if signal["rule"] == SIX_RISING_OR_FALLING:
        way = "rising" if signal["side"] == "above" else "falling"
        return words.sentence(
            f"{where}: {way} from lot to lot since {words.day(signal['first_on'])}, "
            f"{words.count(signal['lots'], 'lot')}"
        )
    return words.sentence(
        f"{where}: {change(signal)} since {words.day(signal['first_on'])}, "
        f"{words.count(signal['lots'], 'lot')}; {_level(signal)} where "
        f"{words.whole(chart['centre_ppb'])} was usual"
    )


def change(signal: Cells) -> str:
    """Return by how much a level went up or down, with bounds: `up by 31 ppb (18 to 45)`."""
    up = signal["change_ppb"] > 0.0
    ends = sorted(
        signal[name] if up else -signal[name] for name in ("change_lower_ppb", "change_upper_ppb")
    )
    bounds = words.bounds(*ends).replace(" ", words.NBSP)
    return (
        f"{'up' if up else 'down'} by {words.whole(abs(signal['change_ppb']))}{words.NBSP}ppb "
        f"({bounds})"
    )


def _level(signal: Cells) -> str:
    beyond = ("at least " if signal["side"] == "above" else "at most ") if signal["bound"] else ""
    return f"{beyond}{words.whole(signal['level_ppb'])}{words.NBSP}ppb"


def unchanged(results: Results) -> str:
    """Say that the charts with limits show nothing, and which have none."""
    with_limits = results.oxygen_charts.filter(pl.col("centre_ppb").is_not_null())
    if with_limits.is_empty():
        return "No line and format has lots enough to say whether its oxygen changed."
    names = "; ".join(chart_name(c) for c in with_limits.iter_rows(named=True))
    return f"Package oxygen is as it was: nothing changed on {names}."


def without_limits(results: Results) -> str:
    """Say which charts have no limits yet, or nothing."""
    none = results.oxygen_charts.filter(pl.col("centre_ppb").is_null())
    if none.is_empty():
        return ""
    names = "; ".join(
        f"{chart_name(c)} ({words.count(c['lots'], 'lot')})" for c in none.iter_rows(named=True)
    )
    return words.sentence(f"Too few lots to say for {names}: limits take eight")


def alerts(results: Results) -> list[str]:
    """Say the new signals for a person to look at, three at most."""
    charts = {chart_key(c): c for c in results.oxygen_charts.iter_rows(named=True)}
    return [told(s, charts[chart_key(s)]) for s in results.oxygen_alerts.iter_rows(named=True)]
