"""Control charts of package oxygen: lots as points, limits that stay, a step that is found."""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.line.charts import ChartPlan, Period, oxygen_charts

if TYPE_CHECKING:
    from collections.abc import Sequence

FIRST = date(2026, 1, 5)
PACKAGES = {
    "lot": pl.String,
    "format": pl.String,
    "line": pl.String,
    "packaged_on": pl.Date,
    "measured_at": pl.Datetime("us"),
    "basis": pl.String,
    "lower_ppb": pl.Float64,
    "upper_ppb": pl.Float64,
    "sd_shared": pl.Float64,
    "beer_ppb": pl.Float64,
    "late": pl.Boolean,
    "below": pl.Boolean,
}
LOTS = {
    "lot": pl.String,
    "format": pl.String,
    "line": pl.String,
    "started_at": pl.Datetime("us"),
}
TARGETS = pl.DataFrame(
    {
        "format": ["can", "keg"],
        "kind": ["can", "keg"],
        "target_ppb": [100.0, None],
        "target_assumed": [False, True],
    }
)


def lot(
    number: int,
    *ppb: float | tuple[float | None, float | None],
    packaged_on: date | None = None,
    **also: object,
) -> list[dict[str, Any]]:
    """A lot a day with these packages: a value, or a pair of bounds; and what else they say."""
    day = packaged_on or FIRST + timedelta(days=number)
    rows = []
    for value in ppb:
        lower, upper = value if isinstance(value, tuple) else (value, value)
        rows.append(
            {
                "lot": f"L{number:03d}",
                "format": "can",
                "line": "one",
                "packaged_on": day,
                "measured_at": datetime.combine(day, datetime.min.time()),
                "basis": "none" if lower is None else "total",
                "lower_ppb": lower,
                "upper_ppb": upper,
                "sd_shared": 0.0,
                "beer_ppb": None,
                "late": upper is None and lower is not None,
                "below": lower == 0.0,
            }
            | also
        )
    return rows


def charted(
    rows: Sequence[dict[str, Any]],
    plan: ChartPlan | None = None,
    started: dict[str, datetime] | None = None,
) -> dict[str, pl.DataFrame]:
    """The charts of these packages, in whatever order they come."""
    packages = pl.DataFrame(rows, schema=PACKAGES)
    lots = packages.select(
        "lot",
        "format",
        "line",
        started_at=pl.col("lot").replace_strict(
            started or {}, default=None, return_dtype=pl.Datetime("us")
        ),
    ).unique()
    return oxygen_charts(packages, lots.cast(LOTS), TARGETS, plan or ChartPlan())


def steady(lots: int, level: float = 60.0, begin: int = 0, seed: int = 1) -> list[dict[str, Any]]:
    """Lots of four packages whose means differ by a tenth, packages by another."""
    rng = np.random.default_rng(seed)
    return [
        row
        for number in range(begin, begin + lots)
        for row in lot(
            number, *np.exp(math.log(level) + rng.normal(0, 0.1) + rng.normal(0, 0.1, 4))
        )
    ]


def one(frames: dict[str, pl.DataFrame]) -> dict[str, Any]:
    """The one chart."""
    (chart,) = frames["oxygen_charts"].rows(named=True)
    return chart


def test_a_point_is_the_geometric_mean_of_a_lot() -> None:
    """Packages of one lot are one point; limits come from lots alone."""
    rows = [row for n in range(8) for row in lot(n, 40.0 + n, 90.0 - n)]
    frames = charted(rows)
    expected = [math.sqrt((40.0 + n) * (90.0 - n)) for n in range(8)]
    assert frames["chart_points"]["ppb"].to_list() == pytest.approx(expected)
    moving = np.abs(np.diff(np.log(expected))).mean() / 1.128
    chart = one(frames)
    assert chart["sd_log"] == pytest.approx(moving)
    assert chart["centre_ppb"] == pytest.approx(math.exp(np.log(expected).mean()))
    assert chart["limit_upper_ppb"] == pytest.approx(chart["centre_ppb"] * math.exp(3 * moving))
    assert chart["step_limit"] == pytest.approx(math.exp(3.267 * 1.128 * moving))


def test_lots_stand_in_the_order_of_filling() -> None:
    """By day, then by the start of the run, whatever their names and the order of the rows."""
    rows = [*lot(2, 50.0, packaged_on=FIRST), *lot(1, 60.0, packaged_on=FIRST), *lot(0, 70.0)]
    rows += lot(3, 80.0, packaged_on=FIRST - timedelta(days=1))
    started = {
        "L002": datetime.fromisoformat("2026-01-05T06:00"),
        "L001": datetime.fromisoformat("2026-01-05T09:00"),
    }
    started["L000"] = datetime.fromisoformat("2026-01-05T07:00")
    points = charted(rows, started=started)["chart_points"]
    assert points["lot"].to_list() == ["L003", "L002", "L000", "L001"]
    assert points["position"].to_list() == [1, 2, 3, 4]


