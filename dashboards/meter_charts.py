"""The chart of a meter's checks: how far off it read, beside its tolerance."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import altair as alt
import polars as pl

from dashboards import theme

if TYPE_CHECKING:
    from collections.abc import Sequence

HUE = theme.OKABE_ITO[0]
INK = theme.variable("ink")


def checks(part: pl.DataFrame, unit: str, limits: Sequence[float]) -> dict[str, Any]:
    """Return one meter's checks against one standard: error by day, tolerance as a band.

    Args:
        part: Its rows of `published.meter_checks`.
        unit: Of the error, ppb or % saturation.
        limits: Between which the mean of a day's repeats lies; none where nobody repeats.
    """
    shown = part.sort("checked_at").select(
        on=pl.col("checked_at").dt.strftime("%Y-%m-%dT%H:%M"),
        day=pl.col("checked_at").dt.strftime("%-d %b %Y"),
        error=pl.col("error").round(3),
        upper=pl.col("tolerance").round(3),
        lower=-pl.col("tolerance").round(3),
        result=pl.when("passed").then(pl.lit("passed")).otherwise(pl.lit("failed")),
        state="state",
    )
    base = alt.Chart(alt.InlineData(values=shown.to_dicts()))
    x = alt.X(
        "on:T",
        title="Checked",
        axis=alt.Axis(format="%-d %b %Y", tickCount=5, labelSeparation=8, grid=False),
    )
    y = alt.Axis(title=f"Read less expected, {unit}", tickCount=5)
    layers: Sequence[alt.Chart] = [
        base.mark_area(color=HUE, opacity=0.2, interpolate="step-after").encode(
            x, alt.Y("lower:Q", axis=y), alt.Y2("upper:Q")
        ),
        alt.Chart(alt.InlineData(values=[{"zero": 0}]))
        .mark_rule(color=theme.variable("muted"))
        .encode(y=alt.Y("zero:Q", axis=y)),
        alt.Chart(alt.InlineData(values=[{"limit": round(limit, 3)} for limit in limits]))
        .mark_rule(color=INK, strokeDash=[6, 4])
        .encode(y=alt.Y("limit:Q", axis=y)),
        base.mark_point(size=60, strokeWidth=2, color=INK, opacity=1).encode(
            x,
            alt.Y("error:Q", axis=y),
            fill=alt.Fill(
                "result:N",
                scale=alt.Scale(domain=["passed", "failed"], range=[INK, theme.variable("paper")]),
                legend=None,
            ),
            shape=alt.Shape(
                "state:N",
                scale=alt.Scale(domain=["found", "left"], range=["circle", "square"]),
                legend=None,
            ),
            tooltip=[
                alt.Tooltip("day:N", title="checked"),
                alt.Tooltip("error:Q", title=f"off, {unit}"),
                alt.Tooltip("result:N"),
                alt.Tooltip("state:N"),
            ],
        ),
    ]
    return theme.finished(layers, height=170)
