"""Each assessor beside the others: ISO 8586's numbers, known truths, and who stands apart."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest

from analysis.panel.indicators import beside, indicators
from analysis.panel.mixed import fit_panel
from tests.analysis.panel.scores import cells, fish, long

if TYPE_CHECKING:
    from analysis.panel.cells import Cells
    from analysis.panel.indicators import Indicators
    from analysis.panel.mixed import Spread

TRUE_SLOPES = np.array([1.0, 1.0, 0.5, 1.0, 1.0, 1.6, 1.0, 1.0])


def of(laid: Cells) -> tuple[Indicators, ...]:
    """Return the indicators with the panel's own fit."""
    return indicators(laid, fit_panel(laid).variances)


def test_the_worked_example_of_iso_8586_is_reproduced() -> None:
    """Published (ISO 8586, SOURCES.md; the fourth F refit): F by assessor, and their means."""
    found = of(fish())
    tells = [one.discrimination for one in found]
    assert [round(d.f, 2) for d in tells if d] == [13.36, 2.66, 2.40, 13.80]
    assert [(d.numerator, d.denominator) for d in tells if d] == [(5, 12)] * 4
    assert [round(one.mean, 2) for one in found] == [5.89, 4.83, 4.67, 6.00]


def test_repeatability_is_the_sd_of_glasses_of_one_sample() -> None:
    """By hand: the first assessor's six triples have squares of 20/3, on 12 degrees of freedom."""
    repeatability = of(fish())[0].repeatability
    assert repeatability is not None
    assert repeatability.sd == pytest.approx(np.sqrt(20.0 / 3.0 / 12.0))
    assert repeatability.lower < repeatability.sd < repeatability.upper


def test_in_a_complete_panel_the_others_are_their_plain_means() -> None:
    """Identity: everybody there, bias and agreement are those on leave-one-out means."""
    laid = cells(long(1, attendance=1.0, twice=0.0))
    for place, one in enumerate(of(laid)):
        others = np.delete(laid.means, place, axis=1).mean(axis=1)
        own = laid.means[:, place]
        assert one.bias is not None
        assert one.agreement is not None
        assert one.bias.value == pytest.approx(float((own - others).mean()))
        assert one.agreement.value == pytest.approx(float(np.corrcoef(own, others)[0, 1]))


def test_who_was_there_does_not_pass_for_a_bias() -> None:
    """One who only tastes beside a high scorer is as high as the rest; raw means say otherwise."""
    rng = np.random.default_rng(1)
    rows = [
        (sample, assessor)
        for sample in range(60)
        for assessor in range(5)
        if assessor in {0, 1} or (assessor == 4) == (sample % 2 == 0)
    ]
    level = np.array([0.0, 0.0, 0.0, 0.0, 4.0])
    i, j = np.array(rows).T
    score = rng.normal(3.0, 1.0, 60)[i] + level[j] + rng.normal(0.0, 0.1, len(i))
    data = pl.DataFrame({"sample": i, "assessor": j, "score": score})
    with_high = data.filter((pl.col("assessor") != 0) | (pl.col("sample") % 2 == 0))
    bias = of(cells(with_high))[0].bias
    assert bias is not None
    assert bias.value == pytest.approx(-1.0, abs=0.1)  # 0 less the mean of 0, 0, 0 and 4


def sloped(seed: int) -> Cells:
    """Simulate a panel in which two use the scale otherwise, one of them half of it."""
    data = long(seed, samples=60, sds=(0.5, 0.5, 0.4))
    slope = pl.col("assessor").replace_strict(dict(enumerate(TRUE_SLOPES)), return_dtype=pl.Float64)
    return cells(data.with_columns(score=3.0 + (pl.col("score") - 3.0) * slope))


