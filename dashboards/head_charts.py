"""The chart of a line's heads: what each reads against the others."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import altair as alt
import polars as pl

from dashboards import theme, words

if TYPE_CHECKING:
    from collections.abc import Sequence

HUE = theme.OKABE_ITO[0]
INK = theme.variable("ink")
ROW = 26
TICKS = (0.25, 0.33, 0.5, 0.7, 0.8, 0.9, 1.0, 1.2, 1.5, 2.0, 3.0, 4.0, 6.0)


def heads(part: pl.DataFrame, named: str | None) -> dict[str, Any]:
    """Return one line's heads: ratio to the mean of the others, its interval as a bar.

    Args:
        part: Its rows of `published.heads`, in the order in which they are shown.
        named: The head that stands out, drawn as a square; None where none does.
    """
    names = [f"head {words.short(head, 20)}" for head in part["head"]]
    shown = part.select(
        "packages",
        pl.col("ratio", "ratio_lower", "ratio_upper").round(3),
        row=pl.Series(names, dtype=pl.String),
        kind=pl.when(pl.col("head") == named).then(pl.lit("named")).otherwise(pl.lit("other"))
        if named is not None
        else pl.lit("other"),
        bounds=pl.format(
            "{} to {}", pl.col("ratio_lower").round(2), pl.col("ratio_upper").round(2)
        ),
    )
    low = min(0.8, *shown["ratio_lower"]) / 1.05
    high = max(1.25, *shown["ratio_upper"]) * 1.05
    base = alt.Chart(alt.InlineData(values=shown.to_dicts()))
    row = alt.Y("row:N", sort=names, title=None)
    axis = alt.Axis(
        title="Times the mean of the other heads, log scale",
        values=[tick for tick in TICKS if low <= tick <= high],
        format="~g",
    )

    def along(column: str) -> alt.X:
        scale = alt.Scale(type="log", domain=[low, high], nice=False)
        return alt.X(f"{column}:Q", axis=axis, scale=scale)

    layers: Sequence[alt.Chart] = [
        alt.Chart(alt.InlineData(values=[{"one": 1.0}]))
        .mark_rule(color=theme.variable("muted"))
        .encode(x=along("one")),
        base.mark_bar(height=10, opacity=0.3, color=HUE).encode(
            along("ratio_lower"), row, x2="ratio_upper:Q"
        ),
        base.mark_point(filled=True, size=80, opacity=1, color=INK).encode(
            along("ratio"),
            row,
            shape=alt.Shape(
                "kind:N",
                scale=alt.Scale(domain=["named", "other"], range=["square", "circle"]),
                legend=None,
            ),
            tooltip=[
                alt.Tooltip("row:N", title="head"),
                alt.Tooltip("ratio:Q", title="times the others", format=".2f"),
                alt.Tooltip("bounds:N"),
                alt.Tooltip("packages:Q"),
            ],
        ),
    ]
    return theme.finished(layers, height=ROW * shown.height)
