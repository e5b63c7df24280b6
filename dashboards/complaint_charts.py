"""The chart of complaints by month: those made, those expected, and what luck makes of them."""

from __future__ import annotations

from typing import Any

import altair as alt
import polars as pl

from dashboards import theme

HUE = theme.FORECAST
INK = theme.variable("ink")


def by_month(months: pl.DataFrame) -> dict[str, Any]:
    """Return the complaints about taste by month.

    Args:
        months: The rows of `published.field_rates` of months.
    """
    shown = months.select(
        on=pl.col("name") + "-15",
        month=pl.col("name").str.to_date("%Y-%m", strict=False).dt.strftime("%b %Y")
        if months.height
        else pl.lit(""),
        taste="taste",
        expected=pl.col("expected").round(2),
        luck_lower="luck_lower",
        luck_upper="luck_upper",
        per_million=pl.col("per_million").round(1),
    )
    base = alt.Chart(alt.InlineData(values=shown.to_dicts()))
    x = alt.X(
        "on:T",
        title=None,
        axis=alt.Axis(format="%b %Y", tickCount=6, labelSeparation=8, grid=False),
    )
    y = alt.Axis(title="Complaints about taste", tickMinStep=1, tickCount=5)
    layers = [
        base.mark_area(color=HUE, opacity=0.2, interpolate="step").encode(
            x, alt.Y("luck_lower:Q", axis=y), alt.Y2("luck_upper:Q")
        ),
        base.mark_line(color=HUE, strokeWidth=2, interpolate="step").encode(
            x, alt.Y("expected:Q", axis=y)
        ),
        base.mark_point(color=INK, filled=True, size=75, opacity=1).encode(
            x,
            alt.Y("taste:Q", axis=y),
            tooltip=[
                alt.Tooltip("month:N"),
                alt.Tooltip("taste:Q", title="complaints"),
                alt.Tooltip("expected:Q"),
                alt.Tooltip("per_million:Q", title="per million packages drunk"),
            ],
        ),
    ]
    return theme.finished(layers, height=220)