def test_intervals_cover() -> None:
    """Coverage: over 60 simulated panels, seeded, of eight with unlike scales.

    Each assessor's slope against the mean of the others' is held in about 90 %, and nobody's scale
    is narrower only because the others' levels are not known exactly.
    """
    mean_of_others = (TRUE_SLOPES.sum() - TRUE_SLOPES) / 7.0
    truth = TRUE_SLOPES / mean_of_others
    found = np.array([[one.scale or (np.nan,) * 3 for one in of(sloped(s))] for s in range(60)])
    held = (found[..., 1] <= truth) & (truth <= found[..., 2])
    assert held.mean() == pytest.approx(0.9, abs=0.05)
    assert np.median(found[..., 0], axis=0) == pytest.approx(truth, rel=0.05)


def test_bias_and_repeats_are_held_by_their_intervals() -> None:
    """Coverage: of 480 assessors of 60 panels, about 90 % have their bias and SD within bounds."""
    level = np.random.default_rng(1).normal(0.0, 1.0, 8)
    truth = level - (level.sum() - level) / 7.0
    held = []
    for seed in range(60):
        data = long(seed, sds=(0.8, 0.0, 0.7))
        raised = data.with_columns(score=pl.col("score") + level[data["assessor"].to_numpy()])
        for one, bias in zip(of(cells(raised)), truth, strict=True):
            assert one.bias is not None
            sd = one.repeatability
            held.append((one.bias.lower <= bias <= one.bias.upper, _holds(sd, 0.8)))
    assert np.mean(held, axis=0) == pytest.approx([0.9, 0.9], abs=0.04)


def _holds(spread: Spread | None, sd: float) -> bool:
    return spread is None or spread.lower <= sd <= spread.upper


def guessing(seed: int) -> Cells:
    """Simulate twelve assessors of whom the last answers 60 % of the glasses without tasting."""
    data = long(seed, samples=150, assessors=12, twice=0.15)
    rng = np.random.default_rng(seed + 1000)
    blind = (data["assessor"].to_numpy() == 11) & (rng.uniform(size=len(data)) < 0.6)
    score = np.where(blind, rng.uniform(0.0, 7.0, len(data)), data["score"])
    return cells(data.with_columns(score=score))


def test_a_guesser_is_found_and_sound_assessors_are_not() -> None:
    """Of 30 panels of twelve: the guesser in 27 or more, anybody else in one at most."""
    apart = []
    for seed in range(30):
        found = of(guessing(seed))
        said = [beside(one, found) for one in found]
        apart.append(
            [b.agrees_less or b.unsteady or b.scale_apart != "as the others" for b in said]
        )
    share = np.array(apart)
    assert share[:, 11].mean() >= 0.9
    assert share[:, :11].any(axis=1).mean() <= 0.05


def test_who_turns_the_scale_round_or_wavers_stands_apart() -> None:
    """Slopes of 0.5 and 1.6 are told; repeats three times as wide are; the others are not."""
    found = of(sloped(3))
    said = [beside(one, found) for one in found]
    assert [b.scale_apart for b in said][2] == "narrower"
    assert said[2].unsteady is False
    steady = found[0].repeatability
    assert steady is not None
    wavering = replace(found[0], repeatability=steady._replace(lower=3.0 * steady.lower))
    assert beside(wavering, (wavering, *found[1:])).unsteady is True


def test_too_few_glasses_say_nothing() -> None:
    """Nine samples or four repeats are too few; the counts are there all the same."""
    data = long(1)
    few = data.filter((pl.col("assessor") != 0) | (pl.col("sample") < 10))
    one = of(cells(few))[0]
    assert one.samples < 10
    assert one.agreement is one.bias is one.scale is one.repeatability is one.discrimination is None
    assert beside(one, of(cells(few))) == (None, None, None)


def test_who_gives_one_score_to_everything_has_no_correlation() -> None:
    """A constant agrees with nothing: neither a number nor a warning."""
    data = long(1).with_columns(
        score=pl.when(pl.col("assessor") == 0).then(4.0).otherwise(pl.col("score"))
    )
    one = of(cells(data))[0]
    assert one.agreement is None
    assert one.discrimination is None
    assert one.scale is not None
    assert one.scale.value == pytest.approx(0.0, abs=1e-9)
