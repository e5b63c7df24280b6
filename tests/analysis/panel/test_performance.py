"""The panel's result tables: every attribute and assessor has a row, whatever there is to say."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import polars as pl
import pytest

from analysis.panel.mixed import fit_panel
from analysis.panel.performance import score_performance
from tests.analysis.panel.scores import cells, long

LAST = dt.date(2026, 10, 20)


@dataclass(frozen=True)
class Scale:
    """A scale as a site declares it."""

    low: float = 0.0
    high: float = 10.0


def scored(data: pl.DataFrame, attribute: str = "stale") -> pl.DataFrame:
    """Give simulated glasses sessions of five samples, a week apart, and an attribute."""
    session = pl.col("sample") // 5
    return data.select(
        session=pl.format("P{}", session),
        tasted_on=pl.lit(LAST) - pl.duration(weeks=session),
        assessor=pl.format("name {}", "assessor"),
        sample=pl.format("S{}", "sample"),
        attribute=pl.lit(attribute),
        score="score",
    )


def test_the_panel_is_that_of_the_fit() -> None:
    """Identity: counts and spreads are those of the fit to the same cells."""
    data = long(1)
    fit = fit_panel(cells(data))
    (row,) = score_performance(scored(data), {"stale": Scale()})["panel_attributes"].rows(
        named=True
    )
    assert (row["glasses"], row["samples"], row["assessors"]) == (len(data), 40, 8)
    assert row["repeats"] == int(fit.cells.repeats.sum())
    assert (row["first_tasted"], row["last_tasted"]) == (LAST - dt.timedelta(weeks=7), LAST)
    assert row["repeat_sd"] == pytest.approx(fit.spreads[0].sd)
    assert row["disagreement_sd_upper"] == pytest.approx(fit.spreads[2].upper)
    assert row["f"] == pytest.approx(fit.samples.f)
    assert row["present"] == 6
    assert row["reason"] is None


def test_one_sample_in_two_sessions_is_two_samples() -> None:
    """What the day does is no disagreement: names are taken together with their session."""
    data = scored(long(1)).with_columns(sample=pl.lit("S1"))
    assert score_performance(data, {"stale": Scale()})["panel_attributes"]["samples"][0] == 8


def test_the_last_year_counts() -> None:
    """What was tasted over a year before the last tasting is left out."""
    data = scored(long(1))
    old = data.with_columns(
        tasted_on=pl.lit(LAST - dt.timedelta(days=366)), session=pl.lit("old"), score=99.0
    )
    one, both = (
        score_performance(frame, {"stale": Scale()}) for frame in (data, pl.concat([old, data]))
    )
    for name, frame in one.items():
        assert frame.equals(both[name]), name


def test_attributes_without_scores_have_a_row_that_says_so() -> None:
    """Declared and never scored, or hardly: a reason each, and no other rows."""
    few = scored(long(1), "papery").head(4)
    frames = score_performance(
        pl.concat([scored(long(2)), few]),
        {"stale": Scale(), "papery": Scale(), "honey": Scale(0.0, 5.0)},
    )
    reasons = dict(frames["panel_attributes"].select("attribute", "reason").rows())
    assert reasons["stale"] is None
    assert reasons["honey"] == "nobody has scored it"
    assert reasons["papery"].startswith("4 glasses of")
    assert frames["assessor_scores"]["attribute"].unique().to_list() == ["stale"]
    assert frames["assessor_scores"].height == 8
    assert frames["panel_resolution"]["assessors"].to_list() == list(range(2, 17))
    assert frames["panel_anova"].height == 4


def test_without_attributes_or_tastings_all_tables_are_empty() -> None:
    """A brewery that scores nothing has tables without rows, of the same columns."""
    nothing = score_performance(scored(long(1)).clear(), {})
    something = score_performance(scored(long(1)), {"stale": Scale()})
    for name, frame in nothing.items():
        assert frame.is_empty()
        assert frame.schema == something[name].schema


def test_without_repeats_the_disagreement_is_not_told_apart() -> None:
    """Null where one glass a sample cannot say; nothing to gain from a second glass is claimed."""
    frames = score_performance(scored(long(1, twice=0.0)), {"stale": Scale()})
    row = frames["panel_attributes"].row(0, named=True)
    assert row["repeated"] is False
    assert row["disagreement_sd"] is None
    assert row["repeat_sd"] is not None
    assert frames["panel_resolution"]["told_apart_twice"].null_count() == 15
    assert frames["assessor_scores"]["repeatability"].null_count() == 8
    assert frames["assessor_scores"]["agreement"].null_count() == 0


def test_rows_in_another_order_give_the_same_digits() -> None:
    """Determinism: shuffled scores, equal tables."""
    data = scored(long(1))
    one = score_performance(data, {"stale": Scale()})
    other = score_performance(data.sample(fraction=1.0, shuffle=True, seed=1), {"stale": Scale()})
    for name, frame in one.items():
        assert frame.equals(other[name]), name
