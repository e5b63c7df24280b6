r"""The staling model fitted to verdicts, and what is known of its parameters.

Each law's spreads ψ maximise the marginal likelihood (`laplace`). What the parameters may be is
drawn in two steps: ψ from a normal law around the maximum, with the curvature there, and given ψ
the effects from the normal law around their mode. Laws whose marginal log-likelihood lies within 2
of the best share the draws by their weights exp(Φ).

Reference: Rue, Martino & Chopin, J. Royal Stat. Soc. B 71, 2009, 319-392, for the two steps.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
from scipy import linalg

from analysis.errors import NotConverged
from analysis.staling.design import (
    ACTIVATION_ENERGY_RANGE,
    ASSESSOR,
    BATCH,
    LOT,
    SPREAD_PRIORS,
    SPREADS,
    Layout,
    Term,
    designed,
)
from analysis.staling.law_fit import (
    NARROWEST_LOG_SPREAD,
    WIDEST_LOG_SPREAD,
    LawFit,
    LawToFit,
    try_law,
)
from analysis.staling.verdicts import error_share
from analysis.survival.laws import LAWS, Law

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analysis.each import Each
    from analysis.staling.evidence import Evidence
    from analysis.staling.laplace import Laplace
    from analysis.staling.mode import Mode

    Array = NDArray[np.float64]

DRAWS = 2_000
SEED = 20
_SPREAD_DRAWS = 25
_WITHIN = 2.0


@dataclass(frozen=True)
class LawDraws:
    """What the parameters may be under one law.

    Attributes:
        law: the law.
        params: effects but the lots', shape (d, k).
        spreads: SDs of style × format, lot, batch and assessor, log days, shape (d, 4).
    """

    law: Law
    params: Array
    spreads: Array

    def every(self, number: int, of: int) -> LawDraws:
        """Keep `number` of the `of` draws, evenly spread over the spreads drawn."""
        kept = np.arange(number) * of // number
        return LawDraws(self.law, self.params[kept], self.spreads[kept])

    @property
    def between(self) -> Array:
        """SD of log age between a future lot and a random assessor, shape (d,)."""
        return np.asarray(np.sqrt((self.spreads[:, [LOT, BATCH, ASSESSOR]] ** 2).sum(axis=1)))

    @property
    def between_lots(self) -> Array:
        """SD of log age between future lots, each of a batch of its own, shape (d,)."""
        return np.asarray(np.sqrt((self.spreads[:, [LOT, BATCH]] ** 2).sum(axis=1)))


@dataclass(frozen=True)
class LawCompared:
    """A law that was tried: its log-likelihood and weight, or why there is none."""

    distribution: str
    log_likelihood: float | None
    weight: float
    reason: str | None


@dataclass(frozen=True)
class StalingModel:
    """A fitted staling model.

    Attributes:
        best: the law with the highest marginal likelihood.
        terms: the parameters with their priors.
        draws: what the parameters may be, by law.
        compared: the laws tried.
        evidence: what it was fitted to.
    """

    best: LawFit
    terms: tuple[Term, ...]
    draws: tuple[LawDraws, ...] = field(repr=False)
    compared: tuple[LawCompared, ...]
    evidence: Evidence = field(repr=False)

    @property
    def law(self) -> Law:
        """The likeliest law."""
        return self.best.law

    @property
    def layout(self) -> Layout:
        """Where each parameter stands."""
        return self.best.laplace.layout

    @property
    def estimate(self) -> LawDraws:
        """The mode under the likeliest law, as a single draw."""
        spreads = np.exp(self.best.log_spreads)
        return LawDraws(self.law, self.best.mode.effects[None, :], spreads[None, :])

    @property
    def standard_errors(self) -> Array:
        """SD of each parameter over the draws of the likeliest law, shape (k,)."""
        drawn = next(part.params for part in self.draws if part.law is self.law)
        return np.asarray(drawn.std(axis=0))

    @property
    def energies(self) -> dict[str, float]:
        """Activation energy of each style at the estimate, kJ/mol, within its range."""
        effects, place = self.best.mode.effects, self.layout.energy
        return {
            style: float(np.clip(effects[place] + effects[place + 1 + n], *ACTIVATION_ENERGY_RANGE))
            for n, style in enumerate(self.layout.styles)
        }

    @property
    def error_shares(self) -> tuple[Array, Array]:
        """False alarms and misses of each assessor at the estimate, in the order of the layout."""
        params = self.best.mode.effects
        alarm, miss = params[self.layout.false_alarm], params[self.layout.miss]
        return error_share(alarm[0] + alarm[1:]), error_share(miss[0] + miss[1:])

    def known(self, *positions: int) -> bool:
        """Tell whether the data have halved what the priors leave open of a sum of parameters."""
        drawn = np.concatenate([part.params[:, positions].sum(axis=1) for part in self.draws])
        assumed = sum((self.terms[place].prior_sd or 0.0) ** 2 for place in positions) ** 0.5
        return bool(drawn.std() <= 0.5 * assumed)

    def source(self, position: int) -> str:
        """Say `fitted` where the data have at least halved the prior's SD, else `prior`."""
        assumed = self.terms[position].prior_sd
        if assumed is None:
            return "fitted"
        return "fitted" if self.standard_errors[position] <= 0.5 * assumed else "prior"


