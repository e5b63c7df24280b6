"""The charts of a style's page, one idea each, as Altair specifications.

What was observed is solid and dark; what is expected is a line; what is not known is a band or bar
in the same hue, lighter; what is assumed or agreed is dashed. Axes begin at 0 and are not
logarithmic.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import altair as alt
import polars as pl

from dashboards import theme, words

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

LONG_SPAN = 400.0
WEEK = 7
ROW = 30
TALL_ROW = 42
LINES = alt.Axis(labelExpr=r"split(datum.label, '\n')", labelLineHeight=15, labelLimit=150)
INK = theme.variable("ink")
PERCENT = f"round(datum.value * 100) + '{words.NBSP}%'"
SHARE_UP = alt.Axis(labelExpr=PERCENT, tickCount=5, title="Glasses rejected for age")
SHARE_ALONG = alt.Axis(labelExpr=PERCENT, tickCount=5, title="Glasses rejected, all pulls")
SHARE_SCALE = alt.Scale(domain=[0, 1])


def _data(frame: pl.DataFrame) -> alt.InlineData:
    """Return a frame as inline data; days and shares need no more than four decimals."""
    floats = pl.col(pl.Float64).round(4)
    return alt.InlineData(values=frame.with_columns(floats).to_dicts())


def _ages(title: str, longest: float, *, grid: bool) -> Callable[[str], alt.X]:
    """Return what puts a column of ages on the x axis, in days, or in weeks for a long span.

    Layers share the one axis, because layers of unlike titles would each add theirs.
    """
    scale = alt.Scale(domain=[0, longest], nice=False)
    axis = alt.Axis(title=f"{title}, days", tickCount=6, grid=grid)
    if longest > LONG_SPAN:
        step = 10 * WEEK * max(1, round(longest / WEEK / 60))
        axis = alt.Axis(
            title=f"{title}, weeks",
            values=[float(age) for age in range(0, int(longest) + 1, step)],
            labelExpr=f"datum.value / {WEEK}",
            grid=grid,
        )
    return lambda column: alt.X(f"{column}:Q", axis=axis, scale=scale)


def _shares(column: str) -> alt.Y:
    return alt.Y(f"{column}:Q", axis=SHARE_UP, scale=SHARE_SCALE)


def rejected_by_age(
    curve: pl.DataFrame,
    steps: pl.DataFrame,
    steps_band: pl.DataFrame,
    pulls: pl.DataFrame,
    share_rejected: float,
) -> dict[str, Any]:
    """Return the share rejected by days at 20 °C: band, curve, Turnbull steps, every pull.

    Args:
        curve: A style's rows of `published.curves`.
        steps: Its rows of `published.turnbull`.
        steps_band: Its rows of `published.turnbull_bands`; none where they say nothing.
        pulls: Its rows of `published.pulls`.
        share_rejected: The policy's share, drawn as a level, 0 to 1.
    """
    points = pulls.filter(pl.col("equivalent_days").is_not_null(), pl.col("tasted") > 0)
    ends = [curve["age_days"].max(), points["equivalent_days"].max(), steps["age_from"].max()]
    longest = max([float(end) for end in ends if isinstance(end, float)], default=1.0)
    ages = _ages("Age at 20 °C, or its equivalent", longest, grid=False)
    base = alt.Chart(_data(curve.drop("run_id", "style")))
    level = alt.Chart(
        alt.InlineData(values=[{"share": share_rejected, "text": words.glasses(share_rejected)}])
    )
    layers = [
        *_steps_band(steps_band, ages),
        base.mark_area(color=theme.FORECAST, opacity=0.28, clip=True).encode(
            ages("age_days"), _shares("share_rejected_lower"), alt.Y2("share_rejected_upper:Q")
        ),
        level.mark_rule(color=theme.variable("muted"), strokeDash=[2, 4]).encode(
            y=_shares("share")
        ),
        level.mark_text(align="right", baseline="top", dx=-4, dy=4).encode(
            x=alt.value("width"), y=_shares("share"), text="text:N"
        ),
        base.mark_line(color=theme.FORECAST, strokeWidth=3, clip=True).encode(
            ages("age_days"), _shares("share_rejected")
        ),
        *_steps(steps, longest, ages),
        _pulls(points, ages),
    ]
    return theme.finished(layers, height=320)


def _steps(steps: pl.DataFrame, longest: float, ages: Callable[[str], alt.X]) -> list[alt.Chart]:
    """Return Turnbull's estimate: level between its intervals, dashed where it rises within one."""
    ordered = steps.sort("age_from")
    rises = ordered.select(
        x="age_from", x2=pl.col("age_to"), y="share_before", y2="share_after"
    ).filter(pl.col("x2").is_not_null())
    levels = ordered.select(
        x=pl.col("age_to").shift(1, fill_value=0.0), x2="age_from", y="share_before"
    ).filter(pl.col("x2") > pl.col("x"))
    last = ordered.tail(1).filter(pl.col("age_to") < longest)
    levels = pl.concat([levels, last.select(x="age_to", x2=pl.lit(longest), y="share_after")])
    flat, rising = alt.Chart(_data(levels)), alt.Chart(_data(rises))
    return [
        flat.mark_rule(color=INK, strokeWidth=2, clip=True).encode(
            ages("x"), _shares("y"), alt.X2("x2:Q")
        ),
        rising.mark_rule(color=INK, strokeWidth=1.5, strokeDash=[4, 3], clip=True).encode(
            ages("x"), _shares("y"), alt.X2("x2:Q"), alt.Y2("y2:Q")
        ),
    ]


