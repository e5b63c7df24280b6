r"""The staling fit as a complaint asks of it: who rejects a lot of a known life.

    S(x) = E[F((x − e) / scale)],   x = log age at 20 °C − log T20 of the lot,   e ~ N(0, assessors)

F is the law of a draw and e the drinker. S is tabulated once for each draw, over −10 to 8 of its
SDs in steps of 0.02, and read off by straight lines: within 2 parts in 1,000 at five SDs.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.staling.predict import LawPart
from analysis.survival.laws import law_named

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

DRAWS = 128
_LOTS_OF_BETWEEN = 0.4  # where a run has not kept the two apart; assumed
_LOWEST, _HIGHEST, _STEP = -10.0, 8.0, 0.02


@dataclass(frozen=True)
class Draws:
    """Draws of the staling fit, d of them, in their order.

    Attributes:
        location: of log days at 20 °C and 60 ppb, shape (d,).
        exponent: b, shape (d,).
        lots: SD between lots, log days, shape (d,).
        energy: Ea, kJ/mol, shape (d,).
        spread: unit of the table, log days, shape (d,).
        table: S over an even grid of (log age − log T20) / spread, shape (d, g).
    """

    location: Array
    exponent: Array
    lots: Array
    energy: Array
    spread: Array
    table: Array = field(repr=False)

    def share(self, away: Array) -> Array:
        """Return S at log age − log T20, shape (d, …)."""
        shape = (-1, *[1] * (away.ndim - 1))
        length = self.table.shape[1]
        place = (away / self.spread.reshape(shape) - _LOWEST) / _STEP
        place = np.clip(place, 0.0, length - 1.001)
        left = place.astype(np.intp)
        right_share = place - left
        left += (np.arange(len(self.table)) * length).reshape(shape)
        flat = self.table.ravel()
        return np.asarray(flat[left] * (1.0 - right_share) + flat[left + 1] * right_share)


def draws_of(rows: pl.DataFrame, most: int = DRAWS) -> Draws:
    """Take at most so many draws, evenly from all, and tabulate S for each.

    Args:
        rows: as `Case.draws`.
        most: of draws.
    """
    ordered = rows.sort("draw")
    number = min(most, ordered.height)
    kept = ordered[(np.arange(number) * ordered.height // number).tolist()].with_columns(
        pl.col("between_lots").fill_null(_LOTS_OF_BETWEEN * pl.col("between"))
    )
    column = {name: kept[name].to_numpy() for name in kept.columns if name != "distribution"}
    lots, scale = column["between_lots"], column["scale"]
    assessors = np.sqrt(np.maximum(column["between"] ** 2 - lots**2, 0.0))
    spread = np.hypot(scale, assessors)
    grid = np.arange(_LOWEST, _HIGHEST + _STEP, _STEP)
    table = np.empty((number, len(grid)))
    for name in kept["distribution"].unique():
        own = (kept["distribution"] == name).to_numpy()
        part = LawPart(law_named(name), np.zeros((own.sum(), 1)), scale[own], assessors[own])
        table[own] = part.expected(grid * spread[own][:, None])[0]
    return Draws(
        location=column["location"],
        exponent=column["oxygen_exponent"],
        lots=lots,
        energy=column["activation_energy_kj_mol"],
        spread=spread,
        table=table,
    )
