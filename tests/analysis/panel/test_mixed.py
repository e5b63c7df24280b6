"""A panel's mixed model, against published numbers, another program and identities."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.formula.api import mixedlm

from analysis.errors import InputError, NotEstimable
from analysis.panel.anova import anova
from analysis.panel.cells import Cells
from analysis.panel.mixed import deviance, fit_panel, levels_of
from tests.analysis.panel.scores import cells, fish, long

if TYPE_CHECKING:
    import random


def test_the_worked_example_of_iso_8586_is_what_others_get() -> None:
    """Refit (R lmerTest, SOURCES.md): F 17.083 on 5 and 63, residual SD 1.108, no interaction."""
    fit = fit_panel(fish())
    f, numerator, denominator, _ = fit.samples
    assert (round(f, 3), numerator, round(denominator, 3)) == (17.083, 5, 63.0)
    assert round(sqrt(fit.variances[0]), 3) == 1.108
    assert fit.variances[2] == 0.0


@pytest.mark.parametrize("seed", range(4))
def test_balanced_data_give_the_mean_squares(seed: int) -> None:
    """Identity: balanced, REML is the method of moments, and F the textbook's with its df.

    With r glasses a cell, k assessors and m samples: E[MS repeats] = v_e, E[MS interaction] =
    v_e + r·v_c, E[MS assessors] = v_e + r·v_c + r·m·v_a.
    """
    data = long(seed, samples=15, assessors=6, attendance=1.0, twice=1.0)
    laid = cells(data)
    samples, assessors, interaction, repeats = (row.mean_square for row in anova(laid))
    assert interaction > repeats
    assert assessors > interaction
    fit = fit_panel(laid)
    expected = [repeats, (assessors - interaction) / 30.0, (interaction - repeats) / 2.0]
    assert fit.variances == pytest.approx(expected, rel=1e-6)
    assert fit.samples.f == pytest.approx(samples / interaction, rel=1e-7)
    assert fit.samples.denominator == pytest.approx(14 * 5, rel=1e-5)


@pytest.mark.parametrize("seed", range(3))
def test_unbalanced_data_agree_with_another_program(seed: int) -> None:
    """Reference: statsmodels' MixedLM by restricted likelihood, on panels that it can hold."""
    data = long(seed, samples=15, assessors=6, sds=(0.8, 0.9, 0.9))
    shown = data.with_columns(cell=pl.format("{} {}", "sample", "assessor"))
    other = mixedlm(
        "score ~ 0 + C(sample)",
        pd.DataFrame(shown.to_dict(as_series=False)),
        groups=np.ones(len(data)),
        vc_formula={"a": "0 + C(assessor)", "b": "0 + C(cell)"},
    ).fit(reml=True, method="bfgs", gtol=1e-5)
    fit = fit_panel(cells(data))
    theirs = np.array([other.scale, *other.vcomp])
    assert fit.variances == pytest.approx(theirs, rel=1e-3)
    assert deviance(fit.cells, theirs)[0] >= fit.minus_two_log_likelihood
    levels = levels_of(fit.cells, fit.variances)
    assert levels.mean == pytest.approx(other.fe_params.to_numpy(), abs=1e-3)


VARIANCE = st.floats(0.05, 5.0)


@settings(max_examples=25)
@given(VARIANCE, st.one_of(st.just(0.0), VARIANCE), st.one_of(st.just(0.0), VARIANCE))
def test_the_likelihood_is_that_of_whole_matrices(
    residual: float, assessor: float, cell: float
) -> None:
    """Identity: the swept likelihood equals Patterson and Thompson's with V as it stands."""
    data = long(1, samples=9, assessors=4)
    y = data["score"].to_numpy()
    of = [
        pl.struct(names).rank("dense")
        for names in (["sample"], ["assessor"], ["sample", "assessor"])
    ]
    X, Z, Q = (
        (column[:, None] == np.unique(column)).astype(np.float64)
        for column in (data.select(one).to_series().to_numpy() for one in of)
    )
    V = residual * np.eye(len(y)) + assessor * Z @ Z.T + cell * Q @ Q.T
    inverse = np.linalg.inv(V)
    information = X.T @ inverse @ X
    apart = y - X @ np.linalg.solve(information, X.T @ inverse @ y)
    whole = (
        np.linalg.slogdet(V)[1]
        + np.linalg.slogdet(information)[1]
        + apart @ inverse @ apart
        + (len(y) - X.shape[1]) * np.log(2.0 * np.pi)
    )
    variances = np.array([residual, assessor, cell])
    assert deviance(cells(data), variances)[0] == pytest.approx(whole)
    levels = levels_of(cells(data), variances)
    C = np.linalg.inv(information)
    assert levels.mean == pytest.approx(C @ X.T @ inverse @ y)
    assert levels.error() == pytest.approx((np.trace(C) - C.sum() / len(C)) / (len(C) - 1))


