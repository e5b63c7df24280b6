"""The grid of what moves the date: exact at its points, and the run's own where nothing moves."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest

from analysis.dating.moves import AS_IT_IS, CROWN, SCAVENGING, moves
from analysis.dating.policy import Policy
from analysis.dating.tables import dates_table
from analysis.kinetics.history import day_at
from analysis.staling.predict import cells as cells_of_style

if TYPE_CHECKING:
    from tests.analysis.dating.conftest import Fitted

KEY = ["style", "format", "route"]
NUMBERS = ["shelf_life_days", "shelf_life_days_lower", "best_before_days"]
POLICY = Policy(confidence=0.85, formats={"keg 30": {"confidence": 0.95, "margin_days": 10}})


@pytest.fixture(scope="module")
def grid(fitted: Fitted) -> pl.DataFrame:
    """The grid of a simulated brewery."""
    return grid_of(fitted)


def grid_of(fitted: Fitted) -> pl.DataFrame:
    """Return the grid under a policy with a confidence of its own."""
    return moves(
        fitted.model,
        fitted.cells,
        fitted.routes,
        fitted.model.evidence,
        POLICY,
        fitted.tables["limits"],
    )


def test_where_nothing_moves_it_is_the_date_of_the_run(fitted: Fitted, grid: pl.DataFrame) -> None:
    """To the last digit, in every cell on its main route, with the cell's own rule."""
    dates = dates_table(
        fitted.cells, fitted.routes, fitted.model.evidence, POLICY, fitted.tables["limits"]
    ).filter(pl.col("shelf_life_days").is_not_null())
    own = grid.filter("in_force").sort(KEY)
    assert own.select(KEY).equals(own.select(KEY).unique(maintain_order=True))
    assert own.height == dates.select("style", "format").n_unique()
    assert set(own["route"]) == {"ambient", "on-trade keg"}
    columns = [*KEY, *NUMBERS, "binding_cause"]
    assert own.select(columns).equals(
        dates.join(own.select(KEY), on=KEY, how="semi").sort(KEY).select(columns)
    )


def test_another_dose_is_what_the_fit_itself_says(fitted: Fitted, grid: pl.DataFrame) -> None:
    """All lots' doses scaled and predicted anew: the same days, not an interpolation."""
    cell = next(c for c in fitted.cells if (c.style, c.format) == ("pale ale", "bottle 500"))
    assert cell.filled is not None
    route = next(r for r in fitted.routes if r.name == "ambient")
    total = cell.filled["total_oxygen_ppb"].to_numpy()
    ingress = float(cell.filled["ingress_ppb_per_day"][0])
    middle = float(np.median(total))
    dose = (total + 90.0 * ingress) * (middle - 20.0 + 90.0 * 0.2) / (middle + 90.0 * ingress)
    drawn = cells_of_style(
        fitted.model, "pale ale", ["bottle 500"] * len(dose), np.log(dose / 60.0)
    )
    days = day_at(route.stages, drawn.age_at(0.5), drawn.activation_energy)
    row = grid.filter(
        pl.col("style") == "pale ale",
        pl.col("format") == "bottle 500",
        pl.col("oxygen_change_ppb") == -20.0,
        pl.col("closure") == SCAVENGING,
        pl.col("warmer_c") == 0.0,
        pl.col("share_rejected") == 0.5,
        pl.col("confidence") == 0.85,
    ).row(0, named=True)
    expected = np.quantile(days, (0.5, 1.0 - 0.85), method="inverted_cdf")
    assert (row["shelf_life_days"], row["shelf_life_days_lower"]) == pytest.approx(
        tuple(expected), rel=1e-6
    )
    assert row["oxygen_ppb"] == pytest.approx(middle - 20.0)


def test_each_slider_moves_the_life_its_own_way(fitted: Fitted) -> None:
    """Colder and a larger share never shorten it; surer bounds and more oxygen never lengthen."""
    found = grid_of(fitted.with_exponents(np.abs))
    every = [*KEY, "oxygen_change_ppb", "closure", "warmer_c", "share_rejected", "confidence"]
    for name, falls in (
        ("oxygen_change_ppb", True),
        ("warmer_c", True),
        ("share_rejected", False),
        ("confidence", True),
    ):
        others = [column for column in every if column != name]
        for days in ("shelf_life_days_lower", "best_before_days"):
            steps = found.sort(name).select(pl.col(days).diff().over(others))[days].drop_nulls()
            assert steps.len()
            assert (steps <= 1e-9).all() if falls else (steps >= -1e-9).all()


def test_closures_are_told_with_what_is_assumed(grid: pl.DataFrame) -> None:
    """A bottle may have another closure; a can's seam lets in nothing and has none."""
    by_format = {format_: set(part["closure"]) for (format_,), part in grid.group_by("format")}
    assert by_format["can 440"] == {AS_IT_IS}
    assert by_format["bottle 500"] == {AS_IT_IS, SCAVENGING, CROWN}
    liner = grid.filter(pl.col("closure") == SCAVENGING)
    assert liner["ingress_ppb_per_day"].unique().to_list() == [0.2]


def test_the_grid_stays_in_the_world(grid: pl.DataFrame) -> None:
    """No temperature below freezing, no filling below 10 ppb, no point twice."""
    assert grid["temp_c"].min() >= 0.0
    assert grid["oxygen_ppb"].min() >= 10.0
    point = [*KEY, "oxygen_change_ppb", "closure", "warmer_c", "share_rejected", "confidence"]
    assert not grid.select(point).is_duplicated().any()
    assert grid["confidence"].unique().sort().to_list() == [0.8, 0.85, 0.9, 0.95]
