r"""The staling model fitted to verdicts, and what is known of its parameters.

The likelihood is that of verdicts which may be wrong (see `verdicts`, `design` and `clock`),
penalised by the priors. Verdicts of one assessor, and of one lot, hang together, so the covariance
is the two-way clustered sandwich

    V = H⁻¹ (B + P) H⁻¹,    B = B_lot + B_assessor − B_lot∩assessor,    H = I + P

with I the information of the data, P the precision of the priors (a prior's own score varies by
exactly its precision) and each B scaled by G/(G − 1). In directions where B + P falls below H it is
raised to H: few clusters must not feign precision. Draws follow a t law with G − 1 degrees of
freedom, G the smaller number of clusters, and never less than four.

Reference: Cameron, Gelbach & Miller, J. Business & Economic Statistics 29, 2011, 238-249.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
from scipy import linalg

from analysis.errors import NotConverged, NotEstimable
from analysis.staling.design import ACTIVATION_ENERGY_RANGE, Layout, Term
from analysis.staling.verdicts import VerdictLikelihood, error_share
from analysis.survival.laws import LAWS, Law
from analysis.survival.penalised import Fit, maximise

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.staling.evidence import Evidence

    Array = NDArray[np.float64]

DRAWS = 2_000
SEED = 20
_LEAST_FREEDOM = 4  # below it a t law has no spread to speak of, and the priors bound the rest


@dataclass(frozen=True)
class LawCompared:
    """A law that was tried: its log-likelihood without priors, or why there is none."""

    distribution: str
    log_likelihood: float | None
    reason: str | None


@dataclass(frozen=True)
class StalingModel:
    """A fitted staling model.

    Attributes:
        law: the law with the highest likelihood.
        layout: where each parameter stands.
        terms: the parameters with their priors.
        params: estimate, shape (k,).
        covariance: clustered, shape (k, k).
        draws: what the parameters may be, shape (DRAWS, k).
        compared: the laws tried.
        evidence: what it was fitted to.
    """

    law: Law
    layout: Layout
    terms: tuple[Term, ...]
    params: Array
    covariance: Array = field(repr=False)
    draws: Array = field(repr=False)
    compared: tuple[LawCompared, ...]
    evidence: Evidence = field(repr=False)

    @property
    def standard_errors(self) -> Array:
        """Clustered standard errors, shape (k,)."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def error_shares(self) -> tuple[Array, Array]:
        """False alarms and misses of each assessor at the estimate, in the order of the layout."""
        alarm, miss = self.params[self.layout.false_alarm], self.params[self.layout.miss]
        return error_share(alarm[0] + alarm[1:]), error_share(miss[0] + miss[1:])

    def source(self, position: int) -> str:
        """Say `fitted` where the data have at least halved the prior's SD, else `prior`."""
        halved = self.standard_errors[position] <= 0.5 * self.terms[position].prior_sd
        return "fitted" if halved else "prior"


def fit_staling(evidence: Evidence, *, draws: int = DRAWS, seed: int = SEED) -> StalingModel:
    """Fit the laws and keep the likeliest.

    Args:
        evidence: series and lots.
        draws: number of parameter draws.
        seed: of the draws.

    Raises:
        NotEstimable: there are no verdicts on aged beer, or nothing was rejected.
        NotConverged: no law settled.
    """
    aged = evidence.series.filter("aged")
    if aged.is_empty():
        message = "no aged beer has a verdict: the samples and tastings tables would fill this"
        raise NotEstimable(message)
    if not aged["rejected"].explode().any():
        message = "nothing was rejected yet: older or warmer samples would show when staling begins"
        raise NotEstimable(message)
    styles = tuple(aged["style"].unique().sort())
    series = evidence.series.filter(pl.col("style").is_in(styles))
    layout = Layout(
        styles,
        tuple(evidence.lots["format"].unique().sort()),
        tuple(series["assessor"].unique().sort()),
    )
    fits: list[Fit] = []
    compared: list[LawCompared] = []
    for law in LAWS:
        try:
            fit = _fit_law(series, layout, law)
        except NotConverged as error:
            compared.append(LawCompared(law.name, None, str(error)))
        else:
            fits.append(fit)
            compared.append(LawCompared(law.name, fit.log_likelihood, None))
    if not fits:
        raise NotConverged(compared[0].reason)
    best = max(fits, key=lambda fit: fit.log_likelihood)
    batches, assessors = (
        np.unique(series[name].to_numpy(), return_inverse=True)[1] for name in ("batch", "assessor")
    )
    covariance = clustered_covariance(best, batches, assessors)
    freedom = max(_LEAST_FREEDOM, min(int(batches.max()), int(assessors.max())))
    rng = np.random.default_rng(seed)
    spread = linalg.cholesky(covariance, lower=True)
    stretch = np.sqrt(freedom / rng.chisquare(freedom, size=(draws, 1)))
    drawn = best.params + stretch * (rng.standard_normal((draws, layout.size)) @ spread.T)
    return StalingModel(
        law=best.law,
        layout=layout,
        terms=tuple(layout.terms(best.law)),
        params=best.params,
        covariance=covariance,
        draws=drawn,
        compared=tuple(compared),
        evidence=evidence,
    )


def _fit_law(series: pl.DataFrame, layout: Layout, law: Law) -> Fit:
    """Fit one law; where the shared Ea leaves its range, hold it at the limit."""
    prior = layout.prior(law)
    fit = maximise(VerdictLikelihood(series, layout, law, prior), prior.mean)
    energy = fit.params[layout.energy]
    held = float(np.clip(energy, *ACTIVATION_ENERGY_RANGE))
    if held == energy:
        return fit
    mean, sd = prior.mean.copy(), prior.sd.copy()
    mean[layout.energy], sd[layout.energy] = held, 1e-2
    narrowed = replace(prior, mean=mean, sd=sd)
    return maximise(VerdictLikelihood(series, layout, law, narrowed), mean)


def clustered_covariance(fit: Fit, lots: NDArray[np.intp], assessors: NDArray[np.intp]) -> Array:
    """Return the two-way clustered covariance of a penalised fit; see the head of this file.

    Args:
        fit: the fit.
        lots: cluster of each row, 0 … G−1, shape (n,).
        assessors: the other cluster of each row, shape (n,).
    """
    scores = fit.model.score_obs(fit.params)
    precision = np.diag(fit.model.prior.precision)
    both = np.unique(np.column_stack([lots, assessors]), axis=0, return_inverse=True)[1].ravel()
    meat = _meat(scores, lots) + _meat(scores, assessors) - _meat(scores, both) + precision
    information = np.linalg.inv(fit.covariance)
    root = linalg.cholesky(information, lower=True)
    relative = linalg.solve_triangular(root, meat, lower=True)
    relative = linalg.solve_triangular(root, relative.T, lower=True)
    size, direction = np.linalg.eigh(0.5 * (relative + relative.T))
    widened = (direction * np.maximum(size, 1.0)) @ direction.T
    half = linalg.solve_triangular(root, np.eye(len(root)), lower=True)
    covariance = half.T @ widened @ half
    return np.asarray(0.5 * (covariance + covariance.T))


def _meat(scores: Array, groups: NDArray[np.intp]) -> Array:
    number = int(groups.max()) + 1
    sums = np.zeros((number, scores.shape[1]))
    np.add.at(sums, groups, scores)
    return sums.T @ sums * (number / max(number - 1, 1))
