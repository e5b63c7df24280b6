"""The charts of the panel: what so many tasters tell apart, and where scatter comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import altair as alt
import polars as pl

from dashboards import theme, words
from dashboards.charts import LINES

if TYPE_CHECKING:
    from collections.abc import Sequence

HUE = theme.OKABE_ITO[0]
INK = theme.variable("ink")
ROW = 26
TALL_ROW = 42


def told_apart(part: pl.DataFrame, present: int) -> dict[str, Any]:
    """Return the difference that so many tasters tell apart, with its bounds.

    Args:
        part: An attribute's rows of `published.panel_resolution`.
        present: How many tasters a sample usually has, drawn as an upright rule.
    """
    shown = part.select(
        "assessors",
        pl.col("^told_apart.*$").round(3),
        bounds=pl.format(
            "{} to {}", pl.col("told_apart_lower").round(2), pl.col("told_apart_upper").round(2)
        ),
    )
    base = alt.Chart(alt.InlineData(values=shown.to_dicts()))
    x = alt.X(
        "assessors:Q",
        axis=alt.Axis(title="Tasters who have both beers", tickMinStep=1, grid=False),
        scale=alt.Scale(domain=[2, max(shown["assessors"].to_list())], nice=False),
    )
    axis = alt.Axis(title="Told apart, points", tickCount=5)

    def up(column: str) -> alt.Y:
        return alt.Y(f"{column}:Q", axis=axis, scale=alt.Scale(zero=True))

    usual = alt.Chart(
        alt.InlineData(values=[{"assessors": present, "text": f"{present} usually there"}])
    )
    layers: Sequence[alt.Chart] = [
        base.mark_area(color=HUE, opacity=0.28).encode(
            x, up("told_apart_lower"), alt.Y2("told_apart_upper:Q")
        ),
        base.mark_line(color=HUE, strokeWidth=3).encode(x, up("told_apart")),
        usual.mark_rule(color=INK).encode(x),
        usual.mark_text(align="left", baseline="top", dx=5, dy=2).encode(
            x, y=alt.value(0), text="text:N"
        ),
        base.mark_point(size=60, opacity=0, filled=True).encode(
            x,
            up("told_apart"),
            tooltip=[
                alt.Tooltip("assessors:Q", title="tasters"),
                alt.Tooltip("told_apart:Q", title="points", format=".2f"),
                alt.Tooltip("bounds:N"),
            ],
        ),
    ]
    return theme.finished(layers, height=190)


def rows(part: pl.DataFrame, title: str, at: float | None = None) -> dict[str, Any]:
    """Return one estimate a row, its interval as a bar, and perhaps a rule where all are alike.

    Args:
        part: row (its words), value, lower and upper, in the order in which they are shown.
        title: Of the axis, with its unit.
        at: Where to draw the rule.
    """
    numbers = pl.col("value", "lower", "upper")
    said = part.select(
        "row",
        numbers.round(3),
        bounds=pl.format("{} to {}", pl.col("lower").round(2), pl.col("upper").round(2)),
    )
    base = alt.Chart(alt.InlineData(values=said.to_dicts()))
    row = alt.Y("row:N", sort=said["row"].to_list(), title=None, axis=LINES)
    axis = alt.Axis(title=title, tickCount=5)

    def along(column: str) -> alt.X:
        return alt.X(f"{column}:Q", axis=axis, scale=alt.Scale(zero=True))

    rule = [] if at is None else [{"at": at}]
    layers: Sequence[alt.Chart] = [
        alt.Chart(alt.InlineData(values=rule))
        .mark_rule(color=theme.variable("muted"))
        .encode(x=along("at")),
        base.mark_bar(height=10, opacity=0.3, color=HUE).encode(along("lower"), row, x2="upper:Q"),
        base.mark_point(filled=True, size=80, opacity=1, color=INK).encode(
            along("value"),
            row,
            tooltip=[
                alt.Tooltip("row:N", title=words.NOTHING),
                alt.Tooltip("value:Q", title="estimate", format=".2f"),
                alt.Tooltip("bounds:N"),
            ],
        ),
    ]
    tall = said["row"].str.contains("\n", literal=True).any()
    return theme.finished(layers, height=(TALL_ROW if tall else ROW) * said.height)
