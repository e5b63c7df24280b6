"""The odds of a complaint: what changes them, what does not, and when they decide."""

from __future__ import annotations

import math
from dataclasses import replace

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.cases.accounts import ACCOUNTS, PRIORS
from analysis.cases.evidence import Oxygen, Sign, Tasted, Warmth
from analysis.cases.odds import in_words, weigh
from analysis.cases.posterior import odds_factor
from tests.analysis.cases.example import (
    EVERYTHING,
    OXYGEN,
    RETAINED,
    complaint,
    factors,
    shares,
)
from tests.analysis.cases.simulated_complaints import CUPBOARD

FEW = {"draws": 16, "particles": 1_024}
SAME = {"rel": 1e-9, "abs": 1e-12}


@given(
    items=st.lists(st.sampled_from(EVERYTHING), unique=True).map(tuple),
    age=st.one_of(st.none(), st.floats(1.0, 400.0)),
    age_sd=st.one_of(st.just(0.0), st.floats(1.0, 30.0)),
    printed=st.one_of(st.none(), st.floats(20.0, 300.0)),
    kind=st.sampled_from(["can", "bottle", "keg"]),
    categories=st.sampled_from(
        [("stale",), ("other flavour",), ("lightstruck",), ("flat", "stale")]
    ),
)
@settings(max_examples=60, deadline=None)
def test_whatever_is_known_the_shares_add_up(
    items: tuple[Tasted, ...],
    age: float | None,
    age_sd: float,
    printed: float | None,
    kind: str,
    categories: tuple[str, ...],
) -> None:
    """Priors and posteriors are shares that add to 1, and nothing for what cannot be."""
    case = complaint(
        items=items,
        age_days=age,
        age_sd=age_sd,
        printed_days=printed,
        kind=kind,
        categories=categories,
    )
    odds = weigh(case, **FEW).odds
    assert odds["account"].to_list() == list(ACCOUNTS)
    for column in ("prior", "posterior"):
        assert odds[column].sum() == pytest.approx(1.0)
        assert odds[column].min() >= 0.0
    assert (odds["lower"] <= odds["upper"]).all()
    assert odds["upper"].max() <= 1.0 + 1e-12
    cannot = odds.filter(~pl.col("possible"))
    assert cannot["posterior"].sum() == cannot["prior"].sum() == 0.0
    assert cannot["reason"].null_count() == 0


@given(order=st.permutations(EVERYTHING))
@settings(max_examples=8, deadline=None)
def test_the_order_of_the_evidence_is_nothing(order: list[Tasted]) -> None:
    """Odds and factors are the same to the last digit in whatever order the items come."""
    usual, other = (weigh(complaint(items=tuple(items)), **FEW) for items in (EVERYTHING, order))
    assert usual.odds.equals(other.odds)
    assert usual.items.equals(other.items)


@given(item=st.sampled_from(EVERYTHING), likelihood=st.floats(0.01, 1.0))
@settings(max_examples=15, deadline=None)
def test_what_says_nothing_changes_nothing(item: Tasted, likelihood: float) -> None:
    """A sign as likely under each account leaves the odds as they are, and says so."""
    silent = Sign("a sign", dict.fromkeys(ACCOUNTS, likelihood))
    without, with_it = (weigh(complaint(items=items), **FEW) for items in ((item,), (item, silent)))
    assert shares(with_it) == pytest.approx(shares(without), **SAME)
    assert list(factors(with_it, "a sign").values()) == pytest.approx([1.0] * 5)
    assert set(with_it.items.filter(pl.col("item") == "a sign")["words"]) == {"says nothing"}


def test_two_readings_are_one_of_twice_the_weight() -> None:
    """A reading said twice counts as one with the error of two, a tasting as one of all glasses."""
    twice = weigh(complaint(items=(OXYGEN, replace(OXYGEN, name="again"))), **FEW)
    once = weigh(complaint(items=(replace(OXYGEN, log_se=OXYGEN.log_se / math.sqrt(2.0)),)), **FEW)
    assert shares(twice) == pytest.approx(shares(once), **SAME)
    twice = weigh(complaint(items=(RETAINED, replace(RETAINED, name="again"))), **FEW)
    once = weigh(complaint(items=(replace(RETAINED, glasses=24, rejected=12),)), **FEW)
    assert shares(twice) == pytest.approx(shares(once), **SAME)


@given(scale=st.floats(0.001, 1_000.0))
@settings(max_examples=10, deadline=None)
def test_priors_count_by_their_shares(scale: float) -> None:
    """Priors times any number are the same priors; those not named are the usual ones."""
    usual = weigh(complaint(items=EVERYTHING), **FEW)
    scaled = {account: share * scale for account, share in PRIORS.items()}
    assert shares(weigh(complaint(items=EVERYTHING), scaled, **FEW)) == pytest.approx(shares(usual))
    assert weigh(complaint(items=EVERYTHING), {}, **FEW).odds.equals(usual.odds)


def test_the_prior_enters_as_odds() -> None:
    """Twice the prior of an account is twice its odds against each other one."""
    before = shares(weigh(complaint(items=EVERYTHING), **FEW))
    more = shares(weigh(complaint(items=EVERYTHING), {"high oxygen": 30.0}, **FEW))
    ratio = before["high oxygen"] / before["warm trade"]
    assert more["high oxygen"] / more["warm trade"] == pytest.approx(2.0 * ratio)


