"""Oxygen of a line and format, this quarter against the last."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from scipy import stats

from analysis.cases.oxygen_quarters import oxygen_by_quarter
from analysis.cases.quarter import Quarter

QUARTER = Quarter(2026, 3)
SCHEMA = {
    "lot": pl.String,
    "line": pl.String,
    "format": pl.String,
    "packaged_on": pl.Date,
    "total_oxygen_ppb": pl.Float64,
    "at_least_ppb": pl.Float64,
}


def lots(before: list[float], now: list[float], line: str | None = "canning") -> list[tuple]:
    """Lots of one line and format, a week apart, in the two quarters."""
    return [
        (f"{line} {n} {ppb}", line, "can", first + timedelta(weeks=n), ppb, None)
        for first, level in ((date(2026, 4, 1), before), (date(2026, 7, 1), now))
        for n, ppb in enumerate(level)
    ]


def compared(*rows: tuple) -> list[dict]:
    """Set the quarters side by side."""
    frame = pl.DataFrame(list(rows), schema=SCHEMA, orient="row")
    return oxygen_by_quarter(frame, QUARTER).to_dicts()


def test_two_quarters_of_one_line_are_the_two_sample_t_test() -> None:
    """With no other quarter the pooled SD is that of the two, so scipy must agree."""
    before, now = [50.0, 60.0, 70.0, 66.0], [75.0, 80.0, 90.0]
    (found,) = compared(*lots(before, now))
    reference = stats.ttest_ind(np.log(now), np.log(before)).confidence_interval(0.90)
    assert np.log([found["ratio_lower"], found["ratio_upper"]]) == pytest.approx(
        [reference.low, reference.high]
    )
    assert found["finding"] == "more"
    assert (found["lots"], found["lots_before"]) == (3, 4)
    (turned,) = compared(*lots(now, before))
    assert turned["finding"] == "less"
    assert turned["ratio"] == pytest.approx(1.0 / found["ratio"])


def test_what_lots_differ_by_anyway_is_noise() -> None:
    """A level that moved within the scatter of its lots is no change."""
    (found,) = compared(*lots([50.0, 70.0, 60.0], [66.0, 52.0, 74.0]))
    assert found["finding"] == "noise"


def test_the_more_lines_the_wider_the_bounds() -> None:
    """All of them together hold nine times in ten, so one of many must stand out further."""
    alone = compared(*lots([50.0, 60.0, 70.0], [75.0, 80.0, 90.0]))[0]
    among = compared(
        *lots([50.0, 60.0, 70.0], [75.0, 80.0, 90.0]),
        *(row for n in range(9) for row in lots([50.0, 60.0], [60.0, 50.0], f"line {n}")),
    )[0]
    assert among["line"] == "canning"
    assert among["ratio"] == alone["ratio"]
    assert among["ratio_lower"] < alone["ratio_lower"]


def test_false_alarms_of_quiet_lines_are_as_many_as_said() -> None:
    """Of 400 quarters with five quiet lines about one in ten names one of them."""
    draws = np.random.default_rng(8)
    alarms = 0
    for _ in range(400):
        rows = [
            row
            for line in "abcde"
            for row in lots(*np.exp(draws.normal(4.0, 0.2, (2, 4))).tolist(), line)
        ]
        alarms += any(row["finding"] in {"more", "less"} for row in compared(*rows))
    assert 0.05 < alarms / 400 < 0.15


def test_lots_known_by_a_bound_are_counted_and_left_out() -> None:
    """They have no level that could be averaged; a line without a level is too few to say."""
    bound = ("late", None, "can", date(2026, 8, 1), None, 40.0)
    (found,) = compared(bound)
    assert (found["bound_lots"], found["lots"], found["finding"]) == (1, 0, "too few")
    assert found["ppb"] is None
    assert compared() == []
