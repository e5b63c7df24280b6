r"""The odds between the accounts of a taste complaint, given that it was made.

    p(account) = π(account) · mean R(account) / Σ π · mean R          mean over draws of the fit
    factor of an item for an account = (odds with the item) / (odds without it)

π is the prior, R how likely age and evidence are under the account (`sums`). Within a draw p uses
that draw's R; its bounds are the 5 and 95 % quantiles over the draws, each with the weight that the
evidence gives it and with assumptions of its own. "These odds compare only the causes listed. They
are not the chance of each, and no proof against anyone."

A complaint is decided for an account where
    p ≥ 0.80,  its lower bound ≥ 0.50,  and all evidence together favours it 3 times or more,
so that a prior alone never decides; else it cannot be decided.

An item's factor is in words: 10 and more strongly, 3 moderately, 1.5 slightly, else it says
nothing; below 1 the same against. Reference for the scale: Jeffreys, Theory of Probability, 3rd
ed., 1961, appendix B, with √10 and 10, from memory; 1.5 is ours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.cases.accounts import PRIORS
from analysis.cases.draws import DRAWS
from analysis.cases.particles import PARTICLES, Assumed
from analysis.cases.priors import prior_odds
from analysis.cases.sums import AGE, sums_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from analysis.cases.case import Case
    from analysis.cases.sums import Sums

    Array = NDArray[np.float64]

LIKELY = 0.80
LOWER = 0.50
FAVOURED = 3.0
STRONGLY, MODERATELY, SLIGHTLY = 10.0, 3.0, 1.5
ASSUMED = Assumed()

_BOUNDS = (0.05, 0.95)
_ITEMS = {
    "item": pl.String,
    "account": pl.String,
    "factor": pl.Float64,
    "words": pl.String,
}


@dataclass(frozen=True)
class Posterior:
    """What the evidence leaves of the accounts that can be.

    Attributes:
        share: of each, adding to 1, shape (accounts,).
        lower, upper: its bounds, 90 % between them, shape (accounts,).
        decided: place of the account for which it is decided; None where it cannot be.
    """

    share: Array
    lower: Array
    upper: Array
    decided: int | None


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
        log_evidence: log of how likely age and evidence are, all accounts together: what to weigh
            one lot against another with.
    """

    odds: pl.DataFrame
    items: pl.DataFrame
    decided: str | None
    log_evidence: float


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
    sums = sums_of(case, tuple(can_be["account"]), assumed, draws, particles)
    ratios, offset = sums.without()
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
        log_evidence=math.log(max(float((prior @ ratios).mean()), 1e-300)) + offset,
    )


def posterior(ratios: Array, prior: Array) -> Posterior:
    """Return what evidence leaves of the accounts.

    Args:
        ratios: R by account and draw, in any common unit, shape (accounts, d).
        prior: of each account, adding to 1, shape (accounts,).
    """
    joint = prior[:, None] * ratios
    by_draw = joint.sum(axis=0)
    total = by_draw.sum()
    if not total > 0.0:
        return Posterior(prior, np.zeros(len(prior)), np.ones(len(prior)), None)
    share = joint.sum(axis=1) / total
    within = joint / np.where(by_draw > 0.0, by_draw, 1.0)
    lower, upper = (
        np.array([_quantile(one, by_draw / total, q) for one in within]) for q in _BOUNDS
    )
    likeliest = int(share.argmax())
    decided = (
        share[likeliest] >= LIKELY
        and lower[likeliest] >= LOWER
        and odds_factor(share[likeliest], prior[likeliest]) >= FAVOURED
    )
    return Posterior(share, lower, upper, likeliest if decided else None)


def odds_factor(share: float, before: float) -> float:
    """Return by how much the odds of a share rose; 1 where both are sure."""
    if min(share, before) >= 1.0 or max(share, before) <= 0.0:
        return 1.0
    if share >= 1.0 or before <= 0.0:
        return math.inf
    return share / (1.0 - share) * (1.0 - before) / before if before < 1.0 else 0.0


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


def _quantile(values: Array, weights: Array, share: float) -> float:
    order = np.argsort(values, kind="stable")
    reached = np.cumsum(weights[order])
    return float(values[order][min(int(np.searchsorted(reached, share)), len(values) - 1)])