def _steps_band(band: pl.DataFrame, ages: Callable[[str], alt.X]) -> list[alt.Chart]:
    """Return how far the steps can be trusted: a grey veil between dotted lines."""
    if band.is_empty():
        return []
    base = alt.Chart(_data(band.drop("run_id", "style")))
    return [
        base.mark_area(color=INK, opacity=0.08, clip=True).encode(
            ages("age_days"), _shares("share_lower"), alt.Y2("share_upper:Q")
        ),
        *(
            base.mark_line(color=INK, strokeWidth=1.2, strokeDash=[1, 3], clip=True).encode(
                ages("age_days"), _shares(side)
            )
            for side in ("share_lower", "share_upper")
        ),
    ]


def _pulls(points: pl.DataFrame, ages: Callable[[str], alt.X]) -> alt.Chart:
    """Return every pull as a point whose shape tells its storage temperature."""
    stores = _in_words(points["storage_temp_c"])
    shown = points.select(
        "lot",
        "format",
        x=pl.col("equivalent_days"),
        y=pl.col("rejected") / pl.col("tasted"),
        kept=pl.col("storage_temp_c").replace_strict(stores, return_dtype=pl.String),
        counts=pl.format("{} of {}", "rejected", "tasted"),
        age=pl.col("age_days").round(0).cast(pl.Int64),
    )
    chart: alt.Chart = (
        alt.Chart(_data(shown))
        .mark_point(color=INK, filled=True, size=45, opacity=0.65)
        .encode(
            ages("x"),
            _shares("y"),
            shape=alt.Shape(
                "kept:N",
                title="Pulls kept at",
                scale=alt.Scale(
                    domain=list(stores.values()), range=list(theme.SHAPES[: len(stores)])
                ),
                legend=alt.Legend(symbolFillColor=INK, symbolStrokeColor=INK),
            ),
            tooltip=[
                alt.Tooltip("counts:N", title="rejected"),
                alt.Tooltip("lot:N"),
                alt.Tooltip("format:N"),
                alt.Tooltip("kept:N", title="kept at"),
                alt.Tooltip("age:Q", title="days from packaging"),
            ],
        )
    )
    return chart


def _in_words(temperatures: pl.Series) -> dict[float, str]:
    """Return each temperature once, coldest first, with its words."""
    return {t: words.temperature(t) for t in temperatures.unique().sort()}


