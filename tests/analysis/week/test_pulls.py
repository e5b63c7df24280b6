"""Which samples to pull."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.week.pulls import Tolerance, due_pulls
from analysis.week.tastings import due_tastings

PLACED = date(2026, 1, 1)
LOTS = pl.DataFrame(
    {"lot": ["1", "1"], "format": ["can", "keg"], "beer": "Fen Pale", "style": "pale ale"}
)
SAMPLES = {
    "sample": pl.String,
    "lot": pl.String,
    "format": pl.String,
    "storage_temp_c": pl.Float64,
    "placed_on": pl.Date,
    "pulled_on": pl.Date,
    "place": pl.String,
    "role": pl.String,
}


def samples(*rows: tuple[str, float, int], **changed: object) -> pl.DataFrame:
    """Give samples of lot 1 in cans placed on New Year's Day: number, °C, day of the pull."""
    return pl.DataFrame(
        [
            {
                "sample": sample,
                "lot": "1",
                "format": "can",
                "storage_temp_c": temperature,
                "placed_on": PLACED,
                "pulled_on": PLACED + timedelta(days=day),
                "place": "cupboard",
                "role": None,
            }
            | changed
            for sample, temperature, day in rows
        ],
        schema=SAMPLES,
    )


def plan(*pulls: tuple[float, int]) -> pl.DataFrame:
    """Give the plan of the style: °C and days in storage."""
    schema = {"style": pl.String, "plan_temp_c": pl.Float64, "age_days": pl.Int32}
    rows = [("pale ale", temperature, age) for temperature, age in pulls]
    return pl.DataFrame(rows, schema=schema, orient="row")


def tasted(*names: str) -> pl.DataFrame:
    """Give the samples of which a glass was tasted."""
    return pl.DataFrame({"sample": names}, schema={"sample": pl.String})


AT_20 = plan((20, 14), (20, 28), (20, 56))


def listed(
    known: pl.DataFrame, planned: pl.DataFrame, day: int
) -> tuple[list[tuple[object, ...]], int]:
    """Give what is listed on a day: sample, °C, days in storage, days late, status; and missed."""
    due = due_pulls(known, tasted(), LOTS, planned, Tolerance(), PLACED + timedelta(days=day))
    columns = ("sample", "storage_temp_c", "age_days", "days_late", "status")
    return due.rows.select(columns).rows(), due.missed


@pytest.mark.parametrize(
    ("day", "expected", "missed"),
    [
        (21, [], 0),  # the pull of day 28 is a week and a day away
        (22, [(None, 20.0, 28, 0, "due")], 0),
        (28, [(None, 20.0, 28, 0, "due")], 0),
        (29, [(None, 20.0, 28, 1, "overdue")], 0),
        (50, [(None, 20.0, 28, 22, "overdue"), (None, 20.0, 56, 0, "due")], 0),
        (88, [(None, 20.0, 28, 60, "overdue"), (None, 20.0, 56, 32, "overdue")], 0),
        (89, [(None, 20.0, 56, 33, "overdue")], 1),
        (117, [], 2),
    ],
)
def test_a_planned_pull_is_due_overdue_and_missed(
    day: int, expected: list[tuple[object, ...]], missed: int
) -> None:
    """Due from six days before its day, overdue after it, counted alone after sixty days more."""
    assert listed(samples(("S1", 20, 14)), AT_20, day) == (expected, missed)


@pytest.mark.parametrize(
    ("pulled", "missed"), [(24, 1), (25, 1), (26, 0), (28, 0), (30, 0), (31, 1)]
)
def test_a_pull_near_its_day_answers_it(pulled: int, missed: int) -> None:
    """Within two days or a tenth of its days in storage (2.8 of 28), the wider of the two."""
    known = samples(("S1", 20, pulled), ("S2", 20, 56))
    assert listed(known, plan((20, 28), (20, 56)), 60) == ([], missed)


def test_a_sample_answers_one_planned_age_alone() -> None:
    """Pulled at day 4, it is no pull of day 2 or 6, though both are within two days."""
    known = samples(("S1", 38, 4))
    assert listed(known, plan((38, 2), (38, 4), (38, 6)), 5) == ([(None, 38.0, 6, 0, "due")], 1)


def test_a_planned_age_is_missed_once_a_later_pull_was_made() -> None:
    """Nobody can pull beer of 28 days any more when that of 56 days has been pulled."""
    known = samples(("S1", 20, 14), ("S2", 20, 56))
    assert listed(known, AT_20, 57) == ([], 1)


def test_a_finished_series_asks_for_nothing() -> None:
    """All planned pulls were made."""
    known = samples(("S1", 20, 14), ("S2", 20, 28), ("S3", 20, 56))
    assert listed(known, AT_20, 400) == ([], 0)


