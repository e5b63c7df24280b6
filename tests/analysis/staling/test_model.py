"""The staling model: what it needs, what it refuses, what its uncertainty holds."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest

from analysis.errors import NotConverged, NotEstimable
from analysis.staling.design import ACTIVATION_ENERGY_RANGE
from analysis.staling.law_fit import fit_law
from analysis.staling.model import designed, fit_staling
from analysis.staling.predict import cells
from analysis.survival.laws import LAWS, LOGLOGISTIC, LOGNORMAL, WEIBULL, Law

if TYPE_CHECKING:
    from collections.abc import Callable

    from analysis.dating.assessment import Assessment
    from analysis.staling.evidence import Evidence

STALE_AT_60 = {f"{lot}/{who}": "AARR" for lot in ("one", "two") for who in "abcdef"}


def test_a_plain_case_gives_the_age_everybody_named(evidence_of: Callable[..., Evidence]) -> None:
    """Twelve series accept at 40 days and reject at 60: half the glasses turn in between."""
    model = fit_staling(evidence_of(STALE_AT_60))
    half = cells(model, "style", ["can"], np.zeros(1), draws=[model.estimate]).age_at(0.5)
    assert 40.0 < half[0] < 60.0


def test_false_alarms_do_not_shorten_a_beer_s_life(evidence_of: Callable[..., Evidence]) -> None:
    """One early rejection taken back later moves the estimate by less than a tenth."""
    alarmed = STALE_AT_60 | {"one/a": "RARR", "two/b": "RARR"}
    ages = [
        cells(model, "style", ["can"], np.zeros(1), draws=[model.estimate]).age_at(0.25)[0]
        for model in (fit_staling(evidence_of(STALE_AT_60)), fit_staling(evidence_of(alarmed)))
    ]
    assert ages[1] == pytest.approx(ages[0], rel=0.1)


@pytest.mark.parametrize(
    ("answers", "says"),
    [
        ({}, "no aged beer has a verdict"),
        ({"one/a": "AAAA", "two/b": "AAAA"}, "nothing was rejected yet"),
        ({"one/a": "????"}, "no aged beer has a verdict"),
    ],
)
def test_without_answers_there_is_a_reason(
    answers: dict[str, str], says: str, evidence_of: Callable[..., Evidence]
) -> None:
    """Nothing tasted, or nothing rejected: a sentence instead of a number."""
    with pytest.raises(NotEstimable, match=says):
        fit_staling(evidence_of(answers))


@pytest.mark.parametrize(
    "answers",
    [
        {"one/a": "AR"},
        {"one/a": "RRRR", "one/b": "RRRR", "two/a": "RRRR"},
        {f"one/{who}": "RARA" for who in "abcd"},
    ],
    ids=["one series", "everything rejected", "guessing"],
)
def test_poor_data_give_a_wide_and_finite_bound(
    answers: dict[str, str], evidence_of: Callable[..., Evidence]
) -> None:
    """A number is never bare: its lower bound lies well below it, and both are finite."""
    model = fit_staling(evidence_of(answers))
    ages = cells(model, "style", ["can"], np.zeros(1)).age_at(0.25)
    lower, middle = np.quantile(ages, [0.1, 0.5])
    assert 0.0 < lower < 0.8 * middle < np.inf


def test_priors_speak_where_the_data_do_not(evidence_of: Callable[..., Evidence]) -> None:
    """One temperature and one oxygen dose: Ea and the exponent keep their priors, and say so."""
    model = fit_staling(evidence_of(STALE_AT_60))
    layout = model.layout
    for place in (layout.energy, layout.exponent):
        assert model.source(place) == "prior"
        assert model.best.mode.effects[place] == pytest.approx(
            model.terms[place].prior_mean, rel=0.02
        )
        assert model.standard_errors[place] == pytest.approx(model.terms[place].prior_sd, rel=0.05)
    drawn = cells(model, "style", ["can"], np.zeros(1)).activation_energy
    assert drawn.min() >= ACTIVATION_ENERGY_RANGE[0]
    assert drawn.max() <= ACTIVATION_ENERGY_RANGE[1]


def test_the_demo_s_law_and_energy_are_found(assessed: Assessment) -> None:
    """A simulated brewery of twelve tasters tells Ea within the range of its truth, 58 to 92."""
    model = assessed.model
    assert model is not None
    assert 55.0 < model.best.mode.effects[model.layout.energy] < 95.0
    assert {law.distribution for law in model.compared} == {"weibull", "lognormal", "loglogistic"}


def test_a_fit_does_not_depend_on_the_order_of_rows(
    evidence_of: Callable[..., Evidence],
) -> None:
    """Shuffled series give the same estimate, and the evidence is left as it was."""
    evidence = evidence_of(STALE_AT_60)
    kept = evidence.series.clone()
    shuffled = replace(evidence, series=evidence.series.sample(fraction=1.0, shuffle=True, seed=1))
    fits = [fit_staling(found).best for found in (shuffled, evidence)]
    assert fits[0].mode.effects == pytest.approx(fits[1].mode.effects, abs=1e-3)
    assert evidence.series.equals(kept)


def test_a_fit_holds_the_mode_at_its_own_spreads(evidence_of: Callable[..., Evidence]) -> None:
    """What a fit says of the effects belongs to its best spreads, not to some beside them."""
    series, layout = designed(evidence_of(STALE_AT_60))
    for law in LAWS:
        fit = fit_law(series, layout, law)
        again = fit.laplace.mode(np.exp(fit.log_spreads))
        assert fit.mode.value == pytest.approx(again.value, abs=1e-4)


def test_a_gradient_that_misleads_is_not_followed(evidence_of: Callable[..., Evidence]) -> None:
    """Where the derivatives point away, the maximum is found from neighbour to neighbour.

    Identity: the same law with its right derivatives.
    """
    series, layout = designed(evidence_of(STALE_AT_60))
    misleading = replace(LOGNORMAL, density_curvature=lambda w: np.full_like(w, 1e6))
    found, right = (fit_law(series, layout, law) for law in (misleading, LOGNORMAL))
    assert found.log_likelihood == pytest.approx(right.log_likelihood, abs=0.02)


def test_effects_that_never_settle_are_no_fit(evidence_of: Callable[..., Evidence]) -> None:
    """A law without a mode at any spreads is said to have none."""
    series, layout = designed(evidence_of(STALE_AT_60))
    with pytest.raises(NotConverged, match="the spreads of the lognormal fit did not settle"):
        fit_law(series, layout, _broken(LOGNORMAL, [True]))


def _broken(law: Law, once: list[bool]) -> Law:
    """Give a law that no step settles once the list holds something."""
    return replace(law, log_density=lambda w: law.log_density(w) + (3.0 if once else 0.0))


@pytest.mark.parametrize("when", ["from the start", "when drawn"])
def test_a_law_that_does_not_settle_leaves_the_others(
    when: str, evidence_of: Callable[..., Evidence]
) -> None:
    """It has a reason and no weight; the draws are shared among the rest, the best among them."""
    once = [True] if when == "from the start" else []
    last = replace(LOGNORMAL, log_survival=lambda w: once.append(True) or LOGNORMAL.log_survival(w))
    evidence = evidence_of(STALE_AT_60)
    model = fit_staling(evidence, draws=100, laws=(WEIBULL, _broken(LOGLOGISTIC, once), last))
    weibull, broken, lognormal = model.compared
    assert (broken.log_likelihood, broken.weight) == (None, 0.0)
    assert "did not settle" in (broken.reason or "")
    assert weibull.weight + lognormal.weight == pytest.approx(1.0)
    assert weibull.reason is lognormal.reason is None
    whole = fit_staling(evidence, draws=100, laws=(WEIBULL, LOGNORMAL))
    assert [part.law.name for part in model.draws] == [part.law.name for part in whole.draws]
    assert [len(part.params) for part in model.draws] == [len(p.params) for p in whole.draws]
    assert model.law.name == whole.law.name
    with pytest.raises(NotConverged, match="loglogistic fit did not settle"):
        fit_staling(evidence, laws=(_broken(LOGLOGISTIC, [True]),))


def test_more_oxygen_is_never_better(assessed: Assessment) -> None:
    """Twice the dose shortens every style's life at the estimate."""
    model = assessed.model
    assert model is not None
    for style in model.layout.styles:
        ages = [
            cells(model, style, ["can 440"], np.array([dose]), draws=[model.estimate])
            for dose in (0.0, np.log(2.0))
        ]
        assert ages[1].age_at(0.25)[0] < ages[0].age_at(0.25)[0]


def test_the_share_at_the_age_of_a_share_is_that_share(assessed: Assessment) -> None:
    """Identity: `age_at` turns `share_rejected` round, averaged over lots of unlike oxygen."""
    model = assessed.model
    assert model is not None
    drawn = cells(model, model.layout.styles[0], ["can 440"] * 3, np.array([-0.5, 0.0, 1.2]))
    for share in (0.1, 0.25, 0.5):
        assert drawn.share_rejected(np.log(drawn.age_at(share))) == pytest.approx(share, abs=1e-6)


def test_no_frame_of_the_evidence_loses_a_glass(assessed: Assessment) -> None:
    """Identity: accepts and rejects on aged beer are the pulls' glasses and the brackets' too."""
    aged = assessed.evidence.servings.filter(pl.col("aged") & (pl.col("verdict") != "not sure"))
    assert assessed.frames["pulls"]["tasted"].sum() == aged.height
    assert assessed.frames["arms"]["verdicts"].sum() == aged.height
    assert assessed.frames["styles"]["verdicts"].sum() == aged.height
