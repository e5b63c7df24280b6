"""Which pulled samples wait to be tasted."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import polars as pl
import pytest

from analysis.week.tastings import due_tastings

if TYPE_CHECKING:
    from analysis.week.due import Due

PULLED = date(2026, 3, 2)
LOTS = pl.DataFrame({"lot": ["1"], "format": ["can"], "beer": ["Fen Pale"], "style": ["pale ale"]})


def waiting(day: int, *names: str, role: str | None = "aged") -> Due:
    """Give what waits so many days after the pull, given the samples that were tasted."""
    known = pl.DataFrame(
        {
            "sample": ["S1"],
            "lot": ["1"],
            "format": ["can"],
            "storage_temp_c": [20.0],
            "placed_on": [date(2026, 2, 2)],
            "pulled_on": [PULLED],
            "place": ["room"],
            "role": [role],
        },
        schema_overrides={"role": pl.String},
    )
    done = pl.DataFrame({"sample": names}, schema={"sample": pl.String})
    return due_tastings(
        known,
        done,
        LOTS,
        within_days=14,
        missed_after_days=60,
        today=PULLED + timedelta(days=day),
    )


@pytest.mark.parametrize(
    ("day", "expected", "missed"),
    [
        (0, [], 0),  # the pull itself is on today's list
        (1, [("later", 0)], 0),
        (7, [("later", 0)], 0),
        (8, [("due", 0)], 0),
        (14, [("due", 0)], 0),
        (15, [("overdue", 1)], 0),
        (74, [("overdue", 60)], 0),
        (75, [], 1),
    ],
)
def test_a_sample_waits_until_its_last_day_and_is_given_up_at_last(
    day: int, expected: list[tuple[str, int]], missed: int
) -> None:
    """Fourteen days from the pull to the tasting, overdue after them, counted after sixty more."""
    due = waiting(day)
    assert (due.rows.select("status", "days_late").rows(), due.missed) == (expected, missed)


def test_a_tasted_sample_waits_no_more() -> None:
    """One glass is enough, whenever it was."""
    assert waiting(30, "S1").rows.is_empty()


@pytest.mark.parametrize(
    ("role", "waits"),
    [(None, True), ("fresh", True), ("reference", False), ("returned", False), ("release", False)],
)
def test_what_is_poured_blind_waits(role: str | None, *, waits: bool) -> None:
    """Aged beer, and the fresh control; other samples are not for this panel."""
    assert waiting(5, role=role).rows.height == waits


def test_it_says_how_long_the_beer_was_where() -> None:
    """Days in storage, temperature and place."""
    row = waiting(5).rows.row(0, named=True)
    assert (row["age_days"], row["storage_temp_c"], row["place"]) == (28, 20.0, "room")
    assert (row["pulled_on"], row["due_on"]) == (PULLED, date(2026, 3, 16))
