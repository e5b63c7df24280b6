"""Charts of the way: temperature from packaging on, as planned and as loggers read it.

What was planned is a step, what is assumed is dashed, what was read is solid with its extremes as a
band.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

import altair as alt
import polars as pl

from dashboards import theme

if TYPE_CHECKING:
    from collections.abc import Sequence

INK = theme.variable("ink")
SUMMER = theme.OKABE_ITO[1]
LOGGED = theme.OKABE_ITO[0]
_ROOM_DAYS = 21.0
OXYGEN = range(-40, 41, 20)
WARMER = range(-9, 7, 3)

Stage = tuple[float | None, float]
"""Days, None until it is drunk; and °C."""


def way(planned: Sequence[Stage], summer: Sequence[Stage], logged: pl.DataFrame) -> dict[str, Any]:
    """Return the temperature of a route over time.

    Args:
        planned: Its stages.
        summer: The same in an assumed summer; none where none is assumed.
        logged: The route's rows of `published.route_trips`.
    """
    last_read = logged["day"].max()
    known = sum(days or 0.0 for days, _ in planned[:-1])
    end = max(known, last_read if isinstance(last_read, float) else 0.0) + _ROOM_DAYS
    day = alt.X(
        "day:Q",
        axis=alt.Axis(title="From packaging, days", tickCount=6, grid=False),
        scale=alt.Scale(domain=[0, end], nice=False),
    )
    axis = alt.Axis(title="°C", tickCount=5)
    temp = alt.Y("temp_c:Q", axis=axis, scale=alt.Scale(zero=False))
    layers = [
        alt.Chart(_steps(stages, end))
        .mark_line(interpolate="step-after", color=colour, strokeWidth=2, strokeDash=dash)
        .encode(day, temp)
        for stages, colour, dash in ((summer, SUMMER, [5, 4]), (planned, INK, [1, 0]))
        if stages
    ]
    if not logged.is_empty():
        trip = pl.concat_str("logger", pl.col("begins_at").cast(pl.String), separator=" ")
        floats = pl.col(pl.Float64).round(2)
        shown = logged.select("day", "temp_c", "lowest_c", "highest_c", trip=trip)
        read = alt.Chart(alt.InlineData(values=shown.with_columns(floats).to_dicts()))
        each = alt.Detail("trip:N")
        layers += [
            read.mark_area(color=LOGGED, opacity=0.28).encode(
                day,
                alt.Y("lowest_c:Q", axis=axis, scale=alt.Scale(zero=False)),
                alt.Y2("highest_c:Q"),
                each,
            ),
            read.mark_line(color=LOGGED, strokeWidth=1.5).encode(day, temp, each),
        ]
    # A point that a reader can touch, at the beginning of each stage.
    layers.append(
        alt.Chart(_steps(planned[:-1], end, begins=True))
        .mark_point(color=INK, filled=True, size=40, opacity=1)
        .encode(day, temp, tooltip=[alt.Tooltip("temp_c:Q", title="planned, °C")])
        if len(planned) > 1
        else alt.Chart(alt.InlineData(values=[{"day": 0, "temp_c": planned[0][1]}]))
        .mark_point(color=INK, filled=True, size=40, opacity=1)
        .encode(day, temp)
    )
    return theme.finished(layers, height=220)


def _steps(stages: Sequence[Stage], end: float, *, begins: bool = False) -> alt.InlineData:
    """Return where each stage begins, and unless only that is asked the end of the last."""
    at = [0.0]
    for days, _ in stages:
        at.append(at[-1] + (days or 0.0))
    points = [
        {"day": day, "temp_c": temp}
        for (day, _), (_, temp) in zip(pairwise(at), stages, strict=True)
    ]
    if not begins:
        points.append({"day": end, "temp_c": stages[-1][1]})
    return alt.InlineData(values=points)


def moved(
    rows: list[dict[str, Any]],
    beers: list[str],
    shares: list[str],
    confidences: list[str],
    closures: list[str],
    own: dict[str, int],
) -> dict[str, Any]:
    """Return the date as it is and as the reader sets it, with sliders that stop at grid points.

    Args:
        rows: The grid's points: k (which beer), o (ppb more), c (which closure), t (°C warmer),
            s (which share), m (middle days), l and d (lower bound and date by confidence, None
            for no date), e (°C at the end), w (what is set, in words), x (why there is no such
            point), p (which confidence is in force, −1 where the point is not).
        beers: What can be chosen, in words.
        shares: Likewise,
        confidences: likewise,
        closures: likewise.
        own: The numbers of the first choice shown: share and confidence.
    """
    row = alt.Y("place:N", title=None, sort=["as it is", "as set"], axis=alt.Axis(ticks=False))
    base = alt.Chart()

    def along(column: str) -> alt.X:
        return alt.X(
            f"{column}:Q",
            axis=alt.Axis(title="From packaging, days", tickCount=5),
            scale=alt.Scale(zero=True),
        )

    layers = [
        base.mark_bar(height=11, opacity=0.3, color=theme.FORECAST).encode(
            along("lower"), row, x2="m:Q"
        ),
        base.mark_point(filled=True, size=80, opacity=1, color=theme.FORECAST).encode(
            along("m"), row
        ),
        base.mark_tick(color=INK, thickness=3, size=22, opacity=1).encode(along("date"), row),
        base.mark_text(
            x=4, align="left", baseline="bottom", dy=-30, lineBreak="\n", color=INK
        ).encode(row, text="said:N"),
    ]
    spec = theme.finished(layers, height=220)
    here = "datum.o == oxygen && datum.c == closure && datum.t == warmer && datum.s == share"
    for layer in spec["layer"]:
        del layer["data"]  # every layer shows what the filter below leaves of the same points
    del spec["datasets"]
    spec["data"] = {"values": rows}
    spec["transform"] = [
        {"filter": f"datum.k == beer && (datum.p >= 0 || ({here}))"},
        {
            "calculate": (
                f"datum.p >= 0 ? ({here} ? ['as it is', 'as set'] : ['as it is']) : ['as set']"
            ),
            "as": "place",
        },
        {"flatten": ["place"]},
        {"calculate": "datum.place == 'as it is' ? datum.p : sure", "as": "which"},
        {"calculate": "datum.x ? null : datum.l[datum.which]", "as": "lower"},
        {"calculate": "datum.x ? null : datum.d[datum.which]", "as": "date"},
        {
            "calculate": (
                "datum.x ? datum.x : (datum.date == null ? 'no date' : datum.date + ' days')"
                " + ', ends at ' + datum.e + ' °C\\n' + datum.w"
            ),
            "as": "said",
        },
    ]
    spec["params"] = [
        _choice("beer", "Beer, format", beers, 0),
        _slider("oxygen", "Oxygen at filling, ppb more than now", OXYGEN),
        _choice("closure", "Closure", closures, 0),
        _slider("warmer", "Last stage, °C warmer than planned", WARMER),
        _choice("share", "Life ends when rejected", shares, own["share"]),
        _choice("sure", "How sure", confidences, own["sure"]),
    ]
    return spec


def _slider(name: str, said: str, stops: range) -> dict[str, Any]:
    bind = {
        "input": "range",
        "name": said,
        "min": stops[0],
        "max": stops[-1],
        "step": stops.step,
    }
    return {"name": name, "value": 0, "bind": bind}


def _choice(name: str, said: str, labels: list[str], value: int) -> dict[str, Any]:
    bind = {"input": "select", "name": said, "options": [*range(len(labels))], "labels": labels}
    return {"name": name, "value": value, "bind": bind}
