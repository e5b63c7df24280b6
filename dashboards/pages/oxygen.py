"""The page of package oxygen: which line and format changed, and a control chart of each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import control_charts, signals, theme, words
from dashboards.page import Chart, Key, Page
from dashboards.pages import oxygen_tables

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dashboards.results import Results

Cells = dict[str, Any]

DRAWN = 60  # lots a chart, the newest
CHANGED_LINES = 3
LEAST_PACKAGES = 6  # fewer make no share


def page(results: Results) -> Page:
    """Return the page of package oxygen."""
    tables = oxygen_tables.tables(results)
    changed = signals.changed(results)
    return Page(
        file="oxygen.html",
        title="Package oxygen",
        template="oxygen.html",
        context={
            "lead": _lead(results, changed),
            "more": max(0, len(changed) - CHANGED_LINES),
            "without_limits": signals.without_limits(results),
            "above": _above_target(results),
            "alerts": signals.alerts(results),
            "charts": _charts(results),
            "drawn": DRAWN,
            "rules": _rules(results),
            "closing": _closing(results),
            "empty": oxygen_tables.EMPTY,
            **tables,
        },
        tables=tuple(tables.values()),
    )


def _lead(results: Results, changed: list[str]) -> list[str]:
    if results.oxygen_charts.is_empty():
        return []
    if changed:
        return changed[:CHANGED_LINES]
    new = results.oxygen_alerts.height
    said = words.counted(new, "new signal", "is for a person to look at", "are for a person to see")
    return [signals.unchanged(results), *([words.sentence(said)] if new else [])]


def _limits(chart: Cells) -> str:
    """Say where a chart's limits come from, and whether they stand still."""
    if chart["centre_ppb"] is None:
        return words.sentence(f"No limits, because {chart['reason']}")
    lots = words.count(chart["limits_lots"], "lot")
    span = f"{words.day(chart['limits_first_on'])} to {words.day(chart['limits_last_on'])}"
    said = {
        "stated": f"{lots} of the period that the configuration states, {span}",
        "first lots": f"first {lots}, {span}; they stay as they are",
        "lots so far": f"{lots} so far, {span}; they move with every lot, up to the twentieth",
    }
    return words.sentence(f"Limits from the {said[chart['limits_basis']]}")


def _above_target(results: Results) -> list[str]:
    """Say in plain words how many packages are above the target."""
    return [
        words.sentence(
            f"{signals.chart_name(c)}: {_share(c['above_target'], c['told'])} of the newest "
            f"{words.count(c['recent_lots'], 'lot')} held more than "
            f"{words.whole(c['target_ppb'])}{words.NBSP}ppb"
        )
        for c in results.oxygen_charts.iter_rows(named=True)
        if c["told"] >= LEAST_PACKAGES
    ]


def _share(above: int, told: int) -> str:
    packages = f"{words.of(above, told)} packages"
    if not above:
        return f"none of {words.count(told, 'package')}"
    if above == told:
        return f"each of {words.count(told, 'package')}"
    one_in = round(told / above)
    if one_in > 1:
        return f"about one package in {words.in_letters(one_in)} ({packages})"
    return f"{words.part(above / told)} ({packages})"


def _rules(results: Results) -> list[str]:
    used = next(iter(results.oxygen_charts["rules"]), "")
    return [signals.RULES[rule] for rule in used.split("; ") if rule]


def _closing(results: Results) -> list[str]:
    """Say what closing adds where the beer side was read too."""
    return [
        words.sentence(
            f"{signals.chart_name(c)}: of {words.whole(c['split_total_ppb'])}{words.NBSP}ppb, "
            f"{words.whole(c['split_beer_ppb'])} came with the beer and "
            f"{oxygen_tables.closing(c)} with closing ({words.count(c['split_lots'], 'lot')})"
        )
        for c in results.oxygen_charts.iter_rows(named=True)
        if c["split_lots"]
    ]


