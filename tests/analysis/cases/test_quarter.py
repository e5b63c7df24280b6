"""Quarters of a year and the working day on which their data are closed."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.cases.quarter import Quarter, quarter_named, quarter_of


@pytest.mark.parametrize(
    ("name", "first", "last", "closes_on"),
    [
        ("2026-Q1", date(2026, 1, 1), date(2026, 3, 31), date(2026, 4, 10)),
        ("2026-Q3", date(2026, 7, 1), date(2026, 9, 30), date(2026, 10, 12)),
        ("2026-Q4", date(2026, 10, 1), date(2026, 12, 31), date(2027, 1, 12)),
        ("2021-Q4", date(2021, 10, 1), date(2021, 12, 31), date(2022, 1, 12)),  # 1 Jan: a Saturday
    ],
)
def test_a_quarter_has_its_days(name: str, first: date, last: date, closes_on: date) -> None:
    """First and last day, and working day 8 of the next quarter, counted on a calendar."""
    quarter = quarter_named(name)
    assert quarter is not None
    assert (quarter.first, quarter.last, quarter.closes_on) == (first, last, closes_on)


@given(st.dates(date(1001, 1, 1), date(9997, 12, 31)))
def test_every_day_lies_in_one_quarter(day: date) -> None:
    """It begins the day after the one before ends, and is found again by its name."""
    quarter = quarter_of(day)
    assert quarter.first <= day <= quarter.last
    assert quarter.before.last + timedelta(days=1) == quarter.first
    assert quarter.after.before == quarter == quarter_named(str(quarter))
    assert quarter.closes_on.weekday() < 5


@pytest.mark.parametrize("name", ["2026-Q3", "2026q3", " 2026-q3 ", "2026Q3"])
def test_a_name_may_be_typed_as_people_do(name: str) -> None:
    """Small letters, no hyphen, spaces around."""
    assert quarter_named(name) == Quarter(2026, 3)


@pytest.mark.parametrize(
    "name", ["2026-Q5", "2026-Q0", "Q3", "2026", "26-Q3", "2026-Q33", "", "0001-Q1", "2026-Q³"]
)
def test_what_is_no_quarter_has_none(name: str) -> None:
    """A name that nobody can mean is nothing."""
    assert quarter_named(name) is None
