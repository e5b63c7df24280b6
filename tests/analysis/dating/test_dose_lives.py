"""The life of a single lot by its oxygen dose, from three numbers a draw."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest

from analysis.dating.assessment import Assessment, Assumptions, assess
from analysis.dating.dose_lives import DoseLives, dose_lives, dose_lives_of
from analysis.dating.policy import Policy
from analysis.dating.routes import Route, routes_of
from analysis.kinetics.history import Stages, day_at
from analysis.staling.predict import cells
from data_demo.simulate import simulate

if TYPE_CHECKING:
    from collections.abc import Mapping

SHELF = Stages((float("inf"),), (20.0,))


@pytest.fixture(scope="module")
def brewery() -> Mapping[str, pl.DataFrame]:
    """Tables of one simulated brewery."""
    return simulate(3, lots_per_cell=1, assessors=6, packages=(3, 4))


@pytest.fixture(scope="module")
def assessed(brewery: Mapping[str, pl.DataFrame]) -> Assessment:
    """Its assessment under the default policy."""
    return assess(brewery, Policy(), Assumptions())


@pytest.fixture(scope="module")
def routes(brewery: Mapping[str, pl.DataFrame]) -> tuple[Route, ...]:
    """Its routes."""
    return routes_of(brewery["routes"], brewery["route_stages"])


@pytest.mark.parametrize("dose", [10.0, 60.0, 87.3, 640.0, 9_000.0])
def test_the_days_of_any_dose_are_those_of_the_fit(
    assessed: Assessment, routes: tuple[Route, ...], dose: float
) -> None:
    """Identity: on every route, within a millionth of a day of predicting that lot by itself."""
    assert assessed.model is not None
    lives = dose_lives_of(assessed.frames["dose_lives"])
    assert lives
    for style, format_, share in list(lives)[::4]:
        alone = cells(assessed.model, style, [format_], np.log([dose / 60.0]))
        age = alone.age_at(share)
        for route in routes:
            days = day_at(route.stages, age, alone.activation_energy)
            kept = lives[style, format_, share]
            np.testing.assert_allclose(kept.days(route.stages, dose), days, rtol=1e-6, atol=1e-6)
            middle, lower = kept.life(route.stages, dose, 0.9)
            assert lower < middle
            assert lower == pytest.approx(np.quantile(days, 0.1, method="inverted_cdf"), rel=1e-6)


def test_more_oxygen_never_lengthens_a_life(assessed: Assessment) -> None:
    """At the median and at the bound, wherever the exponent's draws are above 0."""
    for lives in dose_lives_of(assessed.frames["dose_lives"]).values():
        found = [lives.life(SHELF, dose, 0.9) for dose in (20.0, 60.0, 180.0, 540.0)]
        assert [middle for middle, _ in found] == sorted((m for m, _ in found), reverse=True)


def test_a_life_can_be_checked_by_hand() -> None:
    """At 20 °C, 100 days at 60 ppb and b = 0.5: 50 days at four times the dose."""
    lives = DoseLives(np.full(9, 100.0), np.full(9, 0.5), np.full(9, 75.0))
    assert lives.life(SHELF, 240.0, 0.9) == pytest.approx((50.0, 50.0))


def test_every_cell_with_an_estimate_is_kept_and_no_other(assessed: Assessment) -> None:
    """One row a draw for each style and format that has a shelf life."""
    dated = assessed.frames["dates"].filter(pl.col("shelf_life_days").is_not_null())
    kept = assessed.frames["dose_lives"]
    assert set(kept.select("style", "format").iter_rows()) == set(
        dated.select("style", "format").iter_rows()
    )
    assert kept.group_by("style", "format").len()["len"].n_unique() == 1


def test_without_a_fit_there_is_nothing_to_keep() -> None:
    """The table has its columns and no row."""
    assert dose_lives(None, (), (0.25,)).is_empty()
