"""The second route, from scores to the age at which an attribute passes its cut-off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest

from analysis.errors import InputError
from analysis.kinetics.arrhenius import acceleration
from analysis.staling.scores import score_crossings

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from analysis.staling.scores import ScoreRoute

    Curve = Callable[[NDArray[np.float64]], NDArray[np.float64]]

ENERGY = 75.0
ASSESSORS = 8


@dataclass(frozen=True)
class Scale:
    """A scale as a site declares it."""

    low: float = 0.0
    high: float = 10.0
    worse: str = "high"
    cut_off: float = 4.0


def linear(age: NDArray[np.float64]) -> NDArray[np.float64]:
    """From 1 to the cut-off of 4 in 100 days at 20 °C."""
    return 1.0 + 0.03 * age


def levelling_off(age: NDArray[np.float64]) -> NDArray[np.float64]:
    """From 1 towards 10, passing 4 after 50 days at 20 °C."""
    return 10.0 - 9.0 * (6.0 / 9.0) ** (age / 50.0)


def rising_and_falling(age: NDArray[np.float64]) -> NDArray[np.float64]:
    """From 1 to 5 in 60 days and back."""
    return 1.0 + 4.0 * age / 60.0 * np.exp(1.0 - age / 60.0)


def tasted(
    curve: Curve, *, seed: int = 1, lots: int = 6, pulls: int = 8, noise: float = 0.8
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Scores and samples of one style, half of it at 30 °C; a session's mood is in all scores."""
    rng = np.random.default_rng(seed)
    samples = (
        pl.DataFrame({"lot": [f"lot {n}" for n in range(lots)]})
        .join(pl.DataFrame({"pull": range(1, pulls + 1)}), how="cross")
        .with_columns(
            sample=pl.format("{} pull {}", "lot", "pull"),
            session=pl.format("session {}", pl.col("pull") + pl.col("lot").rank("dense") % 5),
            storage_temp_c=pl.when(pl.col("lot").rank("dense") % 2 == 0).then(30.0).otherwise(20.0),
            stored_days=20.0 * pl.col("pull"),
            before_days=pl.lit(5.0),
            role=pl.lit("aged"),
        )
    )
    fresh = samples.select("session").unique().sort("session")
    fresh = fresh.with_columns(
        lot=pl.lit("fresh"),
        pull=pl.lit(0, pl.Int64),
        sample=pl.format("fresh of {}", "session"),
        storage_temp_c=pl.lit(4.0),
        stored_days=pl.lit(0.0),
        before_days=pl.lit(0.0),
        role=pl.lit("fresh"),
    )
    servings = pl.concat([samples, fresh.select(samples.columns)]).with_columns(
        style=pl.lit("pale"), before_temp_c=pl.lit(4.0), aged=pl.col("role") == "aged"
    )
    age = servings["before_days"].to_numpy() * acceleration(4.0, ENERGY) + servings[
        "stored_days"
    ].to_numpy() * acceleration(servings["storage_temp_c"].to_numpy(), ENERGY)
    mood = {name: rng.normal(0.0, noise / 2) for name in fresh["session"]}
    level = pl.Series(curve(age) + rng.normal(0.0, noise / 4, len(age)))
    scores = (
        servings.with_columns(level=level + pl.col("session").replace_strict(mood))
        .join(pl.DataFrame({"assessor": [f"taster {n}" for n in range(ASSESSORS)]}), how="cross")
        .select("session", "assessor", "sample", "level", code=pl.lit("1"), attribute=pl.lit("old"))
    )
    errors = pl.Series(rng.normal(0.0, noise, scores.height))
    return scores.with_columns(score=pl.col("level") + errors).drop("level"), servings


def route(scores: pl.DataFrame, servings: pl.DataFrame, scale: Scale | None = None) -> ScoreRoute:
    """Find the crossings of the one attribute at a confidence of 90 %."""
    return score_crossings(
        scores, servings, {"old": scale or Scale()}, {"pale": ENERGY}, confidence=0.9
    )


@pytest.mark.parametrize(
    ("curve", "order", "truth"), [(linear, "zero", 100.0), (levelling_off, "first", 50.0)]
)
def test_exact_scores_give_the_exact_age(curve: Curve, order: str, truth: float) -> None:
    """Scores without error give the order and the age they were made with."""
    found = route(*tasted(curve, noise=0.0)).crossings.row(0, named=True)
    assert (found["order"], found["pulls"], found["lots"]) == (order, 48, 6)
    assert [found["days"], found["days_lower"], found["days_upper"]] == pytest.approx(
        [truth] * 3, rel=1e-3
    )
    assert found["reaches"]
    assert found["note"] is None


@pytest.mark.parametrize(("curve", "truth"), [(linear, 100.0), (levelling_off, 50.0)])
def test_bounds_hold_the_true_age(curve: Curve, truth: float) -> None:
    """Coverage: over 100 simulated panels, seeded, either bound is right in 90 % or a little more.

    Two standard errors are 6 %.
    """
    routes = [route(*tasted(curve, seed=seed)) for seed in range(100)]
    found = pl.concat([one.crossings for one in routes])
    assert len(found) >= 97
    days, lower, upper = (
        found[name].fill_null(np.inf).to_numpy() for name in ("days", "days_lower", "days_upper")
    )
    assert np.median(days) == pytest.approx(truth, rel=0.04)
    assert np.mean(lower <= truth) >= 0.84
    assert np.mean(upper >= truth) >= 0.84


