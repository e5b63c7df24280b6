"""Package oxygen before and after each change in the plant."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import polars as pl
import pytest
from scipy import stats

from analysis.line.changes import change_report

DAY = dt.date(2026, 3, 2)
CHANGE = {
    "changed_on": pl.Date,
    **dict.fromkeys(("what", "line", "beer", "format"), pl.String),
}


def lots(ppb: list[float | None], **columns: Any) -> pl.DataFrame:  # noqa: ANN401 - any expression
    """A lot a week from ten weeks before the change, of one beer in cans."""
    frame = pl.DataFrame(
        {
            "lot": [f"L{n:02}" for n in range(len(ppb))],
            "format": "can",
            "line": "canning",
            "beer": "Small Pale",
            "packaged_on": [DAY + dt.timedelta(days=7 * (n - 10)) for n in range(len(ppb))],
            "total_oxygen_ppb": pl.Series(ppb, dtype=pl.Float64),
        }
    )
    return frame.with_columns(**columns)


def changes(*rows: dict[str, Any]) -> pl.DataFrame:
    """Changes of the canning line, a new seamer unless told otherwise."""
    usual = {"changed_on": DAY, "what": "new seamer", "line": "canning"}
    return pl.DataFrame([usual | row for row in rows or ({},)], schema=CHANGE)


def report(found: pl.DataFrame, made: pl.DataFrame) -> pl.DataFrame:
    """Work the report out as a fit does."""
    return change_report(found.drop("line"), found.select("lot", "format", "line"), made)


def steps(before: float, after: float, number: int = 20) -> list[float | None]:
    """Ten lots before and the rest after, scattered alike around their level."""
    scatter = np.exp(0.2 * np.random.default_rng(3).standard_normal(number))
    return list(np.where(np.arange(number) < 10, before, after) * scatter)


def test_before_and_after_are_compared_by_lots_as_student_does() -> None:
    """The ratio of geometric means and its t interval, by scipy on the lots' logs (identity)."""
    ppb = np.array(steps(60.0, 80.0))
    found = report(lots(ppb.tolist()), changes()).row(0, named=True)
    test = stats.ttest_ind(np.log(ppb[10:]), np.log(ppb[:10]))
    ends = np.exp(test.confidence_interval(0.90))
    assert (found["lots_before"], found["lots_after"]) == (10, 10)
    assert found["ratio"] == pytest.approx(stats.gmean(ppb[10:]) / stats.gmean(ppb[:10]))
    assert (found["ratio_lower"], found["ratio_upper"]) == pytest.approx(tuple(ends))
    assert found["difference_ppb"] == pytest.approx(found["after_ppb"] - found["before_ppb"])
    assert found["difference_ppb_lower"] > 0.0
    assert found["reason"] is None


def test_no_more_than_twenty_lots_or_120_days_count() -> None:
    """Lots a day apart: twenty on either side. A month apart: those of 120 days."""
    daily = lots(steps(60.0, 60.0, 80)).with_columns(
        packaged_on=pl.lit(DAY) + pl.duration(days=pl.int_range(pl.len()) - 40)
    )
    found = report(daily, changes()).row(0, named=True)
    assert (found["lots_before"], found["lots_after"]) == (20, 20)
    assert found["first_on"] == DAY - dt.timedelta(days=20)
    monthly = daily.with_columns(
        packaged_on=pl.lit(DAY) + pl.duration(days=30 * (pl.int_range(pl.len()) - 40))
    )
    found = report(monthly, changes()).row(0, named=True)
    assert (found["lots_before"], found["lots_after"]) == (4, 4)


def test_the_next_change_of_the_same_lots_ends_the_window() -> None:
    """Another change to the line five weeks on; one to another line or format ends nothing."""
    later = {"changed_on": DAY + dt.timedelta(days=35), "what": "new gas"}
    both = report(lots(steps(60.0, 80.0)), changes({}, later))
    assert both["what"].to_list() == ["new gas", "new seamer"]
    assert both.select("lots_before", "lots_after").rows() == [(5, 5), (10, 5)]
    for other in ({"line": "bottling"}, {"format": "keg"}):
        found = report(lots(steps(60.0, 80.0)), changes({}, later | other))
        assert found.filter(pl.col("what") == "new seamer")["lots_after"].to_list() == [10]


def test_a_change_concerns_the_lots_that_it_names() -> None:
    """Without a line or format: every one with lots, each for itself; with a beer: its lots."""
    kegs = lots(steps(30.0, 30.0), format=pl.lit("keg"), line=pl.lit(None, pl.String))
    every = pl.concat([lots(steps(60.0, 80.0)), kegs])
    found = report(every, changes({"line": None}))
    assert found.select("line", "format").rows() == [("canning", "can"), (None, "keg")]
    assert report(every, changes({"beer": "Small Pale"}))["lots_after"].to_list() == [10]
    assert report(every, changes({"beer": "Another"})).is_empty()


def test_changes_of_one_day_are_said_not_to_be_told_apart() -> None:
    """Both rows carry it, and the lots of one are those of the other."""
    found = report(lots(steps(60.0, 80.0)), changes({}, {"what": "new gas"}))
    assert found["same_day"].all()
    assert found["ratio"].n_unique() == 1
    assert not report(lots(steps(60.0, 80.0)), changes())["same_day"].any()


def test_too_few_lots_are_said_to_be() -> None:
    """None before, or two after: what was measured is shown, and nothing is compared."""
    first = lots(steps(60.0, 80.0)).filter(pl.col("packaged_on") >= DAY)
    found = report(first, changes()).row(0, named=True)
    assert found["reason"] == "no lots measured before it: 3 are needed"
    assert found["before_ppb"] is None
    assert found["after_ppb"] > 0.0
    few = lots(steps(60.0, 80.0, 12))
    found = report(few, changes()).row(0, named=True)
    assert found["reason"] == "2 lots measured after it: 3 are needed"
    assert found["ratio"] is None


def test_lots_with_bounds_alone_are_left_out() -> None:
    """A lot whose total is not known, only that it is above something, is no value."""
    ppb = steps(60.0, 80.0)
    ppb[15] = None
    assert report(lots(ppb), changes())["lots_after"].to_list() == [9]


def test_nothing_changed_or_measured_gives_no_row() -> None:
    """No entry, or no lot in reach of one."""
    assert report(lots(steps(60.0, 80.0)), changes().clear()).is_empty()
    assert report(lots(steps(60.0, 80.0)).clear(), changes()).is_empty()
    old = changes({"changed_on": dt.date(2020, 1, 1)})
    assert report(lots(steps(60.0, 80.0)), old).is_empty()
