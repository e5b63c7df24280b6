"""Stated odds come true as often as they say, where the cause is known."""

from __future__ import annotations

import polars as pl
import pytest

from analysis.cases.odds import weigh
from tests.analysis.cases.simulated_complaints import simulated
from tests.complaint_calibration import FEWEST, FURTHEST, KNOWN, Weighing, binned, slope, weighing

COMPLAINTS = 500


@pytest.fixture(scope="module")
def weighings() -> list[Weighing]:
    """Five hundred complaints, weighed with fewer draws and particles than usual."""
    return [weighing(seed, draws=16, particles=2_048) for seed in range(COMPLAINTS)]


def test_what_is_stated_is_observed(weighings: list[Weighing]) -> None:
    """In every tenth of the scale with 100 statements they come true within 2.5 standard errors."""
    told = binned(weighings).filter(pl.col("statements") >= FEWEST)
    assert told.height >= 4
    assert told["off"].abs().max() <= FURTHEST


def test_the_odds_are_neither_bold_nor_timid(weighings: list[Weighing]) -> None:
    """The slope of truth on stated log odds is 1 within 0.15."""
    assert slope(weighings) == pytest.approx(1.0, abs=0.15)


def test_what_is_decided_is_mostly_right(weighings: list[Weighing]) -> None:
    """Of the complaints that are decided the account named is the cause in at least 80 of 100."""
    decided = [each.right for each in weighings if each.decided]
    assert len(decided) >= 50
    assert sum(decided) >= 0.80 * len(decided)


def test_nothing_known_cannot_be_decided() -> None:
    """Complaints of every cause, without age, words and evidence, all say: cannot be decided."""
    causes = set()
    for seed in range(40):
        cause, case = simulated(seed, KNOWN, told=False)
        causes.add(cause)
        found = weigh(case, draws=16, particles=1_024)
        assert found.decided is None
        told = found.odds.filter("possible")
        assert told["posterior"].to_list() == pytest.approx(told["prior"].to_list(), abs=1e-12)
    assert len(causes) >= 5