def test_a_scale_may_get_worse_downwards() -> None:
    """Identity: scores and scale turned upside down give the same ages."""
    scores, servings = tasted(linear)
    turned = scores.with_columns(score=10.0 - pl.col("score"))
    down = route(turned, servings, Scale(worse="low", cut_off=6.0)).crossings
    up = route(scores, servings).crossings
    assert down.row(0)[5:8] == pytest.approx(up.row(0)[5:8])


def test_rows_in_another_order_change_no_digit() -> None:
    """The result is the same to the last digit, whatever the order of the rows."""
    scores, servings = tasted(linear)
    shuffled = route(scores.sample(fraction=1.0, shuffle=True, seed=2), servings.reverse())
    assert shuffled.crossings.equals(route(scores, servings).crossings)


def test_what_rises_and_falls_is_left_out_and_named() -> None:
    """An attribute that goes one way and then the other has no age, and the reason says so."""
    found = route(*tasted(rising_and_falling))
    assert found.crossings.is_empty()
    assert found.left_out.select("style", "attribute").rows() == [("pale", "old")]
    assert "rises and falls" in found.left_out["reason"][0]


def test_levelling_off_is_not_falling() -> None:
    """An attribute that levels off early, exactly, is not taken for one that falls."""
    found = route(*tasted(lambda age: 10.0 - 9.0 * np.exp(-age / 20.0), noise=0.0))
    assert found.left_out.is_empty()
    assert found.crossings["order"].to_list() == ["first"]


def test_what_cannot_be_decided_has_no_upper_bound() -> None:
    """Scores that do not change with age give no upper bound, and the note says so."""
    found = route(*tasted(np.ones_like, seed=3)).crossings.row(0, named=True)
    assert found["days_upper"] is None
    assert not found["reaches"]
    assert found["note"].startswith("cannot be decided")


def test_sessions_without_fresh_beer_are_said() -> None:
    """Fresh beer of another style stands in; without any the scores stand as they are."""
    scores, servings = tasted(linear)
    of_another = servings.with_columns(
        style=pl.when(pl.col("role") == "fresh").then(pl.lit("dark")).otherwise("style")
    )
    lent = route(scores, of_another).crossings
    own = route(scores, servings).crossings
    assert lent.drop("note").equals(own.drop("note"))
    assert lent["note"].to_list() == ["48 of 48 pulls set against fresh beer of another style"]
    alone = route(scores, servings.filter("aged")).crossings.row(0, named=True)
    assert alone["days"] == pytest.approx(100.0, rel=0.1)
    assert "48 of 48 pulls without blind fresh beer" in alone["note"]
    assert "taken as scored" in alone["note"]


@pytest.mark.parametrize(
    ("lots", "pulls", "reason"),
    [(1, 1, "too few pulls: 1 at 1 ages"), (2, 1, "too few pulls: 2 at 2 ages")],
)
def test_too_few_pulls_are_left_out(lots: int, pulls: int, reason: str) -> None:
    """One pull, or two, give no line but a reason."""
    found = route(*tasted(linear, lots=lots, pulls=pulls))
    assert found.crossings.is_empty()
    assert found.left_out["reason"][0].startswith(reason)


def test_one_lot_has_bounds_that_say_what_they_lack() -> None:
    """One lot alone gives a crossing whose note says that lots may differ."""
    found = route(*tasted(linear, lots=1)).crossings.row(0, named=True)
    assert found["lots"] == 1
    assert "one lot" in found["note"]


def test_scores_that_answer_nothing_are_left_out_with_a_reason() -> None:
    """No change at all, fresh beer past the cut-off, no energy: each is named."""
    scores, servings = tasted(linear)
    same = scores.with_columns(score=pl.lit(1.0))
    assert "the same score" in route(same, servings).left_out["reason"][0]
    strict = route(scores, servings, Scale(cut_off=0.5)).left_out
    assert "fresh beer is past" in strict["reason"][0]
    better = scores.with_columns(score=2.0 - pl.col("score") / 5.0)
    assert "better with age" in route(better, servings).left_out["reason"][0]
    no_energy = score_crossings(scores, servings, {"old": Scale()}, {}, confidence=0.9)
    assert "no activation energy" in no_energy.left_out["reason"][0]


def test_empty_input_gives_empty_tables() -> None:
    """Without scores, or with scores of no declared attribute, both tables are empty."""
    scores, servings = tasted(linear)
    nothing = route(scores.clear(), servings)
    undeclared = score_crossings(scores, servings, {}, {"pale": ENERGY}, confidence=0.9)
    for found in (nothing, undeclared, route(scores, servings.clear())):
        assert found.crossings.is_empty()
        assert found.left_out.is_empty()
        assert found.crossings.columns[:3] == ["style", "attribute", "order"]


def test_a_confidence_below_a_half_is_refused() -> None:
    """A bound that is wrong more often than right is none."""
    scores, servings = tasted(linear, lots=1, pulls=1)
    with pytest.raises(InputError, match="confidence"):
        score_crossings(scores, servings, {"old": Scale()}, {"pale": ENERGY}, confidence=0.3)
