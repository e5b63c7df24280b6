"""What a study takes: samples, sittings, packages, days."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from analysis.dating.study import Arm, Study
from analysis.errors import InputError

STUDY = Study(
    style="ale",
    format="can",
    arms=(Arm(4.0, (30, 60)), Arm(20.0, (14, 30))),
    lots=3,
    assessors=tuple("abcdefgh"),
    attendance=0.7,
    begins=date(2026, 12, 1),
    before_temp_c=4.0,
    volume_ml=330.0,
)


def test_a_study_counts_what_it_takes() -> None:
    """On day 30 six samples are more than one sitting's five beside the fresh control."""
    assert STUDY.days == {14: 3, 30: 6, 60: 3}
    assert [STUDY.sittings_on(day) for day in STUDY.days] == [1, 2, 1]
    assert (STUDY.samples, STUDY.sittings) == (12, 4)
    # eight glasses of 80 mL are two cans of 330 mL; 12 samples and 4 fresh controls
    assert STUDY.packages == 32
    assert STUDY.ends == date(2027, 1, 30)
    assert STUDY.oldest_days == {4.0: 61, 20.0: 31}


def test_every_sample_is_named_once_by_day() -> None:
    """Its day, its storage and its lot."""
    pulls = list(STUDY.pulls())
    assert pulls[:4] == [(14, 20.0, 0), (14, 20.0, 1), (14, 20.0, 2), (30, 4.0, 0)]
    assert len(set(pulls)) == len(pulls) == STUDY.samples


def test_pulls_that_are_none_are_refused() -> None:
    """Beer of no age is the fresh control, and days must rise."""
    for pulls in ((), (0, 7), (14, 7), (7, 7)):
        with pytest.raises(InputError, match="need days in storage that rise"):
            Arm(20.0, pulls)


def test_what_is_no_study_is_refused() -> None:
    """Each with the reason."""
    for change, reason in (
        ({"lots": 0}, "a storage, a lot and a taster"),
        ({"arms": ()}, "a storage, a lot and a taster"),
        ({"assessors": ()}, "a storage, a lot and a taster"),
        ({"arms": (Arm(20.0, (7,)), Arm(20.0, (14,)))}, "stands once"),
        ({"attendance": 0.0}, "attendance is a share"),
    ):
        with pytest.raises(InputError, match=reason):
            replace(STUDY, **change)  # type: ignore[arg-type]