@given(st.permutations(steady(9)))
@settings(max_examples=20, deadline=None)
def test_the_order_of_rows_changes_no_digit(rows: list[dict[str, Any]]) -> None:
    """Sums run over sorted rows."""
    plain = charted(steady(9))
    again = charted(rows)
    assert all(again[name].equals(plain[name]) for name in plain)


def test_a_lot_of_bounds_is_a_bound_and_moves_nothing() -> None:
    """Late packages alone give an arrow at what they hold at least; limits stay as they were."""
    rows = steady(12)
    late = [*rows, *lot(5, (55.0, None), (65.0, None), packaged_on=FIRST + timedelta(days=30))]
    late = [row | ({"lot": "LATE"} if row["late"] else {}) for row in late]
    frames = charted(late)
    point = frames["chart_points"].filter(lot="LATE").row(0, named=True)
    assert point["ppb"] is None
    assert point["at_least_ppb"] == pytest.approx(math.sqrt(55.0 * 65.0))
    assert point["late"] == 2
    without, chart = one(charted(rows)), one(frames)
    assert chart["bound_lots"] == 1
    assert chart["late"] == 2
    assert chart["sd_log"] == pytest.approx(without["sd_log"])
    assert chart["limits_lots"] == without["limits_lots"]
    # A lower bound near the centre says a little: the lot is not a low one.
    assert without["centre_ppb"] < chart["centre_ppb"] < 1.02 * without["centre_ppb"]


def test_below_the_floor_is_no_value_either() -> None:
    """A lot below the meter's floor is drawn from above, and signals low where that is sure."""
    plan = ChartPlan(Period(None, FIRST + timedelta(days=11)))
    frames = charted([*steady(12), *lot(40, (0.0, 10.0))], plan)
    point = frames["chart_points"].filter(lot="L040").row(0, named=True)
    assert (point["ppb"], point["at_most_ppb"]) == (None, pytest.approx(10.0))
    (signal,) = frames["oxygen_signals"].filter(last_lot="L040").rows(named=True)
    assert (signal["rule"], signal["side"], signal["bound"]) == ("beyond limit", "below", True)
    assert signal["level_ppb"] == pytest.approx(10.0)
    assert one(frames)["below_floor"] == 1


def test_limits_of_the_first_twenty_lots_stay() -> None:
    """Whatever the line does from the twenty-first on, not a digit of them moves."""
    before = one(charted(steady(20)))
    after = one(charted([*steady(20), *steady(30, level=300.0, begin=20, seed=2)]))
    names = ("centre_ppb", "limit_lower_ppb", "limit_upper_ppb", "sd_log", "limits_lots")
    assert [after[n] for n in names] == [before[n] for n in names]
    assert (before["limits_basis"], after["limits_basis"]) == ("first lots", "first lots")
    assert one(charted(steady(19)))["limits_basis"] == "lots so far"


def test_a_stated_period_holds_for_its_line_or_format() -> None:
    """A format's own period counts before its line's, that before the one for all."""
    rows = steady(30)
    day = [FIRST + timedelta(days=n) for n in (0, 9, 19, 28, 29)]
    for plan, first, last, basis in (
        (ChartPlan(Period(None, day[1])), day[0], day[1], "stated"),
        (ChartPlan(Period(None, day[1]), {"one": Period(day[1])}), day[1], day[3], "first lots"),
        (
            ChartPlan(lines={"one": Period(day[1])}, formats={"can": Period(day[2], day[4])}),
            day[2],
            day[4],
            "stated",
        ),
        (ChartPlan(lines={"other": Period(day[2])}), day[0], day[2], "first lots"),
    ):
        frames = charted(rows, plan)
        chart = one(frames)
        assert (chart["limits_first_on"], chart["limits_last_on"]) == (first, last)
        assert chart["limits_basis"] == basis
        chosen = frames["chart_points"].filter("in_period")["packaged_on"]
        assert (chosen.min(), chosen.max()) == (first, last)


def test_too_few_lots_give_no_limits_but_a_chart() -> None:
    """Seven lots are drawn, have a level, and no limits, with the reason."""
    frames = charted(steady(7))
    chart = one(frames)
    assert chart["reason"] == "they take 8 lots with a value, and the period has 7"
    assert chart["centre_ppb"] is None
    assert chart["now_ppb"] == pytest.approx(60.0, rel=0.15)
    assert chart["now_lower_ppb"] is None
    assert frames["chart_points"]["running_ppb"].null_count() == 7
    assert frames["oxygen_signals"].is_empty()
    alike = one(charted([row for n in range(9) for row in lot(n, 50.0)]))
    assert "alike" in alike["reason"]


