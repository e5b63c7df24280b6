"""What would decide a complaint."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import polars as pl
import pytest

from analysis.cases.accounts import PRIORS
from analysis.cases.next_steps import answered, next_steps
from analysis.cases.odds import ASSUMED, weigh
from analysis.cases.posterior import posterior
from analysis.cases.priors import prior_odds
from analysis.cases.questions import ask_for_readings, ask_how_kept, ask_the_day, taste
from analysis.cases.sums import Sums, sums_of
from tests.analysis.cases.example import OXYGEN, complaint
from tests.analysis.cases.simulated_complaints import CUPBOARD, USUAL

TASTING = taste("taste 8 retained", 95.0, 8, CUPBOARD)
HOW_KEPT = ask_how_kept(70.0)
READINGS = ask_for_readings(USUAL, 0.15)
EVERY = (TASTING, HOW_KEPT, READINGS, ask_the_day(), taste("taste 8 come back", 110.0, 8, None))
CASE = complaint(items=(OXYGEN,), age_sd=12.0, questions=EVERY)


def weighing() -> tuple[Sums, np.ndarray]:
    """Return the sums of the case and the priors of its accounts."""
    before = prior_odds(CASE, PRIORS).filter(pl.col("reason").is_null())
    return sums_of(CASE, tuple(before["account"]), ASSUMED, 32, 4_096), before["prior"].to_numpy()


def test_all_answers_together_are_what_is_known() -> None:
    """Over all counts of glasses, and over all days, what is likely adds up to now, exactly."""
    sums, _ = weighing()
    now, _ = sums.without()
    for question in (TASTING, ask_the_day()):
        together = np.sum(answered(sums, question), axis=0)
        assert together / together.sum() == pytest.approx(now / now.sum(), rel=1e-9)


def test_steps_of_an_answer_are_fine_enough() -> None:
    """Over all temperatures and readings the odds on average are those of now, within 0.01."""
    sums, prior = weighing()
    now = posterior(sums.without()[0], prior).share
    for question in (HOW_KEPT, READINGS):
        answers = answered(sums, question)
        chance = np.array([(prior @ ratios).sum() for ratios in answers])
        after = np.array([posterior(ratios, prior).share for ratios in answers])
        assert chance / chance.sum() @ after == pytest.approx(now, abs=0.01)


def test_an_answer_decides_as_it_would_if_known() -> None:
    """The chance to decide is that of the answers with which the complaint is decided."""
    sums, prior = weighing()
    answers = answered(sums, TASTING)
    chance = np.array([(prior @ ratios).sum() for ratios in answers])
    decided = [
        weigh(replace(CASE, items=(OXYGEN, item), questions=()), draws=32, particles=4_096).decided
        for item in TASTING.answers
    ]
    expected = sum(chance[[each is not None for each in decided]]) / chance.sum()
    found = next_steps(sums, prior).filter(pl.col("step") == TASTING.name)
    assert found["decides"].item() == pytest.approx(expected)


def test_questions_change_no_odds() -> None:
    """What could be asked is no evidence; each question is told once, what decides most first."""
    asked, silent = weigh(CASE), weigh(replace(CASE, questions=()))
    assert asked.odds.equals(silent.odds)
    assert silent.next_steps.is_empty()
    assert set(asked.next_steps["step"]) == {question.name for question in EVERY}
    assert asked.next_steps["decides"].is_sorted(descending=True)
    assert asked.next_steps["decides"].is_between(0.0, 1.0).all()
    assert asked.next_steps["moves"].is_between(0.0, 1.0).all()


def test_more_glasses_tell_more() -> None:
    """Twelve glasses of a package that came back move the odds more than two do."""
    case = complaint(
        questions=(taste("two", 110.0, 2, None), taste("twelve", 110.0, 12, None)),
    )
    assert weigh(case).next_steps.sort("moves")["step"].to_list() == ["two", "twelve"]


def test_what_is_known_need_not_be_asked() -> None:
    """Where the day is known, asking for it decides nothing and moves nothing."""
    steps = weigh(complaint(questions=(ask_the_day(),))).next_steps
    assert steps["decides"].item() == 0.0
    assert steps["moves"].item() == pytest.approx(0.0, abs=1e-12)
