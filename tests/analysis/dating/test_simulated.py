"""Simulated verdicts follow the truth that they were drawn from."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import polars as pl
import pytest
from scipy import stats

from analysis.dating.simulated import simulate_study
from analysis.dating.study import Arm, Study
from analysis.staling.design import ASSESSOR, BATCH, INTERACTION, LOT, Layout
from analysis.staling.model import LawDraws
from analysis.staling.verdicts import error_share
from analysis.survival.laws import LOGNORMAL

PEOPLE = ("A", "B", "C", "D")
LAYOUT = Layout(("ale",), ("can",), PEOPLE)
STUDY = Study(
    style="ale",
    format="can",
    arms=(Arm(20.0, (60, 120)),),
    lots=2,
    assessors=PEOPLE[:3],
    attendance=0.8,
    begins=date(2026, 12, 1),
    before_temp_c=20.0,
    volume_ml=330.0,
)
STUDIES = 400
SCALE, LOT_SD, BATCH_SD = 0.35, 0.15, 0.10


@pytest.fixture(scope="module")
def truth() -> LawDraws:
    """The same truth in every draw: a middle of 120 days, assessors alike."""
    terms = LAYOUT.terms(LOGNORMAL)
    params = np.array([term.prior_mean for term in terms])
    params[LAYOUT.log_scale] = np.log(SCALE)
    spreads = np.zeros(4)
    spreads[[INTERACTION, LOT, BATCH, ASSESSOR]] = 0.1, LOT_SD, BATCH_SD, 0.3
    return LawDraws(LOGNORMAL, np.tile(params, (STUDIES, 1)), np.tile(spreads, (STUDIES, 1)))


def glasses(study: Study, truth: LawDraws, number: int) -> pl.DataFrame:
    """One row a glass."""
    series = simulate_study(study, LAYOUT, truth, np.zeros(1), number)
    return series.explode("stored_days", "rejected")


def test_the_share_rejected_is_that_of_the_truth(truth: LawDraws) -> None:
    """Of beer 61 and 121 days old, and of the fresh control, wrong answers included."""
    drawn = pl.concat([glasses(STUDY, truth, number) for number in range(STUDIES)])
    params = truth.params[0]
    alarm, miss = (
        float(error_share(params[part][:1])[0]) for part in (LAYOUT.false_alarm, LAYOUT.miss)
    )
    spread = np.sqrt(SCALE**2 + LOT_SD**2 + BATCH_SD**2)
    for aged, day, stale in (
        (True, 60.0, stats.norm.cdf(np.log(61 / 120) / spread)),
        (True, 120.0, stats.norm.cdf(np.log(121 / 120) / spread)),
        (False, 1.0, 0.0),
    ):
        found = drawn.filter((pl.col("aged") == aged) & (pl.col("stored_days") == day))
        share = found["rejected"].mean()
        expected = stale * (1.0 - miss) + (1.0 - stale) * alarm
        assert share == pytest.approx(expected, abs=4.0 * 0.6 / found.height**0.5)


def test_who_comes_tastes_everything_that_day(truth: LawDraws) -> None:
    """The samples of a day and the fresh control; the attendance is as asked."""
    came = [glasses(STUDY, truth, number) for number in range(STUDIES)]
    for drawn in came[:50]:
        by_day = drawn.filter("aged").group_by("stored_days", "assessor").len()
        assert set(by_day["len"]) <= {STUDY.lots}
    seats = STUDIES * len(STUDY.days) * len(STUDY.assessors)
    taken = sum(drawn.filter("aged").height for drawn in came) / STUDY.lots / seats
    assert taken == pytest.approx(STUDY.attendance, abs=4.0 * 0.4 / seats**0.5)


def test_a_larger_study_has_the_smaller_one_in_it(truth: LawDraws) -> None:
    """More lots, tasters, pulls or storages leave every other glass as it was."""
    small = glasses(STUDY, truth, 7).filter("aged")
    for larger in (
        replace(STUDY, lots=3),
        replace(STUDY, assessors=PEOPLE),
        replace(STUDY, arms=(Arm(20.0, (60, 90, 120)),)),
        replace(STUDY, arms=(Arm(4.0, (30,)), *STUDY.arms)),
    ):
        drawn = glasses(larger, truth, 7).filter("aged")
        assert drawn.height > small.height
        assert drawn.join(small, on=small.columns, how="semi").height == small.height


def test_the_same_number_gives_the_same_verdicts(truth: LawDraws) -> None:
    """And another number others."""
    first, again, other = (glasses(STUDY, truth, number) for number in (3, 3, 4))
    assert first.equals(again)
    assert not first.equals(other)
