"""A fit that is recorded: what it keeps, what it says, and what it refuses."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl
import pytest

from pipelines.config import load_config
from pipelines.errors import StoreError
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.config import Config


def test_a_run_keeps_what_it_was_made_of(brewery: Config) -> None:
    """Code version, settings, seed, data and verdict of the run stand beside its dates."""
    ingest(brewery, [].append)
    summary = fit(brewery, [].append)
    with open_store(brewery.paths.database, read_only=True) as connection:
        (run,) = connection.sql("SELECT * FROM results.runs").pl().rows(named=True)
        ((dates,),) = connection.sql("SELECT count(*) FROM results.dates").fetchall()
    assert run["run_id"] == summary.run_id == 1
    assert run["outcome"] == summary.outcome
    assert run["load_id"] == 1
    assert run["question"] in run["settings"]
    assert run["code_version"].count("+") == 1
    assert dates > 0


def test_one_of_a_thing_is_said_as_one(brewery: Config) -> None:
    """A first beer has one lot, not 1 lots."""
    ingest(brewery, [].append)
    said: list[str] = []
    fit(brewery, said.append)
    assert said == ["run 1: 2 verdicts on 1 lot, 1 date"]


def test_a_name_that_no_beer_has_is_said(brewery: Config) -> None:
    """A misspelt style's own cap would hold for nobody, and nobody would notice."""
    ingest(brewery, [].append)
    misspelt = replace(brewery.policy, styles={"pale al": {"cap_days": 90}})
    said: list[str] = []
    fit(replace(brewery, policy=misspelt), said.append)
    assert any("pale al under policy.styles" in line for line in said)


def test_without_a_store_there_is_nothing_to_fit(brewery: Config) -> None:
    """The sentence says what to run first."""
    with pytest.raises(StoreError, match="run stalecurve load first"):
        fit(brewery, [].append)


def test_data_without_an_answer_are_a_run_with_a_reason(brewery: Config) -> None:
    """Nothing rejected yet: the run is recorded, the reason said, no date given."""
    tastings = brewery.paths.inbox / "tastings.csv"
    text = tastings.read_text(encoding="utf-8").replace("reject", "accept")
    tastings.write_text(text, encoding="utf-8")
    ingest(brewery, [].append)
    said: list[str] = []
    summary = fit(brewery, said.append)
    assert summary.outcome == "not estimated"
    assert any("not estimated, because nothing was rejected yet" in line for line in said)


def test_without_an_estimate_formats_are_still_told_of(brewery: Config) -> None:
    """What closures let in needs no days; a gap and what moves the date do."""
    tastings = brewery.paths.inbox / "tastings.csv"
    text = tastings.read_text(encoding="utf-8").replace("reject", "accept")
    tastings.write_text(text, encoding="utf-8")
    ingest(brewery, [].append)
    fit(brewery, [].append)
    with open_store(brewery.paths.database, read_only=True) as connection:
        counts = [
            connection.sql(f"SELECT count(*) FROM published.{view}").fetchall()[0][0]
            for view in ("ingress", "format_gaps", "levers")
        ]
    assert counts[0] > 0
    assert counts[1:] == [0, 0]


def test_what_moves_the_date_is_kept_with_a_run(brewery: Config) -> None:
    """Each format and route with an estimate has the days that 20 ppb less would gain."""
    ingest(brewery, [].append)
    fit(brewery, [].append)
    with open_store(brewery.paths.database, read_only=True) as connection:
        levers = connection.sql("FROM published.levers").pl()
        dates = connection.sql("FROM published.dates WHERE shelf_life_days IS NOT NULL").pl()
    less = levers.filter(pl.col("lever") == "20 ppb less")
    assert less.height == dates.height > 0
    assert set(less["source"]) == {"prior"}


def test_readings_in_doubt_are_compared_and_left_out_where_asked(
    make_brewery: Callable[..., Path], tmp_path: Path
) -> None:
    """With and without stand side by side either way; the dates are those that the switch names."""
    brewery = load_config(make_brewery(tmp_path / "brewery", "Fen Brewery", 3))
    (brewery.paths.inbox / "meter_checks.csv").write_text(
        "meter,checked_at,standard,expected,observed,unit,tolerance\n"
        "M2,2027-12-31 23:00,reference,50,60,ppb,5\n",
        encoding="utf-8",
    )
    ingest(brewery, [].append)
    for leave_out, kept in ((False, "days_with"), (True, "days_without")):
        meters = replace(brewery.meters, leave_out_suspect=leave_out)
        fit(replace(brewery, meters=meters), [].append)
        with open_store(brewery.paths.database, read_only=True) as connection:
            both = connection.sql(
                "SELECT e.*, d.shelf_life_days FROM published.doubt_effects AS e "
                "JOIN published.dates AS d USING (style, format, route) "
                "WHERE days_with IS NOT NULL"
            ).pl()
            ((doubt,),) = connection.sql(
                "SELECT sum(readings) FROM published.meter_doubts"
            ).fetchall()
            ((of_second,),) = connection.sql(
                "SELECT count(*) FROM core.oxygen WHERE meter = 'M2'"
            ).fetchall()
        assert 0 < doubt <= of_second
        assert both[kept].to_list() == both["shelf_life_days"].to_list()
        assert both["days_with"].to_list() != both["days_without"].to_list()
