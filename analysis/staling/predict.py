r"""From a fitted staling model to the share of glasses rejected, and to the age that a share marks.

For a style and format whose lots carry the doses O_1 … O_m, the share rejected for age after A days
at 20 °C is

    share(A) = mean over j of E[F((log A − μ + (b + b_style) · log(O_j / 60 ppb) − s·N) / scale)]

with N standard normal and s² = lot² + batch² + assessor²: it averages over the cell's package
oxygen, a future lot and an assessor drawn from the people the panel stands for. The expectation is
exact for the lognormal law and by Gauss-Hermite quadrature for the others. Arrays run over draws.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import logit

from analysis.staling.design import ACTIVATION_ENERGY_RANGE
from analysis.survival.laws import LOGNORMAL

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analysis.staling.design import Layout
    from analysis.staling.model import LawDraws, StalingModel
    from analysis.survival.laws import Law

    Array = NDArray[np.float64]

_NODES, _NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(11)
_NODE_WEIGHTS = _NODE_WEIGHTS / _NODE_WEIGHTS.sum()
_STEPS = 12
_FURTHEST = 30.0  # log days; nothing that far is a shelf life, and exp must not overflow


@dataclass(frozen=True)
class LawPart:
    """The draws of one law: location (d, m), scale (d,), s (d,)."""

    law: Law
    location: Array
    scale: Array
    between: Array

    def expected(self, away: Array) -> tuple[Array, Array]:
        """Return E[F] and its slope in log age, elementwise on log age − location, shape (d, …)."""
        shape = (-1, *[1] * (away.ndim - 1))
        scale, between = self.scale.reshape(shape), self.between.reshape(shape)
        if self.law is LOGNORMAL:
            spread = np.hypot(scale, between)
            return self.law.share_failed(away / spread), _density(self.law, away / spread) / spread
        share, slope = np.zeros(away.shape), np.zeros(away.shape)
        for node, weight in zip(_NODES, _NODE_WEIGHTS, strict=True):
            w = np.clip((away - between * node) / scale, -_FURTHEST, _FURTHEST)
            share += weight * self.law.share_failed(w)
            slope += weight * _density(self.law, w) / scale
        return share, slope

    def with_between(self, between: Array) -> LawPart:
        """Return the same with another SD between lots and assessors, shape (d,)."""
        return replace(self, between=between)

    def averaged(self, log_age: Array, weights: Array) -> tuple[Array, Array]:
        """Return the share rejected over the lots and its slope in log age, shape (d, a)."""
        share, slope = self.expected(log_age[:, :, None] - self.location[:, None, :])
        return share @ weights, slope @ weights


def _density(law: Law, w: Array) -> Array:
    return np.exp(law.log_density(w))


@dataclass(frozen=True)
class Cells:
    """One or more lots of a style, ready to be averaged, for d parameter vectors.

    Attributes:
        parts: the draws by law, one after the other.
        weights: of the lots, adding to 1, shape (m,).
        activation_energy: of the style, kJ/mol, held within its range, shape (d,).
    """

    parts: tuple[LawPart, ...]
    weights: Array
    activation_energy: Array

    def share_rejected(self, log_age: Array) -> Array:
        """Return the share rejected at log days at 20 °C, shape (d,) or (d, a) likewise."""
        column = log_age.reshape(log_age.shape[0], -1)
        begins = np.cumsum([0, *(len(part.scale) for part in self.parts)])
        shares = [
            part.averaged(column[begin : begin + len(part.scale)], self.weights)[0]
            for part, begin in zip(self.parts, begins, strict=False)
        ]
        return np.concatenate(shares).reshape(log_age.shape)

    def share_of_each(self, log_age: Array) -> Array:
        """Return the share rejected of each lot at its own log days at 20 °C, (m,) to (d, m)."""
        return np.concatenate([part.expected(log_age - part.location)[0] for part in self.parts])

    def age_at(self, share: float) -> Array:
        """Return the days at 20 °C at which `share` is rejected, shape (d,).

        By Newton steps on the logit of the share, which is nearly straight in log age.
        """
        ages = []
        for part in self.parts:
            spread = np.hypot(1.5 * part.scale, part.between)
            log_age = part.location @ self.weights + spread * LOGNORMAL.quantile(np.array(share))
            for _ in range(_STEPS):
                reached, slope = part.averaged(log_age[:, None], self.weights)
                inside = np.clip(reached[:, 0], 1e-12, 1.0 - 1e-12)
                by_logit = np.maximum(slope[:, 0] / (inside * (1.0 - inside)), 1e-3)
                log_age = log_age + np.clip((logit(share) - logit(inside)) / by_logit, -1.0, 1.0)
            ages.append(log_age)
        return np.exp(np.clip(np.concatenate(ages), -_FURTHEST, _FURTHEST))


def cells(
    model: StalingModel,
    style: str,
    formats: Sequence[str],
    log_dose: Array,
    *,
    weights: Array | None = None,
    draws: Sequence[LawDraws] | None = None,
    layout: Layout | None = None,
) -> Cells:
    """Gather the lots of a style for prediction.

    Args:
        model: the fit.
        style: a style the model has.
        formats: format of each lot, length m.
        log_dose: log(dose / 60 ppb) of each lot, shape (m,).
        weights: of the lots, shape (m,); default equal.
        draws: parameter vectors by law; default the model's draws.
        layout: where their parameters stand; default the model's.
    """
    return cells_under(
        model.draws if draws is None else draws,
        layout or model.layout,
        style,
        formats,
        log_dose,
        weights=weights,
    )


def cells_under(
    draws: Sequence[LawDraws],
    layout: Layout,
    style: str,
    formats: Sequence[str],
    log_dose: Array,
    *,
    weights: Array | None = None,
) -> Cells:
    """Gather the lots of a style under given parameter vectors; arguments as for `cells`."""
    location, energy = layout.matrices([style] * len(formats), formats, log_dose)
    w = np.ones(len(formats)) if weights is None else weights
    block, at_energy = layout.blocks[0], layout.blocks[1]
    return Cells(
        parts=tuple(
            LawPart(
                part.law,
                part.params[:, block] @ location.T,
                np.exp(part.params[:, layout.log_scale]),
                part.between,
            )
            for part in draws
        ),
        weights=w / w.sum(),
        activation_energy=np.clip(
            np.concatenate([part.params[:, at_energy] @ energy[0] for part in draws]),
            *ACTIVATION_ENERGY_RANGE,
        ),
    )
