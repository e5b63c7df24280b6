"""Routes, loggers and the grid of what moves a date, from files to what the pages may read."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from pipelines.config.routes import Routes
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from pipelines.config import Config

LOG = "logger,read_at,temp_c,route,lot,place\n" + "".join(
    f"T1,2026-01-{day:02} {hour:02}:00,{26 if hour == 12 else 24},shop,001,\n"
    f"T2,2026-01-{day:02} {hour:02}:00,32.5,,,cupboard\n"
    for day in range(8, 18)
    for hour in (0, 12)
)
SAMPLES = (
    "sample,lot,storage_temp_c,placed_on,pulled_on,place\n"
    "S1,001,20,2026-01-06,2026-02-05,shelf\nS2,001,30,2026-01-06,2026-02-05,cupboard\n"
)


@pytest.fixture
def logged(brewery: Config) -> Config:
    """A brewery with a logger beside a lot and one in its warm cupboard."""
    (brewery.paths.inbox / "temperature_log.csv").write_text(LOG, encoding="utf-8")
    (brewery.paths.inbox / "samples.csv").write_text(SAMPLES, encoding="utf-8")
    ingest(brewery, [].append)
    return brewery


def rows(config: Config, query: str) -> list[dict[str, Any]]:
    """Return what the pages may read."""
    with open_store(config.paths.database, read_only=True) as connection:
        found: list[dict[str, Any]] = connection.sql(query).pl().to_dicts()
    return found


def test_a_logger_with_a_lot_is_set_on_its_days(logged: Config) -> None:
    """From the lot's third day on, warmer than planned: life ends sooner, the date stays."""
    fit(logged, [].append)
    (row,) = rows(logged, "FROM published.route_lives WHERE variant = 'logged'")
    assert (row["logger"], row["placed_by"], row["from_day"]) == ("T1", "lot", 3.0)
    assert row["logged_days"] == pytest.approx(10.0)
    assert 25.0 < row["mean_kinetic_c"] < 25.2
    assert row["planned_kinetic_c"] == pytest.approx(19.0)
    assert row["difference_days"] < 0.0
    (date,) = rows(logged, "SELECT best_before_days FROM published.dates")
    assert row["planned_best_before_days"] == date["best_before_days"]


def test_a_cupboard_that_is_off_is_told_with_its_samples(logged: Config) -> None:
    """Two and a half degrees above what one sample says."""
    fit(logged, [].append)
    (row,) = rows(logged, "FROM published.place_temperatures")
    assert (row["place"], row["storage_temp_c"], row["samples"]) == ("cupboard", 30.0, 1)
    assert row["off"]
    assert row["worth_days"] > 115.0


def test_a_summer_is_what_the_configuration_says(logged: Config) -> None:
    """Four degrees where nothing is said; none at 0; no date moves for it."""
    summers, dates = [], []
    for warmer in (4.0, 0.0):
        fit(replace(logged, routes=Routes(summer_warmer_c=warmer)), [].append)
        found = rows(logged, "FROM published.route_lives WHERE variant = 'summer'")
        summers.append([row["last_temp_c"] for row in found])
        dates.append(rows(logged, "SELECT best_before_days FROM published.dates"))
    assert summers == [[23.0], []]
    assert dates[0] == dates[1]


def test_the_grid_holds_the_run_s_own_date_and_is_the_newest_run_s_alone(logged: Config) -> None:
    """One point is the date as it is; an older run's points go."""
    for _ in range(2):
        fit(logged, [].append)
    (own,) = rows(logged, "FROM published.moves WHERE in_force")
    (date,) = rows(logged, "FROM published.dates")
    for name in ("shelf_life_days", "shelf_life_days_lower", "best_before_days"):
        assert own[name] == date[name]
    assert rows(logged, "SELECT DISTINCT run_id FROM results.moves") == [{"run_id": 2}]
