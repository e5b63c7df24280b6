"""What a difference in package oxygen is worth in days, on a simulated brewery."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl
import pytest

from analysis.dating.assessment import Assessment, Assumptions, assess
from analysis.dating.dose_lives import dose_lives_of
from analysis.dating.oxygen_days import change_days, days_gained
from analysis.dating.policy import Policy
from analysis.kinetics.history import Stages
from analysis.staling.predict import cells
from data_demo.simulate import simulate

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analysis.dating.dose_lives import DoseLives, Place

SHARE = 0.25
AT_20 = Stages((float("inf"),), (20.0,))


@pytest.fixture(scope="module")
def assessed() -> Assessment:
    """A small brewery, assessed."""
    return assess(simulate(3, lots_per_cell=3), Policy(), Assumptions())


@pytest.fixture(scope="module")
def lives(assessed: Assessment) -> Mapping[Place, DoseLives]:
    """How long its lots live."""
    return dose_lives_of(assessed.frames["dose_lives"])


@pytest.mark.parametrize(("format_", "ingress"), [("can 440", 0.0), ("bottle 500", 1.0)])
def test_the_days_are_those_of_the_model_at_both_doses(
    assessed: Assessment,
    lives: Mapping[Place, DoseLives],
    format_: str,
    ingress: float,
) -> None:
    """At 20 °C: its age after less its age before, each predicted by itself (identity)."""
    model = assessed.model
    assert model is not None
    found = days_gained(lives["pale lager", format_, SHARE], AT_20, 60.0, 90.0, ingress)
    before, after = (
        cells(model, "pale lager", [format_], np.log([dose / 60.0])).age_at(SHARE)
        for dose in (60.0 + 90.0 * ingress, 90.0 + 90.0 * ingress)
    )
    np.testing.assert_allclose(found, after - before, rtol=1e-6, atol=1e-6)


def test_no_more_oxygen_costs_no_days_and_less_gains_some(
    lives: Mapping[Place, DoseLives],
) -> None:
    """Exactly none at the same amount, and some for half; one amount for each draw may be given."""
    lager = lives["pale lager", "can 440", SHARE]
    half = days_gained(lager, AT_20, 80.0, 40.0, 0.0)
    assert not days_gained(lager, AT_20, 80.0, 80.0, 1.0).any()
    assert np.median(half) > 0.0
    each = days_gained(lager, AT_20, 80.0, np.full(len(half), 40.0), 0.0)
    np.testing.assert_array_equal(each, half)


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
    return change_days(
        assessed.model,
        assessed.cells,
        assessed.routes,
        assessed.frames["dose_lives"],
        Policy(),
        changes,
    )


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
