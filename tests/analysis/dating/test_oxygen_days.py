"""What a difference in package oxygen is worth in days, on a simulated brewery."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl
import pytest

from analysis.dating.assessment import Assessment, Assumptions, assess
from analysis.dating.oxygen_days import change_days, days_gained
from analysis.dating.policy import Policy
from analysis.dating.routes import Route
from analysis.errors import InputError
from analysis.kinetics.history import Stages
from analysis.staling.predict import cells
from data_demo.simulate import simulate

if TYPE_CHECKING:
    from analysis.dating.shelf_life import Cell
    from analysis.staling.model import StalingModel

SHARE = 0.25
AT_20 = Route("at 20", frozenset(), 1.0, Stages((float("inf"),), (20.0,)))


@pytest.fixture(scope="module")
def assessed() -> Assessment:
    """A small brewery, assessed."""
    return assess(simulate(3, lots_per_cell=3), Policy(), Assumptions())


@pytest.fixture(scope="module")
def model(assessed: Assessment) -> StalingModel:
    """Its fit."""
    assert assessed.model is not None
    return assessed.model


@pytest.fixture(scope="module")
def lager(assessed: Assessment) -> Cell:
    """Its canned lager."""
    return next(
        cell for cell in assessed.cells if (cell.style, cell.format) == ("pale lager", "can 440")
    )


@pytest.mark.parametrize(("format_", "let_in"), [("can 440", 0.0), ("bottle 500", 90.0)])
def test_the_days_are_those_of_the_model_at_both_doses(
    assessed: Assessment, model: StalingModel, format_: str, let_in: float
) -> None:
    """At 20 °C: its age after less its age before, each predicted by itself (identity)."""
    cell = next(c for c in assessed.cells if (c.style, c.format) == ("pale lager", format_))
    found = days_gained(model, cell, AT_20, SHARE, before_ppb=60.0, after_ppb=90.0)
    before, after = (
        cells(model, "pale lager", [format_], np.log([(held + let_in) / 60.0])).age_at(SHARE)
        for held in (60.0, 90.0)
    )
    np.testing.assert_allclose(found, after - before, rtol=1e-6, atol=1e-6)


def test_no_more_oxygen_costs_no_days_and_less_gains_some(model: StalingModel, lager: Cell) -> None:
    """Exactly none at the same amount, and some for half; one amount for each draw may be given."""

    def gained(after: float | np.ndarray) -> np.ndarray:
        return days_gained(model, lager, AT_20, SHARE, before_ppb=80.0, after_ppb=after)

    half = gained(40.0)
    assert not gained(80.0).any()
    assert np.median(half) > 0.0
    np.testing.assert_array_equal(gained(np.full(len(half), 40.0)), half)


def test_a_cell_without_an_estimate_is_refused(model: StalingModel, lager: Cell) -> None:
    """By name."""
    unknown = replace(lager, drawn=None)
    with pytest.raises(InputError, match="pale lager in can 440 has no estimate"):
        days_gained(model, unknown, AT_20, SHARE, before_ppb=60.0, after_ppb=90.0)


def changed(**columns: Any) -> pl.DataFrame:  # noqa: ANN401 - any value
    """A change of canning that raised 60 ppb to 78, by ten lots on either side."""
    row: dict[str, Any] = {
        "changed_on": dt.date(2026, 3, 2),
        "what": "new seamer",
        "beer": None,
        "line": "canning",
        "format": "can 440",
        "lots_before": 10,
        "lots_after": 10,
        "before_ppb": 60.0,
        "ratio": 1.3,
        "standard_error": 0.10,
    }
    text = dict.fromkeys(("what", "beer", "line", "format"), pl.String)
    return pl.DataFrame([row | columns], schema_overrides={**text, "ratio": pl.Float64})


def tabulated(assessed: Assessment, changes: pl.DataFrame) -> pl.DataFrame:
    """Tabulate what changes are worth."""
    assert assessed.model is not None
    return change_days(assessed.model, assessed.cells, assessed.routes, Policy(), changes)


def test_a_change_is_worth_days_on_each_styles_main_route(assessed: Assessment) -> None:
    """Every style that the line cans, on the route that most cans go; more oxygen, fewer days."""
    found = tabulated(assessed, changed())
    canned = {cell.style for cell in assessed.cells if cell.format == "can 440"}
    assert set(found["style"]) == canned
    assert found["route"].unique().to_list() == ["ambient"]
    assert (found["days_gained_lower"] < found["days_gained"]).all()
    assert (found["days_gained"] < found["days_gained_upper"]).all()
    assert (found["days_gained"] < 0.0).all()


def test_what_is_not_known_of_the_ratio_widens_the_days(assessed: Assessment) -> None:
    """The same change known better has narrower bounds."""
    width = pl.col("days_gained_upper") - pl.col("days_gained_lower")
    sure, unsure = (
        tabulated(assessed, changed(standard_error=error)).select(width).to_series()
        for error in (0.01, 0.3)
    )
    assert (unsure > sure).all()


def test_only_what_was_compared_and_what_the_change_names_has_days(assessed: Assessment) -> None:
    """No ratio, another line, or another beer: no row; one beer: its style alone."""
    assert tabulated(assessed, changed(ratio=None)).is_empty()
    assert tabulated(assessed, changed(line="bottling")).is_empty()
    assert tabulated(assessed, changed(line=None)).is_empty()
    one = tabulated(assessed, changed(beer="Lager No. 3"))
    assert one.select("beer", "style").rows() == [("Lager No. 3", "pale lager")]
