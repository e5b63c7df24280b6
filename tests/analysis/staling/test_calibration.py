"""Twenty simulated breweries: do the bounds hold, and are they worth having?

`make calibration` runs two hundred under five settings; what it gave stands in DEVELOPERS.md.
"""

from __future__ import annotations

import polars as pl
import pytest

from tests.calibration import Setting, calibration, recover_all

BREWERIES = 20


@pytest.fixture(scope="module")
def found() -> pl.DataFrame:
    """Coverage, error and width by seen or unseen cell, route and share; 8 % wrong verdicts."""
    return calibration(recover_all(BREWERIES, Setting(0.08, "lognormal")))


def test_lower_bounds_hold(found: pl.DataFrame) -> None:
    """86 to 97 % of 90 % bounds, within two standard errors clustered by brewery."""
    slack = 2.0 * pl.col("lower_se").clip(0.03)
    low, high = pl.col("lower_right") + slack >= 0.86, pl.col("lower_right") - slack <= 0.97
    assert found.select((low & high).all()).item()


def test_upper_bounds_hold(found: pl.DataFrame) -> None:
    """At least 80 % of them, within two standard errors."""
    slack = 2.0 * pl.col("upper_se").clip(0.03)
    assert found.select((pl.col("upper_right") + slack >= 0.80).all()).item()


def test_bounds_are_worth_having(found: pl.DataFrame) -> None:
    """On the shelf the middle is 10 % off where tasted, 15 % where not; bounds give up little.

    The bars are those of two hundred breweries; twenty may miss them by a twentieth.
    """
    shelf = found.filter((pl.col("route") == "ambient") & (pl.col("share") == 0.25))
    error = dict(shelf.select("seen", "median_error").iter_rows())
    assert error[True] <= 0.15
    assert error[False] <= 0.20
    kept = dict(shelf.select("seen", "lower_over_truth").iter_rows())
    assert kept[True] >= 0.70
    assert kept[False] >= 0.60
