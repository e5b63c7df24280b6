"""A complaint whose lot is not known: the odds of each lot it may be, averaged over them.

    p(account) = Σ p(lot) · p(account | lot)

Bounds are the lowest and the highest of the lots that are likelier than one in twenty, and it is
decided only where each of these is decided for the same account.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from analysis.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analysis.cases.odds import Weighed

_COUNTS = 0.05


def averaged(lots: Sequence[tuple[float, Weighed]]) -> tuple[pl.DataFrame, str | None]:
    """Average the odds over the lots that a complaint may be about.

    Args:
        lots: how likely each is, in any unit, and its odds.

    Returns:
        The odds, as `Weighed.odds`, possible where they are for any lot; and the account for which
        it is decided, None where it cannot be.

    Raises:
        InputError: there is no lot that it may be.
    """
    total = sum(weight for weight, _ in lots)
    if not total > 0.0 or min(weight for weight, _ in lots) < 0.0:
        message = "none of these lots can be what the complaint is about"
        raise InputError(message)
    weighed = pl.concat(
        each.odds.with_row_index("place").with_columns(lot=pl.lit(weight / total))
        for weight, each in lots
    )
    counts = pl.col("lot") >= min(_COUNTS, 1.0 / len(lots))
    odds = weighed.group_by("place", "account").agg(
        prior=(pl.col("prior") * pl.col("lot")).sum(),
        posterior=(pl.col("posterior") * pl.col("lot")).sum(),
        lower=pl.col("lower").filter(counts).min(),
        upper=pl.col("upper").filter(counts).max(),
        possible=pl.col("possible").any(),
        reason=pl.when(pl.col("possible").any()).then(None).otherwise(pl.col("reason").first()),
    )
    likely = [
        each.decided for weight, each in lots if weight / total >= min(_COUNTS, 1 / len(lots))
    ]
    return odds.sort("place").drop("place"), likely[0] if len(set(likely)) == 1 else None