def warm_and_cold(arms: pl.DataFrame) -> dict[str, Any]:
    """Return, for each storage temperature, the share rejected beside the share expected."""
    stores = _in_words(arms["storage_temp_c"])
    kept = pl.col("storage_temp_c").replace_strict(stores, return_dtype=pl.String)
    shown = arms.sort("storage_temp_c").select(
        kept=pl.format("{}: {} of {}", kept, "rejected", "verdicts"),
        seen=pl.col("rejected") / pl.col("verdicts"),
        expected=pl.col("expected_rejected") / pl.col("verdicts"),
    )
    base = alt.Chart(_data(shown))
    row = alt.Y("kept:N", sort=shown["kept"].to_list(), title=None)
    tooltip = alt.Tooltip("kept:N", title="rejected")
    seen = alt.X("seen:Q", axis=SHARE_ALONG, scale=SHARE_SCALE)
    expected = alt.X("expected:Q", axis=SHARE_ALONG, scale=SHARE_SCALE)
    layers = [
        base.mark_tick(color=theme.FORECAST, thickness=4, size=22, opacity=1).encode(expected, row),
        base.mark_point(color=INK, filled=True, size=75, opacity=1).encode(
            seen, row, tooltip=tooltip
        ),
    ]
    return theme.finished(layers, height=ROW * shown.height)


def lives(dates: pl.DataFrame, printed: pl.DataFrame, colours: Mapping[str, str]) -> dict[str, Any]:
    """Return shelf life with its bounds by format and route, and the dates printed today.

    Args:
        dates: A style's rows of `published.dates` that have an estimate, with a column `row`.
        printed: Its printed days, with the same column `row`.
        colours: The colour of each format.
    """
    known = [
        dates[c].max()
        for c in ("shelf_life_days", "shelf_life_days_lower", "shelf_life_days_upper")
    ]
    printed_end = printed["printed_days"].max()
    ends = [float(v) for v in (*known, printed_end) if isinstance(v, int | float)]
    longest = 1.05 * max(ends, default=1.0)
    ages = _ages("From packaging", longest, grid=True)
    both = dates.select("shelf_life_days_lower", "shelf_life_days_upper")
    said = [words.bounds(lower, upper) for lower, upper in both.iter_rows()]
    shown = dates.select(
        "row",
        "format",
        kept="route",
        life="shelf_life_days",
        lower="shelf_life_days_lower",
        bounds=pl.Series(said, dtype=pl.String),
        upper=pl.col("shelf_life_days_upper").fill_null(longest),
        date="best_before_days",
    )
    base = alt.Chart(_data(shown))
    rows = shown["row"].to_list()
    row = alt.Y("row:N", sort=rows, title=None, axis=LINES)
    hue = alt.Color(
        "format:N",
        scale=alt.Scale(domain=list(colours), range=list(colours.values())),
        legend=None,
    )
    shapes = theme.format_shapes(colours)
    shape = alt.Shape(
        "format:N", scale=alt.Scale(domain=list(shapes), range=list(shapes.values())), legend=None
    )
    tooltip = [
        alt.Tooltip("format:N"),
        alt.Tooltip("kept:N", title="kept as"),
        alt.Tooltip("life:Q", title="days, best estimate", format=".0f"),
        alt.Tooltip("bounds:N", title="bounds, days"),
        alt.Tooltip("date:Q", title="date supported, days"),
    ]
    rule = alt.Chart(_data(printed.select("row", "printed_days")))
    layers = [
        base.mark_bar(height=11, opacity=0.3).encode(ages("lower"), row, x2="upper:Q", color=hue),
        base.mark_point(filled=True, size=80, opacity=1).encode(
            ages("life"), row, color=hue, shape=shape, tooltip=tooltip
        ),
        base.mark_tick(color=INK, thickness=3, size=18, opacity=1).encode(ages("date"), row),
        rule.mark_tick(color=INK, thickness=1, size=26, opacity=1).encode(
            ages("printed_days"),
            row,
            tooltip=[alt.Tooltip("printed_days:Q", title="printed, days")],
        ),
    ]
    return theme.finished(layers, height=TALL_ROW * shown.height)


