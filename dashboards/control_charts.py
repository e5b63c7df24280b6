"""The control chart of one line and format, as an Altair specification.

Lots are solid points in their format's colour and shape; what is only a bound is an arrow that
points the way the lot may lie; the running mean is a line behind them. The ppb axis is logarithmic,
and its title says so in words.
"""

from __future__ import annotations

from datetime import date, timedelta
from math import floor, log10
from typing import TYPE_CHECKING, Any

import altair as alt
import polars as pl

from dashboards import theme, words

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

Cells = dict[str, Any]

HEIGHT = 280
INK = theme.variable("ink")
MUTED = theme.variable("muted")
PPB_TITLE = "Package oxygen, ppb (log scale)"
LABEL_PART = 0.16  # of the width, kept free of lots for the words of the limits
SHORT_SPAN = 180  # days, below which the axis names days
MARKS = (1, 2, 5)
MORE_MARKS = (1, 1.5, 2, 3, 4, 5, 7)  # where less than a power of ten is seen
RIGHT_PART = 0.6  # from here on a label stands left of its rule
ROWS_OF_LABELS = 3
LABEL = 24
ARROW: dict[str, Any] = {"shape": "arrow", "size": 350}
LEVELS = {
    "limit_upper_ppb": "limit",
    "centre_ppb": "middle",
    "limit_lower_ppb": "limit",
    "target_ppb": "target",
}


def control_chart(
    points: pl.DataFrame,
    signalled: Sequence[str],
    changes: pl.DataFrame,
    chart: Cells,
    colour: str,
    shape: str,
) -> dict[str, Any]:
    """Return lots by packaging day with limits, running mean, target and changes.

    Args:
        points: The rows of `published.chart_points` that are drawn, of one chart.
        signalled: Lots that belong to a signal.
        changes: The chart's rows of `published.chart_changes`.
        chart: Its row of `published.oxygen_charts`.
        colour: Of its format.
        shape: Of its format.
    """
    on = pl.col("packaged_on").cast(pl.String)
    shown = points.with_columns(
        on=on, signal=pl.col("lot").is_in(list(signalled)), counts=pl.col("packages")
    ).with_columns(y=pl.coalesce("ppb", "at_least_ppb", "at_most_ppb"))
    levels = [chart[name] for name in LEVELS if chart[name] is not None]
    ppb = _ppb([*shown["y"].drop_nulls(), *levels])
    base = alt.Chart(_data(shown.select("lot", "on", "y", "counts", "late", "running_ppb")))
    day = _days(points, changes)
    layers = [
        _room(points, changes, day),
        *(_period(points, day) if chart["centre_ppb"] is not None else ()),
        *_levels(chart, ppb),
        *_changes(drawn_changes(changes, points), points, day),
        base.mark_line(color=colour, strokeWidth=3, opacity=0.45).encode(
            day("on"), ppb("running_ppb")
        ),
        *_lots(shown, ppb, day, colour, shape),
    ]
    return theme.finished(layers, height=HEIGHT)


def _data(frame: pl.DataFrame) -> alt.InlineData:
    return alt.InlineData(values=frame.with_columns(pl.col(pl.Float64).round(2)).to_dicts())


def _days(points: pl.DataFrame, changes: pl.DataFrame) -> Callable[[str], alt.X]:
    """Return what puts a column of days on the x axis."""
    first, last = _span(points, changes)
    short = last - first < timedelta(days=SHORT_SPAN)
    axis = alt.Axis(
        format="%-d %b" if short else "%b %Y", tickCount=5, grid=False, title="Packaged"
    )
    return lambda column: alt.X(f"{column}:T", axis=axis, scale=alt.Scale(nice=False))


def _span(points: pl.DataFrame, changes: pl.DataFrame) -> tuple[date, date]:
    """Return the first and last day drawn."""
    days = [*points["packaged_on"], *drawn_changes(changes, points)["changed_on"]]
    return min(days), max(days)


def _room(points: pl.DataFrame, changes: pl.DataFrame, day: Callable[[str], alt.X]) -> alt.Chart:
    """Return nothing to be seen, from a little before the first day to some room after the last.

    Days of data widen the axis; stated domains would have to be the same objects in every layer.
    """
    first, last = _span(points, changes)
    room = max(timedelta(days=7), (last - first) * LABEL_PART)
    ends = [{"on": str(end)} for end in (first - room / 7, last + room)]
    unseen: alt.Chart = alt.Chart(alt.InlineData(values=ends)).mark_rule(opacity=0)
    return unseen.encode(day("on"))


def drawn_changes(changes: pl.DataFrame, points: pl.DataFrame) -> pl.DataFrame:
    """Return the changes that are drawn: those before the first lot are not."""
    first = points["packaged_on"].min()
    return changes.filter(pl.col("changed_on") >= first).sort("changed_on", "what")


def _ppb(values: list[float]) -> Callable[[str], alt.Y]:
    """Return what puts a column of ppb on the y axis, marked at round numbers."""
    low, high = min(values, default=1.0) / 1.15, max(values, default=100.0) * 1.25
    powers = range(floor(log10(low)), floor(log10(high)) + 1)
    chosen = MARKS if high > 10.0 * low else MORE_MARKS
    marks = [m * 10.0**p for p in powers for m in chosen if low <= m * 10.0**p <= high]
    axis = alt.Axis(title=PPB_TITLE, values=marks, format="~r")
    scale = alt.Scale(type="log", domain=[low, high], nice=False)
    return lambda column: alt.Y(f"{column}:Q", axis=axis, scale=scale)


