"""Meters to check, samples that may go, files that did not come."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl
import pytest

from analysis.week.files import late_files
from analysis.week.meters import due_meter_checks
from analysis.week.retained import samples_to_go

TODAY = date(2026, 6, 1)


def ago(days: int | None) -> date | None:
    """Give a day so many days before today."""
    return None if days is None else TODAY - timedelta(days=days)


@pytest.mark.parametrize(
    ("checked", "read", "expected", "at_rest"),
    [
        (0, 0, [], 0),  # the next one is due in seven days, after this week's last day
        (1, 0, [("due", 0)], 0),
        (7, 0, [("due", 0)], 0),
        (8, 0, [("overdue", 1)], 0),
        (70, 2, [("overdue", 63)], 0),  # it is used, so it counts however late
        (70, 61, [], 1),
        (60, 61, [("overdue", 53)], 0),
        (None, 3, [("never", 0)], 0),
        (None, 61, [], 1),
        (8, None, [("overdue", 1)], 0),
    ],
)
def test_a_meter_in_use_is_checked_every_week(
    checked: int | None, read: int | None, expected: list[tuple[str, int]], at_rest: int
) -> None:
    """Counted from its last check; one that nobody has used for sixty days is at rest."""
    meters = pl.DataFrame(
        {"meter": ["M1"], "checked_on": [ago(checked)], "read_on": [ago(read)]},
        schema={"meter": pl.String, "checked_on": pl.Date, "read_on": pl.Date},
    )
    due = due_meter_checks(meters, every_days=7, at_rest_after_days=60, today=TODAY)
    assert (due.rows.select("status", "days_late").rows(), due.missed) == (expected, at_rest)


def to_go(best_before: date | None, pulled_on: date, *names: str) -> list[tuple[object, ...]]:
    """Give what may go of two samples of a lot packaged on New Year's Day with a cap of 60 days."""
    known = pl.DataFrame(
        {
            "sample": ["S2", "S1"],
            "lot": "1",
            "format": "can",
            "storage_temp_c": 4.0,
            "pulled_on": [pulled_on, pulled_on + timedelta(days=9)],
            "place": "cold room",
        }
    )
    lots = pl.DataFrame(
        {
            "lot": ["1"],
            "format": ["can"],
            "beer": ["Fen Pale"],
            "packaged_on": [date(2026, 1, 1)],
            "best_before": pl.Series([best_before], dtype=pl.Date),
            "cap_days": [60],
        }
    )
    done = pl.DataFrame({"sample": names}, schema={"sample": pl.String})
    rows = samples_to_go(known, done, lots, keep_days=30, today=TODAY)
    return rows.select("ended_on", "printed", "days_past", "samples", "names", "pull_on").rows()


FAR = TODAY + timedelta(days=90)


@pytest.mark.parametrize(("past", "goes"), [(30, False), (31, True), (0, False), (-9, False)])
def test_samples_go_when_their_lot_is_past_its_date_by_the_margin(past: int, *, goes: bool) -> None:
    """They are gathered by storage, with how many and which."""
    ended = TODAY - timedelta(days=past)
    expected = [(ended, True, past, 2, "S1, S2", FAR)]
    assert to_go(ended, FAR) == (expected if goes else [])


def test_a_lot_without_a_printed_date_is_judged_by_the_longest() -> None:
    """Sixty days from packaging, and thirty more, have gone by June."""
    assert to_go(None, FAR) == [(date(2026, 3, 2), False, 91, 2, "S1, S2", FAR)]


def test_what_is_pulled_or_is_pulled_this_week_does_not_go() -> None:
    """Past pulls stand nowhere any more, and this week's are on the list of pulls."""
    in_six_days, next_week = TODAY + timedelta(days=6), TODAY + timedelta(days=7)
    assert to_go(ago(50), TODAY - timedelta(days=20)) == []
    assert [row[4] for row in to_go(ago(50), in_six_days)] == ["S1"]
    assert [row[4] for row in to_go(ago(50), next_week)] == ["S1, S2"]
    assert [row[4] for row in to_go(ago(50), next_week, "S2")] == ["S1"]


CAME = pl.DataFrame(
    {
        "file": ["oxygen-w20.csv", "line 2/Oxygen-w21.csv", "cellar.xlsx", "cellar.xlsx"],
        "table_name": ["oxygen", "oxygen", "lots", "beers"],
        "came_on": [ago(15), ago(8), ago(40), ago(40)],
    }
)


@pytest.mark.parametrize(
    ("name", "days", "expected"),
    [
        ("oxygen", 8, []),
        ("oxygen", 7, [("line 2/Oxygen-w21.csv", ago(8), 1)]),
        ("oxygen-w2?.csv", 7, [("line 2/Oxygen-w21.csv", ago(8), 1)]),
        ("oxygen-w20*", 7, [("oxygen-w20.csv", ago(15), 8)]),
        ("line 2/*", 3, [("line 2/Oxygen-w21.csv", ago(8), 5)]),
        ("lots", 30, [("cellar.xlsx", ago(40), 10)]),
        ("fridge*", 7, [(None, None, 0)]),
    ],
)
def test_a_file_is_late_when_its_days_have_passed(
    name: str, days: int, expected: list[tuple[object, ...]]
) -> None:
    """By table, by file name or by path, capitals aside; the newest that came counts."""
    late = late_files(CAME, {name: days}, TODAY)
    assert late.select("last_file", "last_on", "days_late").rows() == expected


def test_what_never_came_stands_first_and_then_the_longest_late() -> None:
    """Whatever order the configuration has."""
    late = late_files(CAME, {"oxygen": 1, "fridge*": 7, "cellar*": 1}, TODAY)
    assert late["expected"].to_list() == ["fridge*", "cellar*", "oxygen"]