def fit_staling(
    evidence: Evidence,
    *,
    draws: int = DRAWS,
    seed: int = SEED,
    laws: Sequence[Law] = LAWS,
    each: Each = map,
) -> StalingModel:
    """Fit the laws and draw what their parameters may be.

    Args:
        evidence: series and lots.
        draws: number of parameter draws over all laws.
        seed: of the draws.
        laws: the laws of W to compare.
        each: spreads the laws.

    Raises:
        NotEstimable: there are no verdicts on aged beer, or nothing was rejected.
        NotConverged: no law settled.
    """
    series, layout = designed(evidence)
    tried = list(each(try_law, [LawToFit(series, layout, law) for law in laws]))
    fits = [fit for fit in tried if isinstance(fit, LawFit)]
    failed = {
        law.name: str(error)
        for law, error in zip(laws, tried, strict=True)
        if isinstance(error, NotConverged)
    }
    rng = np.random.default_rng(seed)
    near: list[LawFit] = []
    drawn: list[LawDraws] = []
    for fit in sorted(fits, key=lambda fit: -fit.log_likelihood):
        if near and fit.log_likelihood <= near[0].log_likelihood - _WITHIN:
            break
        try:
            drawn.append(draw(fit, draws, rng))
            near.append(fit)
        except NotConverged as error:
            failed[fit.law.name] = str(error)
    if not near:
        raise NotConverged(next(iter(failed.values())))
    best = near[0]
    weights = np.exp([fit.log_likelihood - best.log_likelihood for fit in near])
    weights /= weights.sum()
    shared = tuple(
        part.every(max(1, round(draws * weight)), draws)
        for part, weight in zip(drawn, weights, strict=True)
    )
    weight_of = dict(zip((fit.law.name for fit in near), weights, strict=True))
    likelihood_of = {f.law.name: f.log_likelihood for f in fits if f.law.name not in failed}
    return StalingModel(
        best=best,
        terms=tuple(layout.terms(best.law)),
        draws=shared,
        compared=tuple(
            LawCompared(
                law.name,
                likelihood_of.get(law.name),
                float(weight_of.get(law.name, 0.0)),
                failed.get(law.name),
            )
            for law in laws
        ),
        evidence=evidence,
    )


def draw(fit: LawFit, number: int, rng: np.random.Generator) -> LawDraws:
    """Draw parameters under one law: spreads around their maximum, effects around their mode.

    Args:
        fit: the law's fit.
        number: of draws.
        rng: a seeded generator.
    """
    groups = min(_SPREAD_DRAWS, number)
    root = linalg.cholesky(fit.spread_covariance, lower=True)
    log_spreads = fit.log_spreads + rng.standard_normal((groups, len(SPREADS))) @ root.T
    log_spreads = np.clip(log_spreads, NARROWEST_LOG_SPREAD, WIDEST_LOG_SPREAD)
    start = (fit.mode.effects, fit.mode.lots)
    params, spreads = [], []
    for group in range(groups):
        share = number // groups + (group < number % groups)
        drawn = np.exp(log_spreads[group])
        mode = fit.laplace.mode(drawn, start)
        params.append(around(mode.effects, mode.schur_root, share, rng))
        spreads.append(np.tile(drawn, (share, 1)))
    return LawDraws(fit.law, np.concatenate(params), np.concatenate(spreads))


def redraw(
    model: StalingModel, laplace: Laplace, number: int, seed: int = SEED
) -> tuple[Mode, LawDraws]:
    """Refit the likeliest law to other series or columns at the model's spreads, and draw.

    Args:
        model: the fit whose law and spreads are kept.
        laplace: the other series or columns under that law.
        number: of draws.
        seed: of the draws.

    Raises:
        NotConverged: the effects did not settle.
    """
    spreads = np.exp(model.best.log_spreads)
    mode = laplace.mode(spreads)
    drawn = around(mode.effects, mode.schur_root, number, np.random.default_rng(seed))
    return mode, LawDraws(model.law, drawn, np.tile(spreads, (number, 1)))


def around(mean: Array, root: Array, number: int, rng: np.random.Generator) -> Array:
    """Draw from the normal law whose precision has the lower Cholesky root, shape (number, k)."""
    noise = rng.standard_normal((number, len(mean)))
    away = linalg.solve_triangular(root, noise.T, lower=True, trans="T")
    return np.asarray(mean + away.T)


def spread_table(model: StalingModel) -> pl.DataFrame:
    """List the spreads with their priors and whether the data have narrowed them.

    Returns:
        name, unit, estimate, standard_error, prior_mean, prior_sd, source; one row a spread. The
        prior is half-normal: its SD is (1 − 2/π)^½ of its scale.
    """
    drawn = next(part.spreads for part in model.draws if part.law is model.law)
    error, assumed = drawn.std(axis=0), SPREAD_PRIORS * np.sqrt(1.0 - 2.0 / np.pi)
    return pl.DataFrame(
        {
            "name": [f"spread of {name}" for name in SPREADS],
            "unit": "log days",
            "estimate": np.exp(model.best.log_spreads),
            "standard_error": error,
            "prior_mean": SPREAD_PRIORS * np.sqrt(2.0 / np.pi),
            "prior_sd": assumed,
            "source": np.where(error <= 0.5 * assumed, "fitted", "prior"),
        }
    )
