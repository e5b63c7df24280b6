"""What temperature loggers say: trips, days, the hottest week, and cupboards."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.kinetics.arrhenius import acceleration
from analysis.kinetics.history import Stages, equivalent_age
from analysis.kinetics.logged import hottest_week, places, trips

START = datetime(2026, 7, 14, 6)  # noqa: DTZ001 - clocks are local


def log(hours: list[float], temps: list[float], logger: str = "T1", **where: str) -> pl.DataFrame:
    """Return readings of a logger so many hours after the start."""
    return pl.DataFrame(
        {
            "logger": logger,
            "read_at": [START + timedelta(hours=hour) for hour in hours],
            "temp_c": temps,
            **where,
        }
    )


def test_a_reading_holds_until_the_next_and_the_last_as_long_as_usual() -> None:
    """An hour each, two where one is missing; the trip ends an hour after its last reading."""
    (trip,) = trips(log([0, 1, 2, 4], [20.0, 21.0, 22.0, 23.0]))
    assert trip.days * 24 == pytest.approx([1.0, 1.0, 2.0, 1.0])
    assert trip.begins_at == START
    assert trip.ends_at == START + timedelta(hours=5)
    assert trip.length == pytest.approx(5 / 24)


def test_a_long_gap_parts_two_trips_and_loggers_are_apart() -> None:
    """Nobody knows what was between; a reading alone tells no length."""
    one = log([0, 1, 2, 100, 101], [20.0] * 5)
    made = trips(pl.concat([one, log([0, 12], [4.0, 5.0], "T2"), log([3], [9.0], "T3")]))
    assert [(t.logger, len(t.temp_c)) for t in made] == [("T1", 3), ("T1", 2), ("T2", 2)]
    assert made[1].begins_at == START + timedelta(hours=100)
    assert [round(t.length * 24, 6) for t in made] == [3.0, 2.0, 24.0]


def test_weekly_readings_are_one_trip() -> None:
    """A cupboard that is read once a week has no gap in a week that was left out."""
    (trip,) = trips(log([0, 168, 504, 672], [30.0] * 4))
    assert trip.length == pytest.approx(35.0)


@settings(deadline=None, max_examples=25)
@given(st.lists(st.floats(-2.0, 45.0), min_size=2, max_size=80), st.floats(45.0, 110.0))
def test_days_age_as_their_readings_do(temps: list[float], energy: float) -> None:
    """Each day's mean kinetic temperature is worth its hours, so that all are worth the trip."""
    (trip,) = trips(log([float(h) for h in range(len(temps))], temps))
    kept = trip.daily(energy)
    assert len(kept.days) == -(-len(temps) // 24)
    assert equivalent_age(kept, trip.length + 1.0, energy) == pytest.approx(
        float(trip.days @ acceleration(trip.temp_c, energy)), rel=1e-9
    )
    assert trip.mean_kinetic(energy) <= max(temps) + 1e-6


def test_the_hottest_week_is_the_seven_days_that_age_most() -> None:
    """A fortnight with a warm week in its midst; a trip of two days is its own week."""
    temps = [18.0] * 4 + [29.0] * 7 + [18.0] * 3
    begin, week = hottest_week(Stages((1.0,) * 14, tuple(temps)), 70.0)
    assert begin == 4.0
    assert week == Stages((1.0,) * 7, (29.0,) * 7)
    short = Stages((1.0, 1.0), (20.0, 30.0))
    assert hottest_week(short, 70.0) == (0.0, short)
    last = Stages((1.0,) * 9, (10.0, 10.0, *[20.0] * 7))
    assert hottest_week(last, 70.0)[0] == 2.0


def test_a_cupboard_is_named_where_it_is_off_by_more_than_a_degree() -> None:
    """32 °C where samples say 30: 100 days were worth more; a place of no sample has no plan."""
    hours = [float(h) for h in range(0, 240, 24)]
    every = pl.concat(
        [
            log(hours, [32.0] * 10, place="warm"),
            log(hours, [20.4] * 10, "T2", place="shelf"),
            log(hours, [4.0] * 10, "T3", place="yard"),
        ]
    )
    samples = pl.DataFrame(
        {"place": ["warm", "warm", "shelf", None], "storage_temp_c": [30.0, 30.0, 20.0, 8.0]}
    )
    found = {row["place"]: row for row in places(every, samples, 70.0).rows(named=True)}
    assert {place: row["off"] for place, row in found.items()} == {
        "warm": True,
        "shelf": False,
        "yard": False,
    }
    assert found["warm"]["samples"] == 2
    assert found["warm"]["mean_kinetic_c"] == pytest.approx(32.0)
    assert found["warm"]["worth_days"] == pytest.approx(100 * float(acceleration(32.0, 70.0, 30.0)))
    assert found["yard"]["storage_temp_c"] is None
    assert found["yard"]["worth_days"] is None
    assert np.isclose(found["shelf"]["mean_c"], 20.4)
