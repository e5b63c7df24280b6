"""What is known before a study is what the data have left of the priors."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest

from analysis.staling.design import designed
from analysis.staling.foresight import DRAWS, foresee
from analysis.staling.laplace import Known, Laplace
from analysis.staling.model import LawDraws, fit_staling
from analysis.survival.laws import LOGNORMAL

if TYPE_CHECKING:
    from analysis.dating.assessment import Assessment
    from analysis.staling.model import StalingModel

STYLE, FORMAT = "pale ale", "can 440"


@pytest.fixture(scope="module")
def model(assessed: Assessment) -> StalingModel:
    """The lognormal law fitted to a simulated brewery."""
    return fit_staling(assessed.evidence, draws=400, laws=(LOGNORMAL,))


def test_priors_put_in_the_place_of_priors_change_nothing(model: StalingModel) -> None:
    """The mode is the same to the last few digits."""
    laplace = model.best.laplace
    spreads = np.exp(model.best.log_spreads)
    own = laplace.mode(spreads)
    priors = Known(laplace.prior_mean, laplace._prior(spreads))  # noqa: SLF001 - beside itself
    given = laplace.given(priors).mode(spreads)
    np.testing.assert_allclose(given.effects, own.effects, atol=1e-8)
    np.testing.assert_allclose(given.schur_root, own.schur_root, atol=1e-6)


def test_a_fit_to_the_rest_after_the_first_is_the_fit_to_both(model: StalingModel) -> None:
    """At the same spreads, but for the bend of the first likelihood: a fifth of an SD."""
    series, layout = designed(model.evidence)
    own = (series["style"] == STYLE) & (series["format"] == FORMAT)
    two = series.filter(own)["lot"].unique().sort()[:2]
    later = own & series["lot"].is_in(two.to_list())
    spreads = np.exp(model.best.log_spreads)
    series = series.with_columns(batch=pl.when(later).then("lot").otherwise("batch"))
    first = Laplace(series.filter(~later), layout, model.law)
    begun = replace(
        model,
        best=replace(model.best, laplace=first, mode=first.mode(spreads)),
        draws=(LawDraws(model.law, model.draws[0].params[:1], spreads[None, :]),),
    )
    foresight = foresee(begun, STYLE, FORMAT, layout.assessors)
    drawn = foresight.after(series.filter(later)).params
    both = Laplace(series, layout, model.law).mode(spreads)
    sd = np.sqrt((np.linalg.inv(both.schur_root) ** 2).sum(axis=0))
    narrow = foresight.layout
    for here, there in (
        (0, layout.style(STYLE)),
        (narrow.exponent, layout.exponent),
        (narrow.energy, layout.energy),
        (narrow.log_scale, layout.log_scale),
        (narrow.assessor.start, layout.assessor.start),
        (narrow.miss.start, layout.miss.start),
    ):
        assert abs(drawn[:, here].mean() - both.effects[there]) < 0.2 * sd[there]
        assert drawn[:, here].std() == pytest.approx(sd[there], rel=0.1)


def test_without_a_fit_the_priors_are_what_is_known() -> None:
    """Their middles and their spreads."""
    foresight = foresee(None, "gose", "can", ("A", "B"))
    drawn = foresight.before().params
    assert drawn.shape == (DRAWS, foresight.layout.size)
    assert drawn[:, 0].mean() == pytest.approx(np.log(120.0), abs=0.15)
    assert drawn[:, 0].std() == pytest.approx(1.5, rel=0.1)
    assert drawn[:, foresight.layout.energy].std() == pytest.approx(15.0, rel=0.1)


def test_a_style_and_people_without_data_keep_their_priors(model: StalingModel) -> None:
    """Beside what the data say of oxygen, energy and the errors that all have in common."""
    foresight = foresee(model, "gose", FORMAT, (model.layout.assessors[0], "somebody new"))
    layout, known = foresight.layout, foresight.known[0]
    sd = 1.0 / np.sqrt(np.diag(known.precision))
    assert known.mean[0] == pytest.approx(np.log(120.0))
    assert sd[0] == pytest.approx(1.5)
    newcomer = layout.assessor.start + 1
    assert (known.mean[newcomer], sd[newcomer]) == (0.0, pytest.approx(foresight.spreads[0][3]))
    assert known.mean[layout.energy] != 75.0
    assert sd[layout.energy] < 15.0
