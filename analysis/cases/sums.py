r"""How likely the age and the evidence are under each account, given that somebody complained.

    R(account) = ∫ p(u, v, w | account) ∫ f(a) S(a; u, v, w) g(a) da · Π items(u, v, w)
                 ──────────────────────────────────────────────────────────────────────
                          ∫ p(u, v, w | account) ∫ f(a) S(a; u, v, w) da

g(a) is what is known of the age when it was opened: nothing (1), a normal law, or a single day.
The lower line is the account's chance of a complaint at all: an account under which many complain
is not the likelier for it once the complaint is given. Both run over the ages that the account
allows: up to the printed day for `date too long`, beyond it for `past its date`, all for the
others. Light and dispense depend on no age: S is 1. One R for each draw of the staling fit, by the
same particles above and below, so that without evidence it is 1 exactly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from analysis.cases.accounts import (
    ACCOUNTS,
    BOTH,
    DATE_TOO_LONG,
    DISPENSE,
    HIGH_OXYGEN,
    LIGHT,
    PAST_ITS_DATE,
    WARM_TRADE,
    says,
)
from analysis.cases.ages import nodes
from analysis.cases.draws import draws_of
from analysis.cases.evidence import Sign
from analysis.cases.particles import Way, world_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.cases.case import Case
    from analysis.cases.evidence import Item
    from analysis.cases.particles import Assumed, Particles

    Array = NDArray[np.float64]

AGE = "the age on the day"
WORDS = "what the drinker calls it"

_INSIDE, _AFTER, _SEEN = 16, 6, 10
_HARDLY = 1e-6  # of what a normal law would have if all ages were drunk alike


@dataclass(frozen=True)
class Ages:
    """A few ages that stand for all.

    Attributes:
        days: from packaging, shape (n,).
        drunk: weight of each among the ages at which it is drunk, shape (n,).
        seen: the same times what is known of the age, shape (n,).
        after: whether it lies after the printed day, shape (n,).
    """

    days: Array
    drunk: Array
    seen: Array
    after: NDArray[np.bool_]

    def allowed(self, account: str) -> Array:
        """Return 1 for the ages that an account allows, else 0."""
        if account == DATE_TOO_LONG:
            return np.where(self.after, 0.0, 1.0)
        return (
            np.where(self.after, 1.0, 0.0) if account == PAST_ITS_DATE else np.ones(len(self.days))
        )


def ages_of(case: Case) -> Ages:
    """Gather the ages at which it is drunk, and those at which it may have been opened."""
    printed = np.inf if case.printed_days is None else case.printed_days
    days, weights = case.ages_drunk.days, case.ages_drunk.weights

    def split(at: Array, weight: Array, inside: int, after: int) -> tuple[Array, Array]:
        parts = (
            nodes(at, np.where(at <= printed, weight, 0.0), inside),
            nodes(at, np.where(at > printed, weight, 0.0), after),
        )
        return np.concatenate([days for days, _ in parts]), np.concatenate([w for _, w in parts])

    drunk_at, drunk = split(days, weights, _INSIDE, _AFTER)
    if case.age_days is None:
        return Ages(drunk_at, drunk, drunk, drunk_at > printed)
    if case.age_sd == 0.0:
        seen_at, seen = np.array([case.age_days]), np.ones(1)
    else:
        last = max(len(days), int(case.age_days + 5.0 * case.age_sd))
        every = np.arange(1.0, last + 1.0)
        known = np.exp(-0.5 * ((every - case.age_days) / case.age_sd) ** 2)
        both = known * np.pad(weights, (0, last - len(weights)))
        even = known / len(every)
        seen_at, seen = split(
            every, both if both.sum() > _HARDLY * even.sum() else even, _SEEN, _SEEN
        )
    at = np.concatenate([drunk_at, seen_at])
    return Ages(
        at,
        np.concatenate([drunk, np.zeros(len(seen))]),
        np.concatenate([np.zeros(len(drunk)), seen]),
        at > printed,
    )


@dataclass(frozen=True)
class Side:
    """One account's particles.

    Attributes:
        account: its name.
        lots: the particles.
        rejected: share of drinkers who reject at each age allowed, (d, j, n); 0 where not allowed.
        complain: its chance of a complaint at all, by draw, shape (d,).
        at_any_age: log of the same by particle, (d, j).
        at_its_age: log weight of the age as far as it is known, (d, j).
        logs: log likelihood of each item, broadcast to (d, j).
    """

    account: str
    lots: Particles = field(repr=False)
    rejected: Array = field(repr=False)
    complain: Array = field(repr=False)
    at_any_age: Array = field(repr=False)
    at_its_age: Array = field(repr=False)
    logs: tuple[Array, ...] = field(repr=False)


@dataclass(frozen=True)
class Sums:
    """Everything needed to weigh a complaint, for some of its accounts.

    Attributes:
        case: the complaint.
        ages: those that stand for all.
        items: the evidence, sorted by name, the words of the complaint among it.
        sides: one an account, in their order.
        draws: of the staling fit.
    """

    case: Case
    ages: Ages
    items: tuple[Item, ...]
    sides: tuple[Side, ...]
    draws: int

    @cached_property
    def accounts(self) -> tuple[str, ...]:
        """Their names."""
        return tuple(side.account for side in self.sides)

    def without(self, item: int | None = None, *, age: bool = True) -> tuple[Array, float]:
        """Return R of each account in each draw, (accounts, d), and the log of what it is short of.

        Args:
            item: place of one to be left out.
            age: whether the age on the day counts.
        """
        logs = [
            self._logs(side, item) + (side.at_its_age if age else side.at_any_age)
            for side in self.sides
        ]
        most = _highest(logs)
        return self.ratios([np.exp(log - most) for log in logs]), most

    @property
    def evidence(self) -> list[Array]:
        """How likely all items are without the age, one array an account, at most 1."""
        logs = [self._logs(side, None) for side in self.sides]
        most = _highest(logs)
        return [np.exp(log - most) for log in logs]

    def ratios(self, weights: list[Array]) -> Array:
        """Return R, (accounts, d), of what weighs so much in each particle of each account."""
        means = [
            weight.mean(axis=1) / side.complain
            for weight, side in zip(weights, self.sides, strict=True)
        ]
        return np.stack(np.broadcast_arrays(np.empty(self.draws), *means)[1:])

    def _logs(self, side: Side, left_out: int | None) -> Array:
        kept = (log for place, log in enumerate(side.logs) if place != left_out)
        return sum(kept, start=np.zeros((1, 1)))


def _highest(logs: list[Array]) -> float:
    most = max(float(log.max()) for log in logs)
    return most if math.isfinite(most) else 0.0


def sums_of(
    case: Case, accounts: tuple[str, ...], assumed: Assumed, draws: int, particles: int
) -> Sums:
    """Work out what every account makes of every item.

    Args:
        case: the complaint.
        accounts: those that can be.
        assumed: what is assumed of lots and storages.
        draws: of the staling fit, at most.
        particles: for each account.
    """
    world = world_of(
        draws_of(case.draws, draws),
        Way(case.stages, case.trade_from),
        case.ages_drunk,
        case.usual_log_ppb,
        case.ingress_dose_ppb,
        assumed,
        particles,
    )
    ages = ages_of(case)
    words = Sign(WORDS, says(case.categories))
    items = tuple(sorted((*case.items, words), key=lambda item: item.name))
    drawn = {(False, False): world.usual_lots}
    shares: dict[tuple[bool, bool], Array] = {}
    sides = []
    for account in ACCOUNTS:
        if account in accounts:
            kind = account in (HIGH_OXYGEN, BOTH), account in (WARM_TRADE, BOTH)
            if kind not in drawn:
                drawn[kind] = world.under(high=kind[0], warm=kind[1])
            lots = drawn[kind]
            if account in (LIGHT, DISPENSE):
                rejected = np.ones((1, 1, len(ages.days)))
            else:
                if kind not in shares:
                    shares[kind] = lots.rejected(ages.days)
                rejected = shares[kind]
            sides.append(_side(account, lots, rejected, ages, items))
    return Sums(case, ages, items, tuple(sides), len(world.draws.location))


def _side(
    account: str, lots: Particles, rejected: Array, ages: Ages, items: tuple[Item, ...]
) -> Side:
    allowed = ages.allowed(account)
    at_any_age = rejected @ (allowed * ages.drunk)
    with np.errstate(divide="ignore"):  # an age that an account does not allow
        return Side(
            account=account,
            lots=lots,
            rejected=rejected * allowed,
            complain=np.maximum(at_any_age.mean(axis=1), 1e-300),
            at_any_age=np.log(at_any_age),
            at_its_age=np.log(rejected @ (allowed * ages.seen)),
            logs=tuple(item.log_likelihood(lots, account) for item in items),
        )
