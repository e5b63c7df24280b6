"""What each assessor does to the dates."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest

from analysis.dating.assessor_days import FEWEST_VERDICTS, assessor_days
from analysis.dating.policy import Policy
from analysis.errors import NotConverged
from analysis.staling.design import designed
from analysis.staling.evidence import AGED
from analysis.staling.law_fit import fit_law

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tests.analysis.dating.conftest import Fitted

LEFT_OUT = 3


@pytest.fixture(scope="module")
def days(fitted: Fitted) -> pl.DataFrame:
    """Its dates without each assessor."""
    return assessor_days(fitted.model, fitted.tables, fitted.routes, Policy())


def test_every_assessor_and_every_date_is_there(fitted: Fitted, days: pl.DataFrame) -> None:
    """A row for each assessor, cell and route, in that order."""
    assert days["assessor"].unique().sort().to_list() == list(fitted.model.layout.assessors)
    keys = days.select("assessor", "style", "format", "route")
    assert keys.equals(keys.unique().sort(keys.columns))
    assert days.group_by("assessor").len()["len"].n_unique() == 1


def test_a_panel_with_a_guesser_is_dated_without_each_of_the_others(days: pl.DataFrame) -> None:
    """The guesser's answers fit two stories about as well, and no fit fails over that."""
    assert days["days_without"].null_count() == days["days_with"].null_count()


def test_without_one_is_a_fit_to_the_others(fitted: Fitted) -> None:
    """A place that only the prior fills changes neither spreads nor effects.

    Identity: the fit with the assessor's place kept equals one that never knew of the assessor.
    """
    model = fitted.model
    name = model.layout.assessors[LEFT_OUT]
    series = model.evidence.series.filter(pl.col("assessor") != name)
    kept = fit_law(series, model.layout, model.law)
    others, layout = designed(replace(model.evidence, series=series))
    never = fit_law(others, layout, model.law)
    np.testing.assert_allclose(kept.log_spreads, never.log_spreads, atol=2e-3)
    styles = slice(0, len(layout.styles))
    np.testing.assert_allclose(kept.mode.effects[styles], never.mode.effects[styles], atol=2e-3)


def test_the_strict_shorten_and_the_lenient_lengthen(fitted: Fitted, days: pl.DataFrame) -> None:
    """Whoever rejects early brings the dates forward: without them the beer lives longer."""
    model = fitted.model
    effects = model.best.mode.effects[model.layout.assessor]
    moved = (
        days.with_columns(change=(pl.col("days_without") / pl.col("days_with")).log())
        .group_by("assessor")
        .agg(pl.col("change").median())
        .sort("assessor")["change"]
        .to_numpy()
    )
    assert moved[effects.argmin()] > 0.0 > moved[effects.argmax()]
    assert np.corrcoef(effects, moved)[0, 1] < -0.5


def test_who_has_hardly_tasted_is_not_tried(fitted: Fitted) -> None:
    """With fewer than twenty verdicts on aged beer there is nothing to take away."""
    model = fitted.model
    evidence = model.evidence
    few = model.layout.assessors[0]
    mine = evidence.servings.filter(pl.col("assessor") == few)
    kept = mine.filter(AGED).head(FEWEST_VERDICTS - 1)
    servings = pl.concat([evidence.servings.filter(pl.col("assessor") != few), kept])
    model = replace(model, evidence=replace(evidence, servings=servings))
    found = assessor_days(model, fitted.tables, fitted.routes, Policy())
    assert few not in found["assessor"]
    assert found["assessor"].n_unique() == len(model.layout.assessors) - 1


def test_without_the_only_assessor_there_is_nobody(fitted: Fitted) -> None:
    """A panel of one has nothing to compare, and the table stays empty."""
    evidence = fitted.model.evidence
    only = evidence.servings.filter(pl.col("assessor") == fitted.model.layout.assessors[0])
    model = replace(fitted.model, evidence=replace(evidence, servings=only))
    assert assessor_days(model, fitted.tables, fitted.routes, Policy()).is_empty()


def test_others_that_do_not_settle_are_no_date(fitted: Fitted) -> None:
    """Where the rest of the panel gives no fit, the row stands without a number."""

    def unsettled(_: object, parts: Iterable[object]) -> list[NotConverged]:
        return [NotConverged("no") for _ in parts]

    found = assessor_days(fitted.model, fitted.tables, fitted.routes, Policy(), unsettled)
    assert found["days_without"].null_count() == found["difference_days"].null_count()
    assert found["days_without"].null_count() == found.height > 0
    assert found["days_with"].null_count() < found.height
