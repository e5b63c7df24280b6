"""The chart of one lot's packages: what each held, beside the line's limits."""

from __future__ import annotations

from math import floor, log10
from typing import TYPE_CHECKING, Any

import altair as alt
import polars as pl

from dashboards import theme
from dashboards.control_charts import ARROW, MORE_MARKS, PPB_TITLE

if TYPE_CHECKING:
    from collections.abc import Callable

Cells = dict[str, Any]

ROW = 26
WHOLE = "this lot"
INK, MUTED = theme.variable("ink"), theme.variable("muted")


def lot_chart(lot: Cells, packages: pl.DataFrame, colour: str, shape: str) -> dict[str, Any]:
    """Return a row a head with its packages, and below them the lot's mean with its bounds.

    Args:
        lot: A row of `published.lots`.
        packages: Its rows of `published.lot_packages` of which anything is known.
        colour: Of its format.
        shape: Of its format.
    """
    shown = packages.select(
        row=pl.when(pl.col("head").is_null())
        .then(pl.lit("no head"))
        .otherwise(pl.format("head {}", "head")),
        at=pl.when(pl.col("lower_ppb") > 0).then("lower_ppb").otherwise("upper_ppb"),
        known=pl.col("lower_ppb") == pl.col("upper_ppb"),
        above=pl.col("lower_ppb") > 0,
        read=pl.col("measured_at").dt.strftime("%-d %b %Y, %H:%M"),
    ).with_columns(
        said=pl.when(pl.col("known").fill_null(value=False))
        .then(pl.format("{}", pl.col("at").round(0).cast(pl.Int64)))
        .when("above")
        .then(pl.format("at least {}", pl.col("at").round(0).cast(pl.Int64)))
        .otherwise(pl.format("at most {}", pl.col("at").round(0).cast(pl.Int64)))
    )
    heads = sorted(shown["row"].unique(), key=lambda name: (len(name), name))
    rows = alt.Axis(title=None, domain=False, ticks=False, grid=False)
    y = alt.Y("row:N", sort=[*heads, WHOLE], axis=rows)
    ppb = _ppb([*shown["at"], *_levels(lot)])
    layers = [*_limits(lot, ppb), *_packages(shown, ppb, y, colour, shape), *_mean(lot, ppb, y)]
    return theme.finished(layers, height=ROW * (len(heads) + 1))


def _levels(lot: Cells) -> list[float]:
    names = ("limit_lower_ppb", "limit_upper_ppb", "line_ppb", "lower_ppb", "upper_ppb")
    return [lot[name] for name in names if lot[name]]


def _ppb(values: list[float]) -> Callable[[str], alt.X]:
    """Return what puts a column of ppb on the x axis, marked at round numbers."""
    low, high = min(values) / 1.15, max(values) * 1.15
    powers = range(floor(log10(low)), floor(log10(high)) + 1)
    marks = [m * 10.0**p for p in powers for m in MORE_MARKS if low <= m * 10.0**p <= high]
    axis = alt.Axis(title=PPB_TITLE, values=marks, format="~r", grid=False, labelOverlap=True)
    scale = alt.Scale(type="log", domain=[low, high], nice=False)
    return lambda column: alt.X(f"{column}:Q", axis=axis, scale=scale)


def _limits(lot: Cells, ppb: Callable[[str], alt.X]) -> list[alt.Chart]:
    if lot["line_ppb"] is None:
        return []
    ends = {"from": lot["limit_lower_ppb"], "to": lot["limit_upper_ppb"], "middle": lot["line_ppb"]}
    base = alt.Chart(alt.InlineData(values=[{k: round(v, 2) for k, v in ends.items()}]))
    return [
        base.mark_rect(color=INK, opacity=0.08).encode(ppb("from"), alt.X2("to:Q")),
        base.mark_rule(color=MUTED, strokeDash=[4, 4]).encode(ppb("middle")),
    ]


def _packages(
    shown: pl.DataFrame, ppb: Callable[[str], alt.X], y: alt.Y, colour: str, shape: str
) -> list[alt.Chart]:
    known = pl.col("known").fill_null(value=False)
    tooltip = [alt.Tooltip("said:N", title="ppb"), alt.Tooltip("read:N", title="read")]
    layers = []
    for which, mark in (
        (known, {"shape": shape, "size": 60}),
        (~known & pl.col("above"), {**ARROW, "angle": 90}),
        (~known & ~pl.col("above"), {**ARROW, "angle": 270}),
    ):
        group = shown.filter(which).select("row", pl.col("at").round(2), "said", "read")
        if group.is_empty():
            continue
        data = alt.Chart(alt.InlineData(values=group.to_dicts()))
        point = data.mark_point(color=colour, filled=True, opacity=0.85, **mark)
        layers.append(point.encode(ppb("at"), y, tooltip=tooltip))
    return layers


def _mean(lot: Cells, ppb: Callable[[str], alt.X], y: alt.Y) -> list[alt.Chart]:
    if lot["total_ppb"] is None:
        return []
    numbers = {name: round(lot[f"{name}_ppb"], 2) for name in ("total", "lower", "upper")}
    base = alt.Chart(alt.InlineData(values=[{"row": WHOLE, **numbers}]))
    return [
        base.mark_rule(color=INK, strokeWidth=3).encode(ppb("lower"), alt.X2("upper:Q"), y),
        base.mark_point(color=INK, filled=True, shape="diamond", size=110, opacity=1).encode(
            ppb("total"), y
        ),
    ]
