"""The charts of the assessors: their false alarms and misses, and who moved over the quarters."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import altair as alt

from dashboards import theme, words

if TYPE_CHECKING:
    from collections.abc import Callable

    import polars as pl

ROW = 34
INK = theme.variable("ink")
KINDS = {"false_alarms": "false alarms", "misses": "misses"}
_IN_LINES = r"split(datum.label, / (?=to|\d)/)"
_PERCENT = f"round(datum.value * 100) + '{words.NBSP}%'"


def errors(assessors: pl.DataFrame) -> dict[str, Any]:
    """Return each assessor's shares of false alarms and of misses with their bounds.

    Args:
        assessors: Rows of `published.assessors`, in the order in which they are shown.
    """
    shown = [
        {
            "code": a["code"],
            "kind": said,
            "share": round(a[name], 4),
            "low": round(a[f"{name}_lower"], 4),
            "high": round(a[f"{name}_upper"], 4),
        }
        for a in assessors.rows(named=True)
        for name, said in KINDS.items()
        if a[name] is not None
    ]
    codes = list(dict.fromkeys(row["code"] for row in shown))
    base = alt.Chart(alt.InlineData(values=shown))
    row = alt.Y("code:N", sort=codes, title=None, scale=alt.Scale(paddingInner=0.3))
    beside = alt.YOffset("kind:N", sort=list(KINDS.values()))

    def along(column: str) -> alt.X:
        axis = alt.Axis(labelExpr=_PERCENT, tickCount=5, title="Share of glasses")
        return alt.X(f"{column}:Q", axis=axis, scale=alt.Scale(domain=[0, 1]))

    layers = [
        base.mark_rule(strokeWidth=6, opacity=0.3, color=theme.FORECAST).encode(
            along("low"), row, beside, x2="high:Q"
        ),
        base.mark_point(size=60, strokeWidth=2, color=INK, opacity=1).encode(
            along("share"),
            row,
            beside,
            fill=alt.Fill(
                "kind:N",
                scale=alt.Scale(domain=list(KINDS.values()), range=[INK, theme.variable("paper")]),
                legend=None,
            ),
            tooltip=[
                alt.Tooltip("code:N", title="assessor"),
                alt.Tooltip("kind:N"),
                alt.Tooltip("share:Q", format=".0%"),
                alt.Tooltip("low:Q", title="at least", format=".0%"),
                alt.Tooltip("high:Q", title="at most", format=".0%"),
            ],
        ),
    ]
    return theme.finished(layers, height=ROW * len(codes))


def quarters(part: pl.DataFrame, label: Callable[[Any], str]) -> dict[str, Any]:
    """Return how far one assessor was from their own usual level in each quarter.

    Args:
        part: One assessor's rows of `published.assessor_quarters`, by quarter.
        label: Words for a quarter.
    """
    shown = [
        {
            "quarter": label(q["quarter"]),
            "shift": round(q["shift"], 4),
            "low": round(q["shift_lower"], 4),
            "high": round(q["shift_upper"], 4),
            "glasses": q["glasses"],
        }
        for q in part.rows(named=True)
    ]
    base = alt.Chart(alt.InlineData(values=shown))
    order = [q["quarter"] for q in shown]
    x = alt.X("quarter:N", sort=order, title=None, axis=alt.Axis(labelAngle=0, labelExpr=_IN_LINES))
    y = alt.Axis(labelExpr=_PERCENT, tickCount=5, title="Beside the own usual level")
    layers = [
        alt.Chart(alt.InlineData(values=[{"zero": 0}]))
        .mark_rule(color=theme.variable("muted"))
        .encode(y=alt.Y("zero:Q", axis=y)),
        base.mark_rule(strokeWidth=6, opacity=0.3, color=theme.FORECAST).encode(
            x, alt.Y("low:Q", axis=y), y2="high:Q"
        ),
        base.mark_point(filled=True, size=75, opacity=1, color=INK).encode(
            x,
            alt.Y("shift:Q", axis=y),
            tooltip=[
                alt.Tooltip("quarter:N"),
                alt.Tooltip("shift:Q", title="beside the usual", format="+.0%"),
                alt.Tooltip("glasses:Q"),
            ],
        ),
    ]
    return theme.finished(layers, height=220)
