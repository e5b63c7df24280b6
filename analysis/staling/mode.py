"""The mode of the effects, what may be known of them beforehand, and how flat it may be there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import linalg

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_FLATTEST = 0.125  # precision, as a share of the prior's


@dataclass(frozen=True)
class Mode:
    """Where the effects are likeliest, given the spreads.

    Attributes:
        effects: û, shape (k,).
        lots: v̂, shape (lots,).
        schur_root: lower Cholesky root of the Schur complement of N over the lots, shape (k, k);
            the inverse of the complement is the covariance of û.
        lot_precision: diagonal of the lots' part of N without its batch part, shape (lots,).
        pull: N of lots and effects with the lots' part divided out, shape (lots, k).
        value: log p(y, û, v̂ | ψ).
    """

    effects: Array
    lots: Array
    schur_root: Array
    lot_precision: Array
    pull: Array
    value: float


@dataclass(frozen=True)
class Known:
    """What is known of all effects but the lots' beforehand: a normal law.

    Attributes:
        mean: shape (k,).
        precision: the inverse of its covariance, shape (k, k).
    """

    mean: Array
    precision: Array


def held(root: Array, precision: Array) -> Array:
    """Keep a Schur complement from being far flatter in any direction than its prior.

    Data add precision, but for answers that two stories explain: between these the surface is flat
    or dips, and its curvature says nothing of its width. An eigenvalue below a quarter of the
    prior's is lifted, smoothly, to an eighth at least: no direction is wider than 2.8 SDs of its
    prior.
    """
    scaled = root / np.sqrt(precision)[:, None]
    size, direction = np.linalg.eigh(scaled @ scaled.T)
    if size[0] >= 2.0 * _FLATTEST:
        return root
    lifted = np.where(size < 2.0 * _FLATTEST, _FLATTEST + size**2 / (4.0 * _FLATTEST), size)
    back = direction * np.sqrt(precision)[:, None]
    return np.asarray(linalg.cholesky((back * lifted) @ back.T, lower=True))