def oxygen_by_lot(lots: pl.DataFrame, colours: Mapping[str, str]) -> dict[str, Any]:
    """Return total package oxygen of each lot by packaging day, a colour and shape a format."""
    shown = lots.filter(pl.col("total_oxygen_ppb").is_not_null()).select(
        "lot",
        "format",
        "packages",
        ppb="total_oxygen_ppb",
        on=pl.col("packaged_on").cast(pl.String),
    )
    present = [name for name in colours if name in shown["format"].to_list()]
    shapes = theme.format_shapes(colours)
    chart = (
        alt.Chart(_data(shown))
        .mark_point(filled=True, size=75, opacity=0.9)
        .encode(
            alt.X(
                "on:T",
                title="Packaged",
                axis=alt.Axis(format="%b %Y", tickCount=5, grid=False),
                scale=alt.Scale(nice="month"),
            ),
            alt.Y(
                "ppb:Q",
                title="Total package oxygen, ppb",
                scale=alt.Scale(zero=True),
                axis=alt.Axis(tickCount=5),
            ),
            color=alt.Color(
                "format:N",
                title="Format",
                scale=alt.Scale(domain=present, range=[colours[f] for f in present]),
            ),
            shape=alt.Shape(
                "format:N",
                title="Format",
                scale=alt.Scale(domain=present, range=[shapes[f] for f in present]),
            ),
            tooltip=[
                alt.Tooltip("lot:N"),
                alt.Tooltip("format:N"),
                alt.Tooltip("ppb:Q", title="ppb", format=".0f"),
                alt.Tooltip("packages:Q", title="packages measured"),
            ],
        )
    )
    return theme.finished([chart], height=240)


def oxygen_by_format(rows: pl.DataFrame) -> dict[str, Any]:
    """Return the median total package oxygen of each row, with the middle half of its lots.

    Args:
        rows: `published.format_oxygen` with a column `row`, in the order in which it is shown.
    """
    shown = rows.select("row", "lots", "median_ppb", "lower_quartile_ppb", "upper_quartile_ppb")
    base = alt.Chart(_data(shown))
    row = alt.Y("row:N", sort=shown["row"].to_list(), title=None, axis=LINES)
    title = alt.Axis(title="Total package oxygen, ppb", tickCount=5)

    def along(column: str) -> alt.X:
        return alt.X(f"{column}:Q", axis=title, scale=alt.Scale(zero=True))

    layers = [
        base.mark_bar(height=11, opacity=0.3, color=theme.FORECAST).encode(
            along("lower_quartile_ppb"), row, x2="upper_quartile_ppb:Q"
        ),
        base.mark_point(filled=True, size=80, opacity=1, color=INK).encode(
            along("median_ppb"),
            row,
            tooltip=[
                alt.Tooltip("median_ppb:Q", title="median, ppb", format=".0f"),
                alt.Tooltip("lots:Q", title="lots"),
            ],
        ),
    ]
    return theme.finished(layers, height=TALL_ROW * shown.height)


def calibration(bands: pl.DataFrame) -> dict[str, Any]:
    """Return the share rejected by the share expected, with counts, and where both are equal.

    Args:
        bands: The rows of `published.back_test_calibration`.
    """
    shown = bands.select(
        "expected",
        "rejected",
        count=pl.Series([words.whole(count) for count in bands["verdicts"]], dtype=pl.String),
    )

    def along(column: str) -> alt.X:
        axis = alt.Axis(labelExpr=PERCENT, tickCount=5, title="Expected to be rejected", grid=False)
        return alt.X(f"{column}:Q", axis=axis, scale=SHARE_SCALE)

    axis = alt.Axis(labelExpr=PERCENT, tickCount=5, title="Rejected")
    rejected = alt.Y("rejected:Q", axis=axis, scale=SHARE_SCALE)
    base = alt.Chart(_data(shown))
    equal = alt.Chart(
        alt.InlineData(values=[{"expected": 0, "rejected": 0}, {"expected": 1, "rejected": 1}])
    )
    layers = [
        equal.mark_line(color=theme.FORECAST, strokeWidth=2).encode(along("expected"), rejected),
        base.mark_point(color=INK, filled=True, size=75, opacity=1).encode(
            along("expected"),
            rejected,
            tooltip=[
                alt.Tooltip("count:N", title="verdicts"),
                alt.Tooltip("expected:Q", title="expected", format=".0%"),
                alt.Tooltip("rejected:Q", title="rejected", format=".0%"),
            ],
        ),
        # Away from the line, so that no number stands on it.
        base.transform_filter("datum.rejected > datum.expected")
        .mark_text(baseline="bottom", dy=-7)
        .encode(along("expected"), rejected, text="count:N"),
        base.transform_filter("datum.rejected <= datum.expected")
        .mark_text(align="left", baseline="top", dx=7, dy=3)
        .encode(along("expected"), rejected, text="count:N"),
    ]
    return theme.finished(layers, height=320)
