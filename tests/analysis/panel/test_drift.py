"""Who does not follow the rest, and who drifts, in simulated panels whose truth is known.

Twelve assessors over a year of sessions as the demo draws them: A11 drifts by 0.45 in logs, A12
answers 60 % of the glasses without tasting. With 200 such panels (seeds 1000 to 1199): A12 is found
in 99.5 % and nobody sound in any; A11 `drifts` in 48 %, and either drifts or may drift in 89 %; of
the sound, 1 % of the panels have one who `drifts`, and 5 % of the assessors either do or may.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import polars as pl
import pytest
from scipy import stats

from analysis.panel.agreement import agreement, holm
from analysis.panel.assessors import assessor_report
from analysis.panel.drift import drift
from analysis.panel.glasses import glasses
from analysis.panel.measure import VERDICT, Measured, measured
from data_demo import truth
from data_demo.simulate import simulate
from pipelines.readers.site import Attribute

SCALES = {
    "stale": Attribute(0.0, 10.0, "high", 4.0),
    "hop_aroma": Attribute(0.0, 10.0, "low", 4.0),
}
PANELS = 16
DRIFTER, GUESSER = "A11", "A12"
TRUE_DRIFT = math.expm1(-truth.DRIFT_PER_YEAR)


@cache
def poured(seed: int) -> pl.DataFrame:
    """Give the glasses of a simulated panel."""
    tables = simulate(seed)
    return glasses(*(tables[name] for name in ("tastings", "samples", "lots", "beers")))


@pytest.fixture(scope="module")
def panels() -> pl.DataFrame:
    """What is said of everybody in some simulated panels, `panel` telling these apart."""
    said = []
    for seed in range(1000, 1000 + PANELS):
        report = assessor_report(poured(seed), simulate(seed)["assessors"], SCALES)
        said.append(report["assessors"].with_columns(panel=pl.lit(seed)))
    return pl.concat(said)


def sound() -> pl.Expr:
    """Tell assessors who neither drift nor guess."""
    return ~pl.col("assessor").is_in([DRIFTER, GUESSER])


def measure_of(frame: pl.DataFrame, attributes: dict[str, Attribute]) -> Measured:
    """Lay glasses out, which must be enough."""
    found = measured(frame, attributes)
    assert found is not None
    return found


def test_who_guesses_is_found_and_nobody_else(panels: pl.DataFrame) -> None:
    """The guesser in nine panels of ten or more; the drifter follows, and so do all sound."""
    lost = panels.filter(~pl.col("follows"))
    assert lost.filter(assessor=GUESSER).height >= 0.9 * PANELS
    assert lost.filter(pl.col("assessor") != GUESSER).is_empty()
    assert panels.filter(~pl.col("follows"))["drift"].null_count() == lost.height


def test_who_drifts_is_found_and_sound_assessors_hardly_ever(panels: pl.DataFrame) -> None:
    """By either wording in three panels of four or more; of the sound one in ten at most."""
    moved = panels.filter(pl.col("drift").is_in(["drifts", "may drift"]))
    assert moved.filter(assessor=DRIFTER).height >= 0.75 * PANELS
    assert moved.filter(sound()).height <= 0.10 * 10 * PANELS
    certain = panels.filter(sound(), drift="drifts")
    assert certain["panel"].n_unique() <= 0.10 * PANELS


def test_the_interval_of_a_drift_holds_the_truth_nine_times_in_ten(panels: pl.DataFrame) -> None:
    """Nothing for the sound, e to the 0.45 for the drifter; within a binomial's bounds."""
    true = pl.when(assessor=DRIFTER).then(TRUE_DRIFT).otherwise(0.0)
    held = panels.filter(pl.col("assessor") != GUESSER).select(
        (pl.col("drift_a_year_lower") <= true) & (pl.col("drift_a_year_upper") >= true)
    )
    low, high = stats.binom.interval(0.998, held.height, 0.90) / np.float64(held.height)
    assert low <= held.to_series().mean() <= high


