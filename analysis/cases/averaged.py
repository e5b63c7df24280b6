"""The odds between the accounts where it is not sure which lot the complaint is about.

    p(account) = Σ over lots  odds of the lot · p(account | that lot)

and the same of priors and bounds. Lots without odds of their own are left out, and the odds of the
others made to add to 1. Decided is what `odds` calls so, of the averages.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from analysis.cases.accounts import ACCOUNTS
from analysis.cases.odds import FAVOURED, LIKELY, LOWER, odds_factor

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analysis.cases.odds import Weighed

_NUMBERS = ("prior", "posterior", "lower", "upper")


def averaged(weighed: Sequence[tuple[float, Weighed]]) -> tuple[pl.DataFrame, str | None]:
    """Average odds over the lots that a complaint may be about.

    Args:
        weighed: odds of each lot, above 0, in any unit, and what was weighed for it; one at least.

    Returns:
        `Weighed.odds` of the average, and the account for which it is decided; None where it cannot
        be. An account is possible where it is for any lot.
    """
    if len(weighed) == 1:
        (_, only) = weighed[0]
        return only.odds, only.decided
    total = sum(weight for weight, _ in weighed)
    parts = [one.odds.with_columns(weight=pl.lit(weight / total)) for weight, one in weighed]
    order = pl.col("account").replace_strict(dict(zip(ACCOUNTS, range(len(ACCOUNTS)), strict=True)))
    mean = (
        pl.concat(parts)
        .group_by("account", maintain_order=True)
        .agg(
            *((pl.col(name) * pl.col("weight")).sum() for name in _NUMBERS),
            pl.col("possible").any(),
            pl.when(~pl.col("possible").any()).then(pl.col("reason").first()),
        )
        .sort(order)
    )
    first = mean.sort("posterior", descending=True, maintain_order=True).row(0, named=True)
    sure = (
        first["posterior"] >= LIKELY
        and first["lower"] >= LOWER
        and odds_factor(first["posterior"], first["prior"]) >= FAVOURED
    )
    return mean, first["account"] if sure else None