@settings(max_examples=25)
@given(VARIANCE, VARIANCE, VARIANCE)
def test_the_gradient_is_that_of_differences(residual: float, assessor: float, cell: float) -> None:
    """Identity: each slope of the likelihood is what small steps of its variance show."""
    laid, at = cells(long(2, samples=9, assessors=4)), np.array([residual, assessor, cell])
    steps = 1e-6 * np.eye(3) * at
    seen = [
        (deviance(laid, at + h)[0] - deviance(laid, at - h)[0]) / (2.0 * h.sum()) for h in steps
    ]
    assert deviance(laid, at)[1] == pytest.approx(seen, rel=1e-4, abs=1e-4)


@settings(max_examples=20)
@given(st.floats(0.1, 10.0), st.floats(-5.0, 5.0), st.randoms(use_true_random=False))
def test_units_and_the_order_of_glasses_do_not_matter(
    factor: float, shift: float, order: random.Random
) -> None:
    """Property: scores times c have SDs times c and the same F; shuffled glasses the same fit."""
    data = long(3, samples=12, assessors=5)
    moved = data.with_columns(score=pl.col("score") * factor + shift)
    rows = list(range(len(data)))
    order.shuffle(rows)
    one, other = fit_panel(cells(data)), fit_panel(cells(moved[rows]))
    assert other.variances == pytest.approx(one.variances * factor**2, rel=1e-4)
    assert other.samples.f == pytest.approx(one.samples.f, rel=1e-5)


def test_intervals_cover() -> None:
    """Coverage: in 60 simulated panels each 90 % interval holds its SD nine times in ten.

    Two standard errors are 8 %.
    """
    truth = (0.8, 0.6, 0.7)
    found = np.array([fit_panel(cells(long(seed, samples=20))).spreads for seed in range(60)])
    held = (found[..., 1] <= truth) & (truth <= found[..., 2])
    assert held.mean(axis=0) == pytest.approx([0.9] * 3, abs=0.08)
    assert np.median(found[..., 0], axis=0) == pytest.approx(truth, rel=0.1)


def test_where_nothing_differs_the_samples_are_found_to_differ_one_time_in_ten() -> None:
    """Coverage: of 200 unbalanced panels with equal samples a tenth have p below 0.1."""
    found = []
    for seed in range(200):
        data = long(seed, samples=8, assessors=6, twice=0.5, apart=0.0)
        found.append(fit_panel(cells(data)).samples.p)
    assert np.mean(np.array(found) < 0.1) == pytest.approx(0.1, abs=0.05)


def test_without_repeats_disagreement_and_repeats_are_one() -> None:
    """One glass a cell: their sum is fitted, with the additive residual's mean square."""
    laid = cells(long(4, attendance=1.0, twice=0.0, samples=15, assessors=6))
    fit = fit_panel(laid)
    assert not fit.repeated
    assert fit.variances[2] == 0.0
    assert fit.variances[0] == pytest.approx(anova(laid)[2].mean_square, rel=1e-6)
    assert fit.samples.denominator == pytest.approx(14 * 5, rel=1e-4)


def test_an_interval_ends_at_nought_where_the_data_do() -> None:
    """Assessors alike: their spread may be nothing, and its lower end says so."""
    fit = fit_panel(cells(long(5, sds=(0.8, 0.0, 0.0))))
    _, level, disagreement = fit.spreads
    assert level.lower == disagreement.lower == 0.0
    assert level.upper < 0.4


@pytest.mark.parametrize(
    ("sample", "assessor", "score", "why"),
    [
        (
            [1, 1, 2],
            [1, 2, 1],
            [3.0, 4.0, 5.0],
            "3 glasses of 2 samples by 2 assessors are too few",
        ),
        ([1] * 12, list(range(12)), list(range(12)), "12 glasses of 1 samples"),
        (
            [1, 2, 3, 4, 5, 6, 7] * 2,
            [1] * 7 + [2] * 7,
            [1.0] * 7 + [2.0] * 7,
            "differ by a constant",
        ),
    ],
)
def test_too_little_is_said_to_be_too_little(
    sample: list[int], assessor: list[int], score: list[float], why: str
) -> None:
    """A few glasses, one sample, or scores without scatter give a reason and no number."""
    with pytest.raises(NotEstimable, match=why):
        fit_panel(Cells.of(sample, assessor, score))


@pytest.mark.parametrize("score", [[], [1.0], [1.0, float("nan")]])
def test_a_glass_needs_a_score(score: list[float]) -> None:
    """No glass, fewer scores than glasses and a score that is no number are refused."""
    glasses = [1, 2] if score else []
    with pytest.raises(InputError, match="finite score"):
        Cells.of(glasses, glasses, score)


def test_the_fit_changes_nothing_that_it_was_given() -> None:
    """Counts, means and squares are as before."""
    laid = fish()
    before = [array.copy() for array in (laid.counts, laid.means, laid.within)]
    assert fit_panel(laid).spreads[0].lower > 0.0
    for array, old in zip((laid.counts, laid.means, laid.within), before, strict=True):
        assert array == pytest.approx(old, abs=0.0)
