"""The chart of formats apart: the gap of each style and its parts, in days."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import altair as alt

from dashboards import theme, words

if TYPE_CHECKING:
    from collections.abc import Mapping

    import polars as pl

PARTS = {"gap": "apart", "filling": "filling", "ingress": "ingress", "rest": "the rest"}
ROW = 26
STYLE_ONCE = (
    r"split(datum.label, '\n')[1] == 'apart' ? replace(datum.label, '\n', ', ') : "
    r"split(datum.label, '\n')[1]"
)
INK = theme.variable("ink")


def gaps(part: pl.DataFrame, one: str, other: str, colours: Mapping[str, str]) -> dict[str, Any]:
    """Return bars of days to either side of nothing, of every style between two formats.

    Args:
        part: Rows of `published.format_gaps` of these formats on one route.
        one: The format towards which days count up.
        other: The format towards which they count down.
        colours: The colour of each format.
    """
    shown = [
        {
            "row": f"{gap['style']}\n{said}",
            "zero": 0.0,
            "days": round(sign * gap[f"{name}_days"], 2),
            "low": round(sign * gap[f"{name}_days_lower"], 2),
            "high": round(sign * gap[f"{name}_days_upper"], 2),
            "towards": one if sign * gap[f"{name}_days"] >= 0 else other,
            "said": words.bounded(*(gap[f"{name}_days{end}"] for end in ("", "_lower", "_upper"))),
            "favours": f"longer in {gap['format']}",
        }
        for gap in part.rows(named=True)
        for sign in [1.0 if gap["format"] == one else -1.0]
        for name, said in PARTS.items()
    ]
    base = alt.Chart(alt.InlineData(values=shown))
    order = [bar["row"] for bar in shown]
    row = alt.Y(
        "row:N",
        sort=order,
        title=None,
        axis=alt.Axis(labelExpr=STYLE_ONCE, labelLimit=170, ticks=False, domain=False),
    )
    title = alt.Axis(title="Days apart", tickCount=6)

    def along(column: str) -> alt.X:
        return alt.X(f"{column}:Q", axis=title)

    tooltip = [
        alt.Tooltip("row:N", title="part"),
        alt.Tooltip("said:N", title="days"),
        alt.Tooltip("favours:N", title="counted as"),
    ]
    layers = [
        base.mark_bar(height=13, opacity=0.55).encode(
            along("zero"),
            row,
            x2="days:Q",
            color=alt.Color(
                "towards:N",
                scale=alt.Scale(domain=[one, other], range=[colours[one], colours[other]]),
                legend=None,
            ),
            tooltip=tooltip,
        ),
        base.mark_rule(color=INK, strokeWidth=1.2).encode(along("low"), row, x2="high:Q"),
        base.mark_point(filled=True, size=40, opacity=1, color=INK).encode(
            along("days"), row, tooltip=tooltip
        ),
        alt.Chart(alt.InlineData(values=[{"zero": 0.0}]))
        .mark_rule(color=theme.variable("muted"))
        .encode(along("zero")),
    ]
    return theme.finished(layers, height=ROW * len(order))