def test_more_oxygen_never_speaks_for_ordinary_lots() -> None:
    """The higher the reading, the likelier a lot of high oxygen, until it is decided."""
    read = [
        weigh(complaint(items=(Oxygen("read", math.log(ppb), 0.1),)), **FEW)
        for ppb in (40.0, 60.0, 90.0, 130.0, 200.0)
    ]
    high = [shares(found)["high oxygen"] + shares(found)["both"] for found in read]
    assert high == sorted(high)
    assert high[-1] > 0.9
    kept = weigh(complaint(items=(Oxygen("read", math.log(250.0), 0.1), Warmth("told", 0.0, 3.0))))
    assert kept.decided == "high oxygen"


def test_a_lower_bound_never_clears_a_lot() -> None:
    """A bound below the line says nothing, one above it speaks for high oxygen."""
    low, high = (
        weigh(complaint(items=(Oxygen("late", math.log(ppb), 0.1, at_least=True),)))
        for ppb in (15.0, 150.0)
    )
    assert list(factors(low, "late").values()) == pytest.approx([1.0] * 5, abs=1e-3)
    assert factors(high, "late")["high oxygen"] > 3.0


def test_a_warm_storage_that_was_told_speaks_for_warm_trade() -> None:
    """Who says it stood 12 °C warmer speaks for warm trade, who says it was as usual against it."""
    warm, usual = (weigh(complaint(items=(Warmth("told", c, 3.0),))) for c in (12.0, 0.0))
    assert factors(warm, "told")["warm trade"] > 1.5
    assert factors(usual, "told")["warm trade"] < 1.0 / 1.5


def test_a_fresh_retained_package_speaks_against_the_lot() -> None:
    """Retained glasses that nobody rejects speak against high oxygen, stale ones for it."""
    fresh, stale = (
        weigh(complaint(items=(Tasted("kept", 90.0, 20, rejected, CUPBOARD),)))
        for rejected in (1, 17)
    )
    assert factors(fresh, "kept")["high oxygen"] < 1.0 < factors(stale, "kept")["high oxygen"]


def test_past_its_date_needs_a_day_past_it() -> None:
    """Opened after the printed day it may be past its date, before it the date may be too long."""
    before = weigh(complaint(age_days=95.0)).odds
    after = weigh(complaint(age_days=175.0)).odds
    reasons = dict(before.select("account", "reason").iter_rows())
    assert reasons["past its date"] == "it was opened inside its date"
    reasons = dict(after.select("account", "reason").iter_rows())
    assert reasons["date too long"] == "it was opened after its date"
    past = after.filter(pl.col("account") == "past its date")
    assert past["posterior"].item() > 2.0 * past["prior"].item()
    assert past["posterior"].item() == after["posterior"].max()


def test_the_words_of_the_drinker_count() -> None:
    """Called lightstruck, a bottle is most likely that; in a can it cannot be, and it says so."""
    bottle = weigh(complaint(categories=("lightstruck",), light="clear"))
    assert bottle.decided == "light"
    can = weigh(complaint(categories=("lightstruck",), kind="can")).odds
    reason = can.filter(pl.col("account") == "light")["reason"].item()
    assert reason == "no light gets to the beer"


def test_a_prior_alone_never_decides() -> None:
    """With nine tenths of the prior and no evidence it cannot be decided."""
    nothing = complaint(items=(), age_days=None, categories=())
    found = weigh(nothing, {"warm trade": 2_000.0})
    assert shares(found)["warm trade"] > 0.9
    assert found.decided is None


@pytest.mark.parametrize("age", [18.0, 40.0, 80.0, 120.0, 149.0])
def test_an_age_alone_never_decides(age: float) -> None:
    """A can called stale, of whatever age inside its date and nothing else known: not decided."""
    assert weigh(complaint(kind="can", age_days=age)).decided is None


def test_what_no_account_foresees_still_has_odds() -> None:
    """Evidence far from every account leaves odds between those that come nearest."""
    odd = Oxygen("read", math.log(60_000.0), 0.02)
    found = shares(weigh(complaint(items=(odd,), age_days=17.0)))
    assert sum(found.values()) == pytest.approx(1.0)
    assert found["high oxygen"] + found["both"] == pytest.approx(1.0)


def test_same_question_same_answer() -> None:
    """Weighed twice, a complaint gives the same digits."""
    first, second = (weigh(complaint(items=EVERYTHING)) for _ in range(2))
    assert first.odds.equals(second.odds)
    assert first.items.equals(second.items)


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (10.0, "strongly for"),
        (3.0, "moderately for"),
        (1.5, "slightly for"),
        (1.49, "says nothing"),
        (1.0, "says nothing"),
        (0.6, "slightly against"),
        (0.3, "moderately against"),
        (0.1, "strongly against"),
        (0.0, "strongly against"),
        (math.inf, "strongly for"),
    ],
)
def test_factors_in_words(factor: float, words: str) -> None:
    """Each step of the scale has its word, for and against alike."""
    assert in_words(factor) == words


def test_a_factor_is_a_ratio_of_odds() -> None:
    """From even odds to four in five is a factor of four; what is sure either way is no factor."""
    assert odds_factor(0.8, 0.5) == pytest.approx(4.0)
    assert odds_factor(1.0, 1.0) == odds_factor(0.0, 0.0) == 1.0
    assert odds_factor(1.0, 0.5) == math.inf
    assert odds_factor(0.5, 1.0) == 0.0
