"""The charts of difference tests, and of before and after: a value and its bounds, a row each."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

import altair as alt
import polars as pl

from dashboards import theme, words

if TYPE_CHECKING:
    from collections.abc import Sequence

HUE = theme.FORECAST
INK = theme.variable("ink")
ROW = 44
LINES = alt.Axis(labelExpr=r"split(datum.label, '\n')", labelLineHeight=15, labelLimit=170)


def intervals(
    rows: pl.DataFrame, title: str, line: float, *, share: bool, domain: Sequence[float] = ()
) -> dict[str, Any]:
    """Return a point and a bar between its bounds in each row, and an upright dashed line.

    Args:
        rows: row (its label, of lines), value, lower, upper, counts (words for hover).
        title: of the axis.
        line: where the dashed line stands.
        share: whether values are shares, said in per cent.
        domain: ends of the axis; from the values where none are given.
    """
    shown = rows.with_columns(pl.col("value", "lower", "upper").round(4))
    base = alt.Chart(alt.InlineData(values=shown.to_dicts()))
    label = f"round(datum.value * 100) + '{words.NBSP}%'" if share else alt.Undefined
    axis = alt.Axis(title=title, tickCount=5, labelExpr=label)
    scale = alt.Scale(domain=list(domain)) if domain else alt.Scale(zero=True)

    def along(column: str) -> alt.X:
        return alt.X(f"{column}:Q", axis=axis, scale=scale)

    row = alt.Y("row:N", sort=shown["row"].to_list(), title=None, axis=LINES)
    layers = [
        alt.Chart(alt.InlineData(values=[{"line": line}]))
        .mark_rule(color=INK, strokeDash=[6, 4])
        .encode(x=along("line")),
        base.mark_bar(height=11, opacity=0.3, color=HUE).encode(
            along("lower"), row, alt.X2("upper:Q")
        ),
        base.mark_point(filled=True, size=80, opacity=1, color=INK).encode(
            along("value"),
            row,
            tooltip=[
                alt.Tooltip("value:Q", format=".0%" if share else ".2f"),
                alt.Tooltip("lower:Q", title="at least", format=".0%" if share else ".2f"),
                alt.Tooltip("upper:Q", title="at most", format=".0%" if share else ".2f"),
                alt.Tooltip("counts:N"),
            ],
        ),
    ]
    return theme.finished(layers, height=ROW * shown.height)


def apart(labels: Sequence[str]) -> pl.Series:
    """Return the labels of rows, equal ones numbered from the second on, as each is one row."""
    seen: Counter[str] = Counter()
    told = []
    for label in labels:
        seen[label] += 1
        told.append(label if seen[label] == 1 else f"{label} ({seen[label]})")
    return pl.Series(told, dtype=pl.String)
