"""What place and the glass before do to verdicts and scores."""

from __future__ import annotations

import json

import numpy as np
import polars as pl
import pytest
import statsmodels.formula.api as smf

from analysis.panel.order_effects import order_effects
from analysis.panel.serving_orders import serving_orders


def panel(
    seed: int,
    *,
    sessions: int = 30,
    first: float = 0.0,
    later: float = 0.0,
    carried: float = 0.0,
    mood: float = 0.0,
) -> pl.DataFrame:
    """Pour four samples to eight tasters a session, with effects as said on verdict and score.

    Mood is what a taster's strictness differs by from session to session.
    """
    rng = np.random.default_rng(seed)
    own = rng.uniform(0.0, 0.15, 8)
    rows = []
    for session in range(sessions):
        beer = rng.uniform(0.1, 0.5, 4)
        for taster, order in enumerate(serving_orders(8, 4, rng)):
            before, strict = False, own[taster] + rng.uniform(0.0, mood)
            for place, sample in enumerate(order, start=1):
                moved = first * (place == 1) + later * (place > 1) * place + carried * before
                before = bool(rng.uniform() < beer[sample] + strict + moved)
                score = 10 * (beer[sample] + strict + moved) + rng.normal(0.0, 1.0)
                rows.append(
                    {
                        "session": f"T{session:02d}",
                        "assessor": f"A{taster}",
                        "sample": f"S{session:02d}{sample}",
                        "code": f"{sample}",
                        "position": place,
                        "rejected": before,
                        "scores": json.dumps({"stale": score}),
                    }
                )
    return pl.DataFrame(rows)


def estimates(glasses: pl.DataFrame) -> dict[tuple[str, str], dict[str, object]]:
    """Give each effect by outcome and name."""
    found = order_effects(glasses, ["stale"]).to_dicts()
    return {(row["outcome"], row["effect"]): row for row in found}


@pytest.mark.parametrize(
    ("effect", "made"),
    [
        ("first", {"first": 0.2}),
        ("each place later", {"later": 0.05}),
        ("after a rejected", {"carried": 0.2}),
    ],
)
def test_an_effect_that_is_there_is_found(effect: str, made: dict[str, float]) -> None:
    """On verdicts as a share of glasses, on scores in points of their scale."""
    found = estimates(panel(2, sessions=60, **made))
    (true,) = made.values()
    for outcome, scale in (("rejected", 1.0), ("stale", 10.0)):
        row = found[outcome, effect]
        assert abs(row["estimate"] - true * scale) < row["upper"] - row["lower"]
        assert row["lower"] > 0.0
        assert row["reason"] is None


def test_intervals_hold_nine_times_in_ten() -> None:
    """Of 100 panels without any effect, each interval leaves nothing out within binomial bounds."""
    held = pl.concat(
        order_effects(panel(seed, sessions=20), ["stale"]) for seed in range(100)
    ).with_columns(holds=(pl.col("lower") <= 0) & (pl.col("upper") >= 0))
    shares = held.group_by("outcome", "effect").agg(pl.col("holds").mean())
    assert len(shares) == 6
    assert shares["holds"].is_between(0.80, 0.98).all()


def test_a_strict_day_is_not_taken_for_carry_over() -> None:
    """A taster who rejects much that day rejects before and after; nothing is carried over."""
    held = [
        row["lower"] <= 0.0 <= row["upper"]
        for seed in range(60)
        for row in order_effects(panel(seed, mood=0.5), ["stale"]).iter_rows(named=True)
        if row["effect"] == "after a rejected" and row["estimate"] is not None
    ]
    assert len(held) >= 100
    assert np.mean(held) >= 0.80


def test_the_estimate_is_that_of_a_dummy_regression() -> None:
    """Identity: least squares with a column for each sample in its session and each taster."""
    glasses = panel(2, sessions=12)
    told = glasses.select(
        "session",
        "sample",
        "assessor",
        y=pl.col("rejected").cast(pl.Float64),
        x=(pl.col("position") == 1).cast(pl.Float64),
    )
    fitted = smf.ols("y ~ x + C(sample) + C(assessor)", told.to_pandas()).fit()
    assert estimates(glasses)["rejected", "first"]["estimate"] == pytest.approx(
        fitted.params["x"], abs=1e-9
    )


def test_the_same_order_for_all_tells_nothing() -> None:
    """Place cannot be told from beer, however many glasses there are."""
    glasses = panel(3).with_columns(position=pl.col("code").cast(pl.Int32) + 1)
    found = estimates(glasses)["rejected", "first"]
    assert found["estimate"] is None
    assert found["reason"] == "every taster had a sample in the same place"


def test_few_sessions_are_too_few_to_say() -> None:
    """With their number."""
    found = estimates(panel(4, sessions=3))["rejected", "first"]
    assert found["reason"] == "too few to say (n = 96 glasses in 3 sessions)"


def test_without_places_there_is_nothing() -> None:
    """Where the column was left empty, and where two glasses stand in one place."""
    glasses = panel(5, sessions=12)
    assert order_effects(glasses.with_columns(position=pl.lit(None, pl.Int32)), []).is_empty()
    assert order_effects(glasses.with_columns(position=1), []).is_empty()
    assert order_effects(glasses.head(0), ["stale"]).is_empty()


def test_what_was_given_is_not_changed_and_row_order_does_not_matter() -> None:
    """The same glasses in another order give the same digits."""
    glasses = panel(6, sessions=12)
    before = glasses.clone()
    found = order_effects(glasses, ["stale"])
    assert glasses.equals(before)
    assert order_effects(glasses.sample(fraction=1.0, shuffle=True, seed=1), ["stale"]).equals(
        found
    )
