"""A case, its priors, ages and lots, and what is refused."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl
import pytest

from analysis.cases.accounts import is_of_age
from analysis.cases.ages import AgesDrunk, ages_drunk, nodes
from analysis.cases.averaged import averaged
from analysis.cases.drunk import OTHER_MEAN_DAYS
from analysis.cases.evidence import OtherComplaints, Oxygen, Sign, Tasted, Warmth, told
from analysis.cases.odds import weigh
from analysis.cases.priors import prior_odds
from analysis.errors import InputError
from tests.analysis.cases.example import DRAWS, OXYGEN, complaint, shares
from tests.analysis.cases.simulated_complaints import CUPBOARD

if TYPE_CHECKING:
    from collections.abc import Callable


def priors_of(**changes: Any) -> dict[str, float]:  # noqa: ANN401 - fields of a case
    """Return the usual priors of a complaint by account."""
    return dict(prior_odds(complaint(**changes), {}).select("account", "prior").iter_rows())


def test_priors_are_shares_among_what_can_be() -> None:
    """A can of which nothing is known has the shares 30, 15, 35, 5 and 10 of 95."""
    found = priors_of(kind="can", age_days=None)
    assert found == pytest.approx(
        {
            "date too long": 30 / 95,
            "high oxygen": 15 / 95,
            "warm trade": 35 / 95,
            "both": 5 / 95,
            "light": 0.0,
            "dispense": 0.0,
            "past its date": 10 / 95,
        }
    )


def test_glass_lets_light_in_by_its_colour() -> None:
    """Clear and green bottles may be light-struck more than brown, dark ones and kegs never."""
    light = {colour: priors_of(light=colour)["light"] for colour in ("brown", "green", "clear")}
    assert 0.0 < light["brown"] < light["green"] < light["clear"]
    assert priors_of(light=None)["light"] == light["brown"]
    assert priors_of(light="dark")["light"] == 0.0
    assert priors_of(kind="keg", light="clear")["light"] == 0.0


def test_only_draught_beer_is_dispensed() -> None:
    """Dispense can be for kegs and casks alone."""
    for kind in ("keg", "plastic keg", "cask"):
        assert priors_of(kind=kind)["dispense"] > 0.0
    assert priors_of(kind="bottle")["dispense"] == priors_of(kind="can")["dispense"] == 0.0


def test_what_is_no_question_of_age() -> None:
    """Stale, other flavour and lightstruck are weighed; flat, haze and leakers alone are not."""
    assert all(is_of_age((category,)) for category in ("stale", "other flavour", "lightstruck"))
    assert is_of_age(("flat", "stale"))
    assert not is_of_age(("flat", "haze", "leaker", "sour"))


def test_beer_is_drunk_after_it_was_shipped_and_mostly_inside_its_date() -> None:
    """Nothing is drunk before it left; past the date 0.15 of what would have been."""
    every, dated = (
        ages_drunk([(20.0, 100.0), (50.0, 300.0)], day, OTHER_MEAN_DAYS) for day in (None, 90.0)
    )
    for ages in (every, dated):
        assert ages.weights.sum() == pytest.approx(1.0)
        assert ages.weights[:19].sum() == 0.0  # whole days: day 20 begins half a day before it
    ratio = (dated.after(90.0) / (1.0 - dated.after(90.0))) / (
        every.after(90.0) / (1.0 - every.after(90.0))
    )
    assert ratio == pytest.approx(0.15, rel=0.01)
    mean = float(every.days @ every.weights)
    assert mean == pytest.approx(0.25 * 20.0 + 0.75 * 50.0 + OTHER_MEAN_DAYS, abs=0.5)


def test_a_few_ages_stand_for_all() -> None:
    """Gathered ages keep the weight and the mean, and are no more than asked for."""
    day = np.arange(1.0, 101.0)
    weight = np.sqrt(day)
    at, mass = nodes(day, weight, 7)
    assert len(at) <= 7
    assert mass.sum() == pytest.approx(weight.sum())
    assert at @ mass == pytest.approx(day @ weight)
    assert nodes(day, np.zeros(100), 7)[0].size == 0


def test_what_was_told_of_part_of_the_time_says_less() -> None:
    """Told of all the days it is off by 3 °C, of none by 6.7 °C."""
    assert told("all", 5.0, 60.0, 60.0).sd_c == pytest.approx(3.0)
    assert told("none", 5.0, 0.0, 60.0).sd_c == pytest.approx(math.hypot(3.0, 6.0))
    assert told("half", 5.0, 30.0, 60.0).sd_c == pytest.approx(math.hypot(3.0, 6.0 * 0.5**0.5))


def test_lots_that_it_may_be_are_averaged() -> None:
    """Odds are averaged by how likely each lot is; it is decided where all likely lots agree."""
    high = weigh(complaint(items=(Oxygen("read", math.log(250.0), 0.1), Warmth("told", 0.0, 3.0))))
    usual = weigh(complaint(items=(OXYGEN,)))
    assert high.decided == "high oxygen"
    odds, decided = averaged([(3.0, high), (1.0, usual)])
    mixed = dict(odds.select("account", "posterior").iter_rows())
    for account, share in mixed.items():
        both = 0.75 * shares(high)[account] + 0.25 * shares(usual)[account]
        assert share == pytest.approx(both)
    assert decided is None
    assert averaged([(1.0, high), (0.01, usual)])[1] == "high oxygen"
    one, _ = averaged([(2.0, usual)])
    assert one.equals(usual.odds)
    with pytest.raises(InputError, match="none of these lots"):
        averaged([(0.0, usual)])


def test_a_run_that_kept_no_spread_of_lots_is_weighed() -> None:
    """Without the spread of lots two fifths of both together is taken."""
    between = pl.col("between")
    assumed, none = (
        weigh(complaint(draws=DRAWS.with_columns(between_lots=lots)))
        for lots in (0.4 * between, pl.lit(None, pl.Float64))
    )
    assert shares(assumed) == pytest.approx(shares(none))


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (lambda: complaint(draws=DRAWS.clear()), "nothing is estimated"),
        (lambda: complaint(usual_log_ppb=(4.0, 0.0)), "SD above 0"),
        (lambda: complaint(age_days=0.0), "above 0 days"),
        (lambda: complaint(age_sd=-1.0), "0 days or more"),
        (lambda: complaint(printed_days=0.0), "after packaging"),
        (lambda: complaint(ingress_dose_ppb=-1.0), "0 ppb or more"),
        (lambda: complaint(trade_from_days=-1.0), "before it was packaged"),
        (lambda: complaint(items=(OXYGEN, OXYGEN)), "the same name"),
        (lambda: Oxygen("read", 4.0, 0.0), "read: a reading"),
        (lambda: Tasted("kept", 90.0, 4, 5, CUPBOARD), "kept: a tasting"),
        (lambda: Warmth("told", math.nan, 1.0), "told: needs a temperature"),
        (lambda: OtherComplaints("lot", 1, 0.0), "expected number above 0"),
        (lambda: Sign("head", {"high oxygen": 0.0}), "likelihood above 0"),
        (lambda: Sign("head", {"bad luck": 1.0}), "likelihood above 0"),
        (lambda: AgesDrunk(np.zeros(4)), "not all 0"),
        (lambda: prior_odds(complaint(), {"bad luck": 1.0}), "one of: date too long"),
        (lambda: prior_odds(complaint(), {"both": -1.0}), "0 or above"),
        (
            lambda: prior_odds(complaint(), dict.fromkeys(priors_of(), 0.0)),
            "every account that can be",
        ),
    ],
)
def test_what_is_no_case_is_refused(wrong: Callable[[], object], message: str) -> None:
    """Each fault is one sentence that names it."""
    with pytest.raises(InputError, match=message):
        wrong()