def test_a_steady_threshold_is_neither_drift_nor_guessing() -> None:
    """Scores half as high again from the first day to the last change no finding."""
    stale = pl.col("scores").str.json_path_match("$.stale").cast(pl.Float64)
    half_again = pl.concat_str(pl.lit('{"stale": '), (1.5 * stale).clip(0.0, 10.0), pl.lit("}"))
    strict = poured(1000).with_columns(
        scores=pl.when(assessor="A01").then(half_again).otherwise("scores")
    )
    scale = {"stale": SCALES["stale"]}
    laid = measure_of(strict, scale)
    assert agreement(laid).row(0, named=True)["follows"]
    before, _ = drift(measure_of(poured(1000), scale), [GUESSER])
    after, _ = drift(laid, [GUESSER])
    assert before["drift"][0] == after["drift"][0] == "none shows"
    assert after["drift_a_year"][0] == pytest.approx(before["drift_a_year"][0], abs=0.08)


def test_quarters_lie_about_the_own_usual_level_and_move_as_the_slope_does() -> None:
    """What the drifter is in the first quarters is milder than in the last ones."""
    laid = measure_of(poured(1001), SCALES)
    slopes, quarters = drift(laid, [GUESSER])
    own = quarters.filter(assessor=DRIFTER).sort("quarter")
    assert slopes.row(by_predicate=pl.col("assessor") == DRIFTER, named=True)["drift_a_year"] > 0
    assert own["shift"][0] < 0 < own["shift"][-2]
    assert own.select((pl.col("shift") > pl.col("shift_lower")).all()).item()
    assert quarters["glasses"].min() >= 10


def test_verdicts_serve_where_no_attribute_is_scored() -> None:
    """A loud drift shows in verdicts alone; a wholly random taster does not follow."""
    rng = np.random.default_rng(3)
    laid = measure_of(poured(1002), {})
    assert laid.measure == VERDICT
    late = (laid.years > 0) & (laid.who == 0)
    value = np.where(late, 1.0, laid.value)
    value[laid.who == 1] = rng.uniform(size=(laid.who == 1).sum()) < 0.3
    loud = replace(laid, value=value)
    follows = agreement(loud)
    assert follows["follows"].to_list()[1] is False
    slopes, quarters = drift(loud, follows.filter(~pl.col("follows"))["assessor"].to_list())
    assert slopes["drift"].to_list()[0] == "drifts"
    assert slopes["drift"].to_list().count("drifts") == 1
    assert quarters.filter(assessor="A01")["shift"].is_between(-1, 1).all()


def test_a_panel_that_is_too_small_or_too_new_is_told_nothing() -> None:
    """Three assessors, or a month of sessions: counts stay, findings are empty."""
    few = poured(1000).filter(pl.col("assessor") < "A04")
    report = assessor_report(few, simulate(1000)["assessors"], SCALES)
    assert report["assessors"]["glasses"].min() > 500
    assert report["assessors"]["follows"].null_count() == 3
    assert report["assessor_quarters"].is_empty()
    month = poured(1000).filter(pl.col("tasted_on") < pl.date(2026, 2, 20))
    laid = measure_of(month, SCALES)
    slopes, _ = drift(laid, [])
    assert slopes["drift"].null_count() == len(laid.names)


def test_nobody_and_fresh_beer_alone_are_answered() -> None:
    """No tastings, or none that could tell one beer from another, raise nothing."""
    table = simulate(1000)["assessors"]
    empty = assessor_report(poured(1000).head(0), table, SCALES)
    assert all(frame.is_empty() for frame in empty.values())
    fresh = poured(1000).filter(role="fresh").with_columns(rejected=pl.lit(value=False))
    found = assessor_report(fresh, table, {})["assessors"]
    assert found["agreement"].null_count() == found.height
    assert found["drift"].null_count() == found.height
    same = fresh.with_columns(scores=pl.lit('{"stale": 1.0}'))
    assert assessor_report(same, table, SCALES)["assessors"]["follows"].null_count() == 12


def test_the_order_of_the_rows_changes_no_digit() -> None:
    """Glasses that come in another order give the same frames."""
    table = simulate(1003)["assessors"]
    given = poured(1003)
    shuffled = given.sample(fraction=1.0, shuffle=True, seed=1)
    one, other = (assessor_report(frame, table, SCALES) for frame in (given, shuffled))
    for name, frame in one.items():
        assert frame.equals(other[name]), name


def test_of_several_chances_holm_lets_those_stand_that_hold_together() -> None:
    """0.01 and 0.02 of three at 5 %: 0.01 is below 0.0167, 0.02 below 0.025; 0.2 is not."""
    assert holm(np.array([0.2, 0.01, 0.02]), 0.05).tolist() == [False, True, True]
    assert holm(np.array([0.02, 0.03, 0.04]), 0.05).tolist() == [False] * 3
