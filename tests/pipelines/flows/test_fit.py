"""A fit that is recorded: what it keeps, what it says, and what it refuses."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from pipelines.config import StylePolicy
from pipelines.errors import StoreError
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.store.connect import open_store

if TYPE_CHECKING:
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
    misspelt = replace(brewery.policy, styles={"pale al": StylePolicy(cap_days=90)})
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
