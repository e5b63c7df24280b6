r"""Whether an assessor's answers follow what the rest find: who tells glasses apart?

r is the correlation, over glasses, between an assessor's measure and the mean of the others' on the
same sample. It knows no level: who scores high or rejects early, steadily, has the same r. The
bounds are those of Fisher's z = artanh r with the jackknife over lots, t with lots less one
degrees of freedom. An assessor does not follow where r is surely, over the whole panel (Holm),
below a share of the middle assessor's r: three quarters where an attribute is scored, half where
there are verdicts alone, of which a sound taster may have few that reject.

Reference: S. Holm, Scandinavian Journal of Statistics 6 (1979) 65-70.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl
from scipy import stats

from analysis.panel.measure import FEWEST_OTHERS, VERDICT, Measured

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

SURE = 0.05
"""Over a panel, the chance that anybody is said a thing of that is not so."""

AGREEMENT = {
    "assessor": pl.String,
    **dict.fromkeys(
        ("agreement", "agreement_lower", "agreement_upper", "rest_agreement"), pl.Float64
    ),
    "follows": pl.Boolean,
    "measure": pl.String,
}

_LEVEL = 0.90
_MARGIN = 0.75
_MARGIN_VERDICT = 0.5
_ALMOST_ONE = 1.0 - 1e-9
_ROUNDING = 1e-12


def agreement(measured: Measured) -> pl.DataFrame:
    """Hold each assessor's answers against those of the rest.

    Returns:
        assessor, agreement (r), agreement_lower and _upper (90 %), rest_agreement (r of the middle
        assessor), follows (Boolean), measure; nulls where r is not defined. One row a regular
        assessor, in the order of `names`.
    """
    rest, others = measured.rest(measured.value, np.ones(len(measured.value), dtype=np.bool_))
    compared = others >= FEWEST_OTHERS
    found = np.array(
        [
            _correlation(measured.value[mine], rest[mine], measured.lot[mine])
            for mine in (compared & (measured.who == i) for i in range(len(measured.names)))
        ]
    )
    r, error, freedom = found.T
    middle = float(np.nanmedian(r)) if np.isfinite(r).any() else np.nan
    margin = middle * (_MARGIN_VERDICT if measured.measure == VERDICT else _MARGIN)
    z = np.arctanh(r)
    half = stats.t.isf((1.0 - _LEVEL) / 2.0, freedom) * error
    chance = stats.t.cdf((z - np.arctanh(margin)) / error, freedom)
    known = np.isfinite(r)
    lost = np.zeros(len(r), dtype=np.bool_)
    lost[known] = holm(chance[known], SURE)
    return pl.DataFrame(
        {
            "assessor": measured.names,
            "agreement": r,
            "agreement_lower": np.tanh(z - half),
            "agreement_upper": np.tanh(z + half),
            "rest_agreement": np.full(len(r), middle),
            "follows": ~lost,
            "measure": [measured.measure] * len(r),
        },
        schema=AGREEMENT,
        nan_to_null=True,
    ).with_columns(follows=pl.when(pl.col("agreement").is_not_null()).then("follows"))


def holm(chances: Array, sure: float) -> NDArray[np.bool_]:
    """Tell which of some findings stand, at a chance `sure` that any of them is a false alarm.

    Args:
        chances: of each finding, how likely it were if there were nothing.
        sure: for all of them together.
    """
    order = np.argsort(chances, kind="stable")
    within = chances[order] <= sure / np.arange(len(chances), 0, -1)
    stands = np.zeros(len(chances), dtype=np.bool_)
    stands[order] = np.logical_and.accumulate(within)
    return stands


def _correlation(own: Array, rest: Array, lot: NDArray[np.int64]) -> tuple[float, float, float]:
    """Give r, the jackknife standard error of artanh r over lots, and lots less one."""
    lots, place = np.unique(lot, return_inverse=True)
    if len(lots) <= FEWEST_OTHERS:
        return np.nan, np.nan, np.nan
    x, y = own - own.mean(), rest - rest.mean()
    columns = np.stack([np.ones_like(x), x, y, x**2, y**2, x * y])
    sums = np.stack([np.bincount(place, column, len(lots)) for column in columns])
    total = sums.sum(axis=1, keepdims=True)
    left_out = np.arctanh(_r(total - sums))
    r, error = float(_r(total)[0]), np.sqrt(len(lots) - 1.0) * float(left_out.std())
    if not (np.isfinite(r) and error > 0.0):
        return np.nan, np.nan, np.nan
    return r, error, len(lots) - 1.0


def _r(sums: Array) -> Array:
    n, x, y, xx, yy, xy = sums
    spread = np.maximum(n * xx - x**2, 0.0) * np.maximum(n * yy - y**2, 0.0)
    varies = spread > _ROUNDING
    r = np.where(varies, (n * xy - x * y) / np.sqrt(np.where(varies, spread, 1.0)), np.nan)
    return np.asarray(np.clip(r, -_ALMOST_ONE, _ALMOST_ONE))