def _period(points: pl.DataFrame, day: Callable[[str], alt.X]) -> list[alt.Chart]:
    """Return a veil over the lots that the limits come from."""
    days = points.filter("in_period")["packaged_on"]
    if days.is_empty():
        return []
    span = [{"on": str(days.min()), "to": str(days.max())}]
    veil = alt.Chart(alt.InlineData(values=span)).mark_rect(color=INK, opacity=0.06)
    return [veil.encode(day("on"), alt.X2("to:T"))]


def _levels(chart: Cells, ppb: Callable[[str], alt.Y]) -> list[alt.Chart]:
    """Return limits, middle and target as level rules with their words."""
    layers = []
    for name, said in LEVELS.items():
        if chart[name] is None:
            continue
        of_limits = name != "target_ppb"
        assumed = ", assumed" if not of_limits and chart["target_assumed"] else ""
        text = f"{said} {words.whole(chart[name])}{assumed}"
        base = alt.Chart(alt.InlineData(values=[{"y": chart[name], "text": text}]))
        written = base.mark_text(
            align="right" if of_limits else "left", baseline="bottom", dy=-2, color=MUTED
        )
        layers += [
            base.mark_rule(color=MUTED, strokeDash=[1, 0] if of_limits else [2, 4]).encode(
                y=ppb("y")
            ),
            written.encode(x=alt.value("width" if of_limits else 2), y=ppb("y"), text="text:N"),
        ]
    return layers


def _changes(
    shown: pl.DataFrame, points: pl.DataFrame, day: Callable[[str], alt.X]
) -> list[alt.Chart]:
    """Return each change as an upright rule with its word."""
    if shown.is_empty():
        return []
    first, last = points["packaged_on"].min(), points["packaged_on"].max()
    span = pl.max_horizontal("changed_on", pl.lit(last)).max() - pl.lit(first)
    rows = shown.select(
        on=pl.col("changed_on").cast(pl.String),
        what=pl.Series([words.short(what, LABEL) for what in shown["what"]], dtype=pl.String),
        whole="what",
        row=pl.int_range(pl.len()) % ROWS_OF_LABELS,
        right=(pl.col("changed_on") - pl.lit(first)) > span * RIGHT_PART,
    )
    rule = alt.Chart(_data(rows)).mark_rule(color=INK, strokeWidth=1)
    layers = [rule.encode(day("on"), tooltip=[alt.Tooltip("whole:N", title="changed")])]
    for (row, right), group in rows.group_by("row", "right", maintain_order=True):
        label = alt.Chart(_data(group)).mark_text(
            align="right" if right else "left", baseline="top", dx=-4 if right else 4
        )
        layers.append(
            label.encode(day("on"), y=alt.value(2 + 14 * int(str(row))), text=alt.Text("what:N"))
        )
    return layers


def _lots(
    shown: pl.DataFrame,
    ppb: Callable[[str], alt.Y],
    day: Callable[[str], alt.X],
    colour: str,
    shape: str,
) -> list[alt.Chart]:
    """Return lots as points, bounds as arrows, and a ring around those of a signal."""
    tooltip = [
        alt.Tooltip("lot:N"),
        alt.Tooltip("said:N", title="ppb"),
        alt.Tooltip("on:T", title="packaged", format="%-d %b %Y"),
        alt.Tooltip("counts:Q", title="packages"),
        alt.Tooltip("late:Q", title="of them late"),
    ]
    named = shown.with_columns(
        said=pl.when(pl.col("ppb").is_not_null())
        .then(pl.format("{}", pl.col("y").round(0).cast(pl.Int64)))
        .when(pl.col("at_least_ppb").is_not_null())
        .then(pl.format("at least {}", pl.col("y").round(0).cast(pl.Int64)))
        .otherwise(pl.format("at most {}", pl.col("y").round(0).cast(pl.Int64)))
    ).select(
        "lot", "on", "y", "counts", "late", "said", "signal", "ppb", "at_least_ppb", "at_most_ppb"
    )
    layers = []
    for known, mark in (
        (pl.col("ppb").is_not_null(), {"shape": shape, "size": 60}),
        (pl.col("ppb").is_null() & pl.col("at_least_ppb").is_not_null(), ARROW),
        (pl.col("ppb").is_null() & pl.col("at_most_ppb").is_not_null(), {**ARROW, "angle": 180}),
    ):
        group = named.filter(known).select("lot", "on", "y", "counts", "late", "said")
        if not group.is_empty():
            point = alt.Chart(_data(group)).mark_point(color=colour, filled=True, opacity=1, **mark)
            layers.append(point.encode(day("on"), ppb("y"), tooltip=tooltip))
    ringed = named.filter("signal").select("on", "y")
    if not ringed.is_empty():
        ring = alt.Chart(_data(ringed)).mark_point(
            color=INK, filled=False, shape="circle", size=230, strokeWidth=1.8
        )
        layers.append(ring.encode(day("on"), ppb("y")))
    return layers
