r"""The odds between the accounts of a taste complaint, given that it was made.

    p(account) = π(account) · mean R(account) / Σ π · mean R
    factor of an item for an account = (odds with the item) / (odds without it)

π is the prior (`priors`), R how likely age and evidence are under the account (`sums`); bounds and
the rule by which it is decided are in `posterior`. "These odds compare only the causes listed. They
are not the chance of each, and no proof against anyone."

An item's factor is in words: 10 and more strongly, 3 moderately, 1.5 slightly, else it says
nothing; below 1 the same against. Reference for the scale: Jeffreys, Theory of Probability, 3rd
ed., 1961, appendix B, with √10 and 10, from memory; 1.5 is ours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

from analysis.cases.accounts import PRIORS
from analysis.cases.draws import DRAWS
from analysis.cases.explains import explaining_storage
from analysis.cases.next_steps import next_steps
from analysis.cases.particles import PARTICLES, Assumed
from analysis.cases.posterior import odds_factor, posterior
from analysis.cases.priors import prior_odds
from analysis.cases.sums import AGE, sums_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    from numpy.typing import NDArray

    from analysis.cases.case import Case
    from analysis.cases.sums import Sums

    Array = NDArray[np.float64]

STRONGLY, MODERATELY, SLIGHTLY = 10.0, 3.0, 1.5
ASSUMED = Assumed()

_ITEMS = {
    "item": pl.String,
    "account": pl.String,
    "factor": pl.Float64,
    "words": pl.String,
}


@dataclass(frozen=True)
class Weighed:
    """A complaint weighed.

    Attributes:
        odds: account, prior, posterior, lower, upper (0 to 1; bounds of 90 % between them),
            possible, reason (why it cannot be; null where it can); in the accounts' order.
        items: item, account (of those that can be), factor (how many times likelier the item is
            under the account than under the others, all else known), words; sorted by item, then
            in the accounts' order.
        decided: the account for which it is decided; None where it cannot be.
        explains: the storage that would explain it, as `explaining_storage` returns it.
        next_steps: what to ask for next, as `next_steps` returns it.
    """

    odds: pl.DataFrame
    items: pl.DataFrame
    decided: str | None
    explains: pl.DataFrame
    next_steps: pl.DataFrame


def weigh(
    case: Case,
    priors: Mapping[str, float] = PRIORS,
    *,
    assumed: Assumed = ASSUMED,
    draws: int = DRAWS,
    particles: int = PARTICLES,
) -> Weighed:
    """Weigh the accounts of a complaint against each other.

    Args:
        case: the complaint.
        priors: share of taste complaints by account, in any unit.
        assumed: what is assumed of lots and storages.
        draws: of the staling fit, at most.
        particles: lots and storages drawn for each account.

    Raises:
        InputError: the priors are none.
    """
    before = prior_odds(case, priors)
    can_be = before.filter(pl.col("reason").is_null())
    prior = can_be["prior"].to_numpy()
    possible = tuple(can_be["account"])
    sums = sums_of(case, possible, assumed, draws, particles)
    coarse = sums
    if case.questions:  # they have many answers: fewer draws and particles serve them
        coarse = sums_of(case, possible, assumed, draws // 2, particles // 4)
    ratios, _ = sums.without()
    after = posterior(ratios, prior)
    found = pl.DataFrame(
        {
            "account": sums.accounts,
            "posterior": after.share,
            "lower": after.lower,
            "upper": after.upper,
        }
    )
    return Weighed(
        odds=before.join(found, on="account", how="left", maintain_order="left").select(
            "account",
            "prior",
            pl.col("posterior", "lower", "upper").fill_null(0.0),
            pl.col("reason").is_null().alias("possible"),
            "reason",
        ),
        items=_items(sums, prior, after.share),
        decided=None if after.decided is None else sums.accounts[after.decided],
        explains=explaining_storage(case),
        next_steps=next_steps(coarse, prior),
    )


def in_words(factor: float) -> str:
    """Say how strongly an item speaks for an account, or against it."""
    strength = max(factor, 1.0 / factor if factor > 0.0 else math.inf)
    for least, word in ((STRONGLY, "strongly"), (MODERATELY, "moderately"), (SLIGHTLY, "slightly")):
        if strength >= least:
            return f"{word} {'for' if factor > 1.0 else 'against'}"
    return "says nothing"


def _items(sums: Sums, prior: Array, share: Array) -> pl.DataFrame:
    left_out = [(item.name, sums.without(place)[0]) for place, item in enumerate(sums.items)]
    if sums.case.age_days is not None:
        left_out.append((AGE, sums.without(age=False)[0]))
    rows = []
    for name, ratios in sorted(left_out, key=lambda pair: pair[0]):
        before = posterior(ratios, prior).share
        for account, now, then in zip(sums.accounts, share, before, strict=True):
            factor = odds_factor(float(now), float(then))
            rows.append((name, account, factor, in_words(factor)))
    return pl.DataFrame(rows, schema=_ITEMS, orient="row")
