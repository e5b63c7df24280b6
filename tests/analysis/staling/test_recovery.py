"""Simulated breweries, whose truth is known, against what the analysis says of them."""

from __future__ import annotations

import polars as pl
import pytest

from analysis.dating.assessment import Assumptions, assess
from analysis.dating.policy import Policy
from data_demo.simulate import simulate
from data_demo.truth import true_shelf_life

BREWERIES = 20


@pytest.fixture(scope="module")
def recovered() -> pl.DataFrame:
    """Shelf life with its bounds beside the truth, one row a style, format, route and brewery."""
    tables = []
    for seed in range(BREWERIES):
        dates = assess(simulate(seed), Policy(), Assumptions()).frames["dates"]
        tables.append(dates.filter(pl.col("shelf_life_days").is_not_null()))
    every = pl.concat(tables)
    cells = every.select("style", "format", "route").unique().sort(pl.all())
    truth = [true_shelf_life(*cell, 0.25) for cell in cells.iter_rows()]
    return every.join(cells.with_columns(truth=pl.Series(truth)), on=["style", "format", "route"])


def test_the_lower_bound_holds(recovered: pl.DataFrame) -> None:
    """The truth lies at or above the 90 % lower bound in at least 85 % of the cells."""
    held = recovered.select((pl.col("truth") >= pl.col("shelf_life_days_lower")).mean()).item()
    assert held >= 0.85


def test_the_bound_is_not_bought_by_uselessness(recovered: pl.DataFrame) -> None:
    """On the shelf the typical estimate is a tenth off at most, its bound above two thirds."""
    ambient = recovered.filter(pl.col("route") == "ambient")
    middle, lower = (
        ambient.select((pl.col(name) / pl.col("truth")).median()).item()
        for name in ("shelf_life_days", "shelf_life_days_lower")
    )
    assert middle == pytest.approx(1.0, abs=0.1)
    assert lower > 0.67
