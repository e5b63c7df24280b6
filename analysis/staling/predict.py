r"""From a fitted staling model to the share of glasses rejected, and to the age that a share marks.

For a style and format whose lots carry the doses O_1 … O_m, the share rejected for age after A days
at 20 °C is

    share(A) = mean over j of F((log A − μ + (b + b_style) · log(O_j / 60 ppb)) / scale)

which averages over the cell's package oxygen, a future lot and an assessor drawn from the people
the panel stands for: the scale of the model holds both. Arrays run over the draws.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.staling.design import ACTIVATION_ENERGY_RANGE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analysis.staling.model import StalingModel
    from analysis.survival.laws import Law

    Array = NDArray[np.float64]

_HALVINGS = 36
_FURTHEST = 30.0  # log days; nothing that far is a shelf life, and exp must not overflow


@dataclass(frozen=True)
class Cells:
    """One or more lots of a style, ready to be averaged, for d parameter vectors.

    Attributes:
        law: the law of W.
        location: log T₂₀ of each lot, shape (d, m).
        scale: shape (d,).
        weights: of the lots, adding to 1, shape (m,).
        activation_energy: of the style, kJ/mol, held within its range, shape (d,).
    """

    law: Law
    location: Array
    scale: Array
    weights: Array
    activation_energy: Array

    def share_rejected(self, log_age: Array) -> Array:
        """Return the share rejected at log days at 20 °C, shape (d,) or (d, a) likewise."""
        column = log_age.reshape(log_age.shape[0], -1, 1)
        w = (column - self.location[:, None, :]) / self.scale[:, None, None]
        return np.asarray(self.law.share_failed(w) @ self.weights).reshape(log_age.shape)

    def age_at(self, share: float) -> Array:
        """Return the days at 20 °C at which `share` is rejected, shape (d,), by bisection."""
        alone = self.location + self.scale[:, None] * self.law.quantile(np.array(share))
        low, high = alone.min(axis=1), alone.max(axis=1)
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            short = self.share_rejected(middle) < share
            low, high = np.where(short, middle, low), np.where(short, high, middle)
        return np.asarray(np.exp(np.clip(0.5 * (low + high), -_FURTHEST, _FURTHEST)))


def cells(
    model: StalingModel,
    style: str,
    formats: Sequence[str],
    log_dose: Array,
    *,
    weights: Array | None = None,
    params: Array | None = None,
) -> Cells:
    """Gather the lots of a style for prediction.

    Args:
        model: the fit.
        style: a style the model has.
        formats: format of each lot, length m.
        log_dose: log(dose / 60 ppb) of each lot, shape (m,).
        weights: of the lots, shape (m,); default equal.
        params: parameter vectors, shape (d, k); default the model's draws.
    """
    drawn = model.draws if params is None else params
    location, energy = model.layout.matrices([style] * len(formats), formats, log_dose)
    place = model.layout.log_scale
    w = np.ones(len(formats)) if weights is None else weights
    return Cells(
        law=model.law,
        location=drawn[:, :place] @ location.T,
        scale=np.exp(drawn[:, place]),
        weights=w / w.sum(),
        activation_energy=np.clip(drawn[:, :place] @ energy[0], *ACTIVATION_ENERGY_RANGE),
    )
