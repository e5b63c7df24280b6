"""The panel's scores from the files to the views."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from pipelines.config import load_config
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.config import Config

SCALES = """
[attributes.stale]
low = 0
high = 10
worse = "high"
cut_off = 4

[attributes.papery]
low = 0
high = 10
worse = "high"
cut_off = 4
"""


def test_scores_are_weighed_with_each_run_and_published_by_code(
    make_brewery: Callable[..., Path], tmp_path: Path
) -> None:
    """What is scored has its estimate, what nobody scored its reason; names stay in the results."""
    file = make_brewery(tmp_path / "brewery", "Fen Brewery", 3)
    with file.open("a", encoding="utf-8") as handle:
        handle.write(SCALES)
    brewery = load_config(file)
    tastings = brewery.paths.inbox / "tastings.parquet"
    tasted = pl.read_parquet(tastings)
    scores = np.random.default_rng(1).normal(4.0, 1.0, tasted.height)
    tasted.with_columns(stale=pl.Series(scores)).write_parquet(tastings)
    ingest(brewery, [].append)
    fit(brewery, [].append)
    with open_store(brewery.paths.database) as connection:
        connection.execute("DELETE FROM results.assessor_codes")
        connection.execute("INSERT INTO results.assessor_codes VALUES ('A01', 'T09')")
        attributes = connection.sql("FROM published.panel_attributes").pl()
        codes = connection.sql("SELECT DISTINCT code FROM published.assessor_scores").fetchall()
        ((names,),) = connection.sql(
            "SELECT count(DISTINCT assessor) FROM results.assessor_scores"
        ).fetchall()
    papery, stale = attributes.rows(named=True)
    assert papery["reason"] == "nobody has scored it"
    assert stale["reason"] is None
    assert stale["told_apart_lower"] < stale["told_apart"] < stale["told_apart_upper"]
    assert codes == [("T09",)]
    assert names >= 5


def test_a_brewery_that_scores_nothing_has_no_rows(brewery: Config) -> None:
    """Verdicts alone: the run stands, the tables are empty."""
    ingest(brewery, [].append)
    fit(brewery, [].append)
    with open_store(brewery.paths.database, read_only=True) as connection:
        for view in ("panel_attributes", "panel_resolution", "panel_anova", "assessor_scores"):
            assert connection.sql(f"FROM published.{view}").fetchall() == [], view
