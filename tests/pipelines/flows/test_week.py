"""What is due, from files to the store."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pytest

from pipelines.config import load_config
from pipelines.errors import StoreError
from pipelines.flows.ingest import ingest
from pipelines.flows.publish import publish
from pipelines.flows.week import write_week
from pipelines.store.connect import open_store
from pipelines.store.week import replace_week

if TYPE_CHECKING:
    from pipelines.config import Config

WEEK = """
[pulls.plan]
"20" = [30, 60]
[pulls.styles."pale ale"]
"30" = [30, 45]
[expected]
tastings = 400
"fridge*" = 7
"""
# One pulled and never tasted, one to be pulled, one forgotten; a meter that was never checked.
MORE = {
    "samples more.csv": (
        "sample,lot,storage_temp_c,placed_on,pulled_on,place\n"
        "S3,001,20,2026-01-06,2026-02-20,room\nS4,001,4,2026-01-06,2026-03-09,cold room\n"
        "S5,001,4,2026-01-06,2027-06-01,cold room\n"
    ),
    "oxygen.csv": "lot,measured_at,quantity,value,unit,meter\n001,2026-03-02,total,55,ppb,M1\n",
    "meter_checks.csv": (
        "meter,checked_at,standard,expected,observed,unit\nM2,2026-02-20,zero,0,0,ppb\n"
    ),
}


@pytest.fixture
def week(brewery: Config) -> Config:
    """The small brewery with a plan, and with something to be due in early March."""
    for name, text in MORE.items():
        (brewery.paths.inbox / name).write_text(text, encoding="utf-8")
    file = brewery.folder / "stalecurve.toml"
    file.write_text(file.read_text(encoding="utf-8") + WEEK, encoding="utf-8")
    ingest(brewery, [].append)
    return load_config(file)


def lists(config: Config, clock: date) -> dict[str, list[tuple[object, ...]]]:
    """Write the week as of a day and give what the pages may read of it."""
    shown = {
        "this_week": "today, written_on, pulls_missed, tastings_missed, meters_at_rest",
        "week_pulls": "storage_temp_c, place, age_days, sample, due_on, days_late",
        "week_tastings": "sample, due_on, days_late",
        "week_meter_checks": "meter, due_on, status",
        "week_retained": "names, ended_on, printed, days_past",
        "week_late_files": "expected, last_on",
    }
    with open_store(config.paths.database) as connection:
        write_week(connection, config, clock)
        return {
            view: connection.sql(f"SELECT {columns} FROM published.{view}").fetchall()
            for view, columns in shown.items()
        }


def test_every_list_is_worked_out_from_the_files(week: Config) -> None:
    """Pulls by the plan and by samples written down, tastings, meters, files."""
    day = date(2026, 3, 4)
    assert lists(week, day) == {
        "this_week": [(day, day, 0, 0, 0)],
        "week_pulls": [
            (30.0, None, 45, None, date(2026, 2, 20), 12),
            (20.0, "room", 60, None, date(2026, 3, 7), 0),
            (4.0, "cold room", 62, "S4", date(2026, 3, 9), 0),
        ],
        "week_tastings": [("S3", date(2026, 3, 6), 0)],
        "week_meter_checks": [("M1", None, "never"), ("M2", date(2026, 2, 27), "overdue")],
        "week_retained": [],
        "week_late_files": [("fridge*", None)],
    }


def test_the_lists_of_another_day_take_the_place_of_the_last_ones(week: Config) -> None:
    """Nothing is kept of a week that is over, and writing twice is writing once."""
    lists(week, date(2026, 3, 4))
    later = lists(week, date(2027, 3, 4))
    assert later == lists(week, date(2027, 3, 4))
    assert later["this_week"] == [(date(2027, 3, 4), date(2027, 3, 4), 2, 2, 2)]
    assert later["week_pulls"] == []
    # No date is printed, so the style's longest counts: 365 days from 5 January 2026.
    assert later["week_retained"] == [("S5", date(2027, 1, 5), False, 58)]


def test_a_day_of_the_configuration_is_taken_for_today(week: Config) -> None:
    """The lists are of that day, and the page can say on which day they were made."""
    made = lists(replace(week, as_of=date(2026, 3, 4)), date(2026, 11, 25))
    assert made["this_week"] == [(date(2026, 3, 4), date(2026, 11, 25), 0, 0, 0)]
    assert len(made["week_pulls"]) == 3


def test_a_brewery_of_no_lots_and_samples_has_a_week_too(brewery: Config) -> None:
    """Nothing is due where nothing is known, and that is no error."""
    for path in brewery.paths.inbox.iterdir():
        if path.name != "beers.csv":
            path.unlink()
    ingest(brewery, [].append)
    made = lists(brewery, date(2026, 3, 4))
    assert made.pop("this_week") == [(date(2026, 3, 4), date(2026, 3, 4), 0, 0, 0)]
    assert not any(made.values())


def test_publishing_writes_the_week(week: Config) -> None:
    """The page stands among the others, with what is due."""
    publish(replace(week, as_of=date(2026, 3, 4)), [].append)
    page = (week.paths.pages / "this-week.html").read_text(encoding="utf-8")
    assert "Two\N{NO-BREAK SPACE}pulls are due this week, one is overdue" in page
    assert (week.paths.pages / "data" / "week-pulls.csv").is_file()


def test_lists_of_another_shape_are_refused_and_nothing_is_changed(week: Config) -> None:
    """A column too few is a fault of the code, told before the old lists are gone."""
    before = lists(week, date(2026, 3, 4))
    with open_store(week.paths.database) as connection:
        frame = connection.sql("SELECT lot FROM this_week.pulls").pl()
        summary = connection.sql("FROM this_week.summary").pl()
        with pytest.raises(StoreError, match="pulls lacks age_days, beer"):
            replace_week(connection, {"summary": summary, "pulls": frame})
        kept = connection.sql("SELECT count(*) FROM published.week_pulls").fetchall()
    assert kept == [(len(before["week_pulls"]),)]