def _charts(results: Results) -> list[Chart]:
    colours = theme.format_colours(results)
    shapes = theme.format_shapes(colours)
    return [
        _chart(results, chart, number, colours, shapes)
        for number, chart in enumerate(results.oxygen_charts.iter_rows(named=True), start=1)
    ]


def of_chart(frame: pl.DataFrame, chart: Cells) -> pl.DataFrame:
    """Return the rows of a line and format."""
    return frame.filter(
        pl.col("line").eq_missing(pl.lit(chart["line"], pl.String)),
        pl.col("format") == chart["format"],
    )


def _chart(
    results: Results,
    chart: Cells,
    number: int,
    colours: Mapping[str, str],
    shapes: Mapping[str, str],
) -> Chart:
    points = of_chart(results.chart_points, chart)
    found = of_chart(results.oxygen_signals, chart)
    changes = of_chart(results.chart_changes, chart)
    signalled = _signalled(points, found)
    drawn = points.tail(DRAWN)
    name = signals.chart_name(chart)
    colour, shape = colours[chart["format"]], shapes[chart["format"]]
    return Chart(
        name=f"chart-{number}",
        title=words.sentence(name)[:-1],
        summary=_summary(chart, drawn, len(signalled)),
        caption=_caption(
            chart, points, control_charts.drawn_changes(changes, drawn), len(signalled)
        ),
        key=_key(chart, drawn, len(signalled), colour),
        spec=control_charts.control_chart(drawn, signalled, changes, chart, colour, shape),
    )


def _signalled(points: pl.DataFrame, found: pl.DataFrame) -> list[str]:
    """Return the lots from the first to the last of any signal."""
    place = points.select("lot", "position")
    spans = found.join(place, left_on="first_lot", right_on="lot").join(
        place, left_on="last_lot", right_on="lot", suffix="_last"
    )
    within = place.join_where(
        spans.select(start="position", end="position_last"),
        pl.col("position") >= pl.col("start"),
        pl.col("position") <= pl.col("end"),
    )
    return within.sort("position")["lot"].unique(maintain_order=True).to_list()


def _key(chart: Cells, drawn: pl.DataFrame, signalled: int, colour: str) -> tuple[Key, ...]:
    with_limits = chart["centre_ppb"] is not None
    veiled = with_limits and drawn["in_period"].any()
    bounds = (drawn["at_least_ppb"].is_not_null() | drawn["at_most_ppb"].is_not_null()).any()
    return (
        Key("point", "a lot", colour),
        *([Key("line", "running mean", colour)] if with_limits else []),
        *([Key("ring", "part of a signal")] if signalled else []),
        *([Key("arrow", "only a bound is known: it lies that way", colour)] if bounds else []),
        *([Key("veil", "lots that the limits come from")] if veiled else []),
    )


def _summary(chart: Cells, drawn: pl.DataFrame, signalled: int) -> str:
    known = drawn["ppb"].drop_nulls().sort()
    spread = f"from {words.whole(known[0])} to {words.whole(known[-1])} ppb" if len(known) else ""
    limits = ""
    if chart["centre_ppb"] is not None:
        both = oxygen_tables.limits(chart["limit_lower_ppb"], chart["limit_upper_ppb"])
        limits = f"; limits {both} ppb, middle {words.whole(chart['centre_ppb'])}"
    return words.sentence(
        f"{words.count(drawn.height, 'lot')} in the order of filling, {spread}{limits}; "
        f"{words.count(signalled, 'lot')} part of a signal"
    )


def _caption(chart: Cells, points: pl.DataFrame, changes: pl.DataFrame, signalled: int) -> str:
    parts = [_limits(chart)]
    if points.height > DRAWN:
        parts.append(f"The newest {DRAWN} of {words.count(points.height, 'lot')}; the CSV has all.")
    if chart["centre_ppb"] is not None and not signalled:
        parts.append("No lot is part of a signal.")
    named = [f"“{c['what']}”, {words.day(c['changed_on'])}" for c in changes.iter_rows(named=True)]
    if named:
        parts.append(words.sentence(f"Upright: {words.listed(named)}"))
    return " ".join(parts)