def test_only_storages_that_were_begun_have_a_plan() -> None:
    """No sample stands at 30 °C, so none is to be pulled from there; 19.5 °C is the 20 °C room."""
    known = samples(("S1", 19.5, 14))
    planned = plan((20, 14), (20, 28), (30, 28))
    assert listed(known, planned, 28) == ([(None, 20.0, 28, 0, "due")], 0)


def test_other_roles_have_no_plan() -> None:
    """A fresh control in the cold room begins no ageing series."""
    known = samples(("F1", 4, 2), role="fresh")
    assert listed(known, plan((4, 30)), 30) == ([], 0)


def test_a_sample_whose_pull_lies_ahead_is_a_planned_pull() -> None:
    """It is listed in its week and on its day under its number, and answers the plan's age."""
    known = samples(("S1", 20, 14), ("S2", 20, 29))
    planned = plan((20, 14), (20, 28))
    assert listed(known, planned, 22) == ([], 0)
    assert listed(known, planned, 23) == ([("S2", 20.0, 29, 0, "due")], 0)
    assert listed(known, planned, 29) == ([("S2", 20.0, 29, 0, "due")], 0)
    assert listed(known, planned, 30) == ([], 0)


def test_a_pull_of_today_that_was_tasted_is_done() -> None:
    """A row for today is on today's list until a glass of it was tasted."""
    due = due_pulls(
        samples(("S2", 20, 29)),
        tasted("S2"),
        LOTS,
        plan(),
        Tolerance(),
        PLACED + timedelta(days=29),
    )
    assert due.rows.is_empty()


def test_a_pull_says_where_and_of_what() -> None:
    """Lot, format, beer, style and place stand with it."""
    due = due_pulls(
        samples(("S1", 20, 14)), tasted(), LOTS, AT_20, Tolerance(), PLACED + timedelta(days=28)
    )
    assert due.rows.row(0, named=True) == {
        "lot": "1",
        "format": "can",
        "beer": "Fen Pale",
        "style": "pale ale",
        "storage_temp_c": 20.0,
        "place": "cupboard",
        "age_days": 28,
        "sample": None,
        "due_on": date(2026, 1, 29),
        "days_late": 0,
        "status": "due",
    }


DAYS = st.integers(0, 150)
KNOWN = st.lists(
    st.tuples(st.sampled_from([4.0, 20.0, 20.5]), DAYS, st.sampled_from(["can", "keg"]), DAYS),
    max_size=12,
)
PLANS = st.lists(st.tuples(st.sampled_from([4.0, 20.0]), DAYS), max_size=8, unique=True)


def brewery(rows: list[tuple[float, int, str, int]]) -> pl.DataFrame:
    """Give samples with number, °C, day of the pull, format, and days placed before that."""
    made = [
        samples((f"S{i}", temperature, max(day, before)), format=package).with_columns(
            placed_on=pl.lit(PLACED + timedelta(days=min(day, before)))
        )
        for i, (temperature, day, package, before) in enumerate(rows)
    ]
    return pl.concat([samples(), *made])


@given(rows=KNOWN, planned=PLANS, day=st.integers(0, 260), drunk=st.sets(st.integers(0, 11)))
def test_nothing_is_due_twice_and_nothing_tasted_is_due(
    rows: list[tuple[float, int, str, int]],
    planned: list[tuple[float, int]],
    day: int,
    drunk: set[int],
) -> None:
    """Over both lists, whatever was placed, planned and tasted."""
    known, today = brewery(rows), PLACED + timedelta(days=day)
    done = tasted(*(f"S{i}" for i in sorted(drunk) if i < len(rows)))
    pulls = due_pulls(known, done, LOTS, plan(*planned), Tolerance(), today).rows
    tastings = due_tastings(
        known, done, LOTS, within_days=14, missed_after_days=60, today=today
    ).rows
    by_plan = pulls.filter(pl.col("sample").is_null())
    assert not by_plan.select("lot", "format", "storage_temp_c", "age_days").is_duplicated().any()
    named = [*pulls["sample"].drop_nulls(), *tastings["sample"]]
    assert len(named) == len(set(named))
    assert not set(named) & set(done["sample"])


@given(rows=KNOWN, planned=PLANS, day=st.integers(0, 200), later=st.integers(1, 60))
def test_what_is_overdue_is_never_due_again(
    rows: list[tuple[float, int, str, int]],
    planned: list[tuple[float, int]],
    day: int,
    later: int,
) -> None:
    """While nothing new comes in, time alone makes an overdue item missed at most."""
    known = brewery(rows)
    key = ("lot", "format", "storage_temp_c", "age_days", "sample")

    def by_status(after: int, status: str) -> set[tuple[object, ...]]:
        today = PLACED + timedelta(days=after)
        due = due_pulls(known, tasted(), LOTS, plan(*planned), Tolerance(), today)
        return set(due.rows.filter(pl.col("status") == status).select(key).rows())

    overdue = by_status(day, "overdue")
    assert not overdue & by_status(day + later, "due")
    assert by_status(day + 1, "overdue") >= overdue & by_status(day + later, "overdue")