def test_a_planted_step_is_found_where_it_began() -> None:
    """Of 100 lines that rise by a third after 30 lots, 95 or more are told.

    In 80 or more the day is right to three lots; in 80 or more the interval holds the true 20 ppb.
    """
    told, near, held = 0, 0, 0
    for seed in range(100):
        rows = [*steady(30, seed=seed), *steady(12, level=80.0, begin=30, seed=1_000 + seed)]
        found = charted(rows)["oxygen_signals"].filter(
            pl.col("rule") == "eight on one side", pl.col("ongoing"), pl.col("side") == "above"
        )
        if not found.is_empty():
            signal = found.row(0, named=True)
            told += 1
            near += abs((signal["first_on"] - FIRST).days - 30) <= 3
            held += signal["change_lower_ppb"] <= 20.0 <= signal["change_upper_ppb"]
    assert told >= 95
    assert near >= 80
    assert held >= 80


def test_what_is_above_the_target_is_counted_by_package() -> None:
    """Late ones and parts are left out; a reading above the meter's range is above for sure."""
    rows = steady(10)
    rows += lot(20, 120.0, 130.0, (0.0, 10.0), (0.0, 150.0), (None, None))
    rows += lot(21, (500.0, None), late=False)
    rows += lot(22, 90.0, (300.0, None))
    rows += lot(23, (150.0, None), late=False, basis="partial")
    chart = one(charted(rows))
    expected = sum(row["lower_ppb"] > 100.0 for row in steady(10))
    assert chart["above_target"] == expected + 3
    assert chart["told"] == 40 + 3 + 1 + 1
    assert (chart["unusable"], chart["late"], chart["part"]) == (1, 1, 2)
    assert chart["cpk_lower"] < chart["cpk"] < chart["cpk_upper"]


def test_cpk_is_of_packages_and_its_interval_of_lots() -> None:
    """Identity: the SD of all packages on the log scale, counted by lots."""
    rows = steady(10)
    logs = np.log([row["lower_ppb"] for row in rows])
    chart = one(charted(rows))
    assert chart["cpk"] == pytest.approx((math.log(100.0) - logs.mean()) / (3.0 * logs.std()))
    half = 1.6448536 * math.sqrt(1 / 90 + chart["cpk"] ** 2 / 18)
    assert chart["cpk_upper"] - chart["cpk"] == pytest.approx(half)


def test_the_beer_side_is_told_from_closing() -> None:
    """Total less beer side, of lots with both; a late beer reading does not count."""
    rows = steady(8)
    rows += [
        *lot(20, 60.0, 60.0),
        *lot(20, (40.0, None), basis="partial", beer_ppb=40.0, late=False),
    ]
    rows += [*lot(21, 50.0), *lot(21, (20.0, None), basis="partial", beer_ppb=20.0, late=False)]
    rows += [*lot(22, 50.0), *lot(22, (10.0, None), basis="partial", beer_ppb=10.0, late=True)]
    chart = one(charted(rows))
    assert chart["split_lots"] == 2
    assert chart["split_beer_ppb"] == pytest.approx(30.0)
    # The lots' bounds lie below their values and hardly move them.
    assert chart["split_total_ppb"] == pytest.approx(55.0, rel=0.02)
    assert chart["split_closing_ppb"] == pytest.approx(
        chart["split_total_ppb"] - chart["split_beer_ppb"]
    )
    assert chart["split_closing_lower_ppb"] < chart["split_closing_ppb"]


def test_lines_and_formats_are_charts_of_their_own() -> None:
    """A lot without a line is charted too, and a format without a target has no share."""
    rows = [row for n in range(3) for row in lot(n, 50.0)]
    rows += [row for n in range(2) for row in lot(n, 40.0, format="keg", line=None)]
    charts = charted(rows)["oxygen_charts"]
    assert charts.select("line", "format", "lots").rows() == [("one", "can", 3), (None, "keg", 2)]
    keg = charts.filter(format="keg").row(0, named=True)
    assert (keg["target_ppb"], keg["told"], keg["above_target"]) == (None, 0, 0)


def test_a_brewery_without_readings_has_empty_charts() -> None:
    """Every table is there with its columns."""
    frames = charted([])
    assert all(frame.is_empty() for frame in frames.values())
    assert frames["oxygen_signals"].columns[:3] == ["line", "format", "rule"]
