"""Difference tests: what so many correct answers of so many say, and what they cannot.

The answers of people who notice nothing are binomial at the method's share of lucky guesses, so
every probability here is exact. Intervals are Clopper and Pearson's, so that the lower bound is
above nobody exactly where the test finds a difference: at 1 − 2α for a test to one side, at 1 − α
for one to both.

References: ISO 4120 (triangle), ISO 10399 (duo-trio), ISO 5495 (paired); Lawless & Heymann, Sensory
Evaluation of Food, 2010, chapters 4 and 5.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.stats import beta, binom

from analysis.errors import InputError, NotEstimable
from analysis.panel.discrimination import METHODS, correct_of, d_prime, discriminators

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike, NDArray

    from analysis.panel.discrimination import Method

ALPHA = 0.05
"""Chance of finding a difference where there is none."""
SHARE_THAT_MATTERS = 0.3
"""Of people who notice, from which a difference matters."""
POWER = 0.8
"""Chance wanted of finding a difference that matters."""
MOST_ASSESSMENTS = 200_000
"""Beyond which nobody looks for a size."""


@dataclass(frozen=True)
class Plan:
    """What a test is asked.

    Attributes:
        method: the method.
        two_sided: paired only: whether either beer may turn out the stronger one.
        alpha: chance of finding a difference where there is none.
        share: of people who notice, from which a difference matters, above 0 to 1.
        power: chance wanted of finding that one.
    """

    method: Method
    two_sided: bool = False
    alpha: float = ALPHA
    share: float = SHARE_THAT_MATTERS
    power: float = POWER

    def __post_init__(self) -> None:
        """Refuse what no test can be asked.

        Raises:
            InputError: a chance or share is not between 0 and 1, or the method has one side only.
        """
        for what, value in (("chance of error", self.alpha), ("power", self.power)):
            if not 0.0 < value < 1.0:
                message = f"a {what} lies between 0 and 1, not at {value:g}"
                raise InputError(message)
        if not 0.0 < self.share <= 1.0:
            message = (
                f"the share of people who notice lies above 0 and up to 1, not at {self.share:g}"
            )
            raise InputError(message)
        if self.two_sided and self.method is not METHODS["paired"]:
            message = f"only a paired test has two sides, a {self.method.name} test has one"
            raise InputError(message)

    @property
    def level(self) -> float:
        """Confidence of the two-sided intervals."""
        return 1.0 - self.alpha * (1.0 if self.two_sided else 2.0)


@dataclass(frozen=True)
class Interval:
    """A value between its bounds; an upper one is infinite where nothing bounds it."""

    value: float
    lower: float
    upper: float


@dataclass(frozen=True)
class Difference:
    """What a test says.

    Attributes:
        plan: what it was asked.
        assessments: answers given.
        correct: correct ones; of a two-sided paired test, those for one of the beers.
        p: chance of at least as many by luck; two-sided: of as uneven a count.
        found: whether that is at most alpha.
        critical: correct answers from which a difference is found; None where no number is enough.
        share: people who notice, 0 to 1.
        d_prime: the difference in standard deviations of a taster's sensation.
        power: chance that so many assessments find the share that matters.
    """

    plan: Plan
    assessments: int
    correct: int
    p: float
    found: bool
    critical: int | None
    share: Interval
    d_prime: Interval
    power: float


def judge_difference(plan: Plan, assessments: int, correct: int) -> Difference:
    """Judge the answers of one test, or of several added up.

    Raises:
        InputError: no assessments, or more correct answers than assessments, or fewer than none.
    """
    _check(assessments, correct)
    guess = plan.method.guess
    most = max(correct, assessments - correct) if plan.two_sided else correct
    p = float(binom.sf(most - 1, assessments, guess))
    p = min(1.0, 2.0 * p) if plan.two_sided else p
    critical = int(critical_numbers(plan, assessments))
    chances = exact_interval(assessments, most, plan.level)
    power = float(power_of(plan, assessments, correct_of(plan.method, plan.share)))
    return Difference(
        plan=plan,
        assessments=assessments,
        correct=correct,
        p=p,
        found=most >= critical,
        critical=critical if critical <= assessments else None,
        share=Interval(*(discriminators(plan.method, chance) for chance in chances)),
        d_prime=Interval(*(d_prime(plan.method, chance) for chance in chances)),
        power=power,
    )


def exact_interval(assessments: int, correct: int, level: float) -> tuple[float, float, float]:
    """Return the share of correct answers with Clopper and Pearson's bounds."""
    tail = (1.0 - level) / 2.0
    wrong = assessments - correct
    lower = float(beta.ppf(tail, correct, wrong + 1)) if correct else 0.0
    upper = float(beta.ppf(1.0 - tail, correct + 1, wrong)) if wrong else 1.0
    return correct / assessments, lower, upper


def critical_numbers(plan: Plan, assessments: ArrayLike) -> NDArray[np.int64]:
    """Return the fewest correct answers that show a difference, n + 1 where none does.

    Args:
        plan: the test.
        assessments: numbers of answers, any shape.
    """
    n = np.asarray(assessments, dtype=np.int64)
    alpha = plan.alpha / 2.0 if plan.two_sided else plan.alpha
    found = np.asarray(binom.isf(alpha, n, plan.method.guess), dtype=np.int64)
    # isf gives the smallest k with P(X > k) <= alpha, but for the last digit of a tie.
    found += binom.sf(found, n, plan.method.guess) > alpha
    found -= binom.sf(found - 1, n, plan.method.guess) <= alpha
    return found + 1


def power_of(plan: Plan, assessments: ArrayLike, chance: float) -> NDArray[np.float64]:
    """Return the chance that a difference is found.

    Args:
        plan: the test.
        assessments: numbers of answers, any shape.
        chance: share of correct answers that is true.
    """
    n = np.asarray(assessments, dtype=np.int64)
    critical = critical_numbers(plan, n)
    above = binom.sf(critical - 1, n, chance)
    if not plan.two_sided:
        return np.asarray(above)
    return np.asarray(above + binom.cdf(n - critical, n, chance))


@dataclass(frozen=True)
class Size:
    """How many answers a test needs.

    More answers do not always find more: with each number that lifts the critical one, the chance
    falls a little.

    Attributes:
        first: the fewest with the power wanted.
        always: from which on every number has it.
    """

    first: int
    always: int


def smallest_size(plan: Plan) -> Size:
    """Return how many answers find the share that matters with the power wanted.

    Raises:
        NotEstimable: that takes more than anyone tastes.
    """
    chance = correct_of(plan.method, plan.share)
    return _size(lambda n: power_of(plan, n, chance) >= plan.power)


def similarity_size(plan: Plan) -> Size:
    """Return how many answers show that fewer than the share that matters notice, if nobody does.

    Raises:
        NotEstimable: that takes more than anyone tastes.
    """
    return _size(lambda n: similarity_power(plan, n) >= plan.power)


def similarity_numbers(plan: Plan, assessments: ArrayLike) -> NDArray[np.int64]:
    """Return the most correct answers that still show similarity, -1 where none does.

    The chance of so few, where the share that matters notices, is at most alpha.
    """
    n = np.asarray(assessments, dtype=np.int64)
    chance = correct_of(plan.method, plan.share)
    found = np.asarray(binom.ppf(plan.alpha, n, chance), dtype=np.int64)
    found += binom.cdf(found, n, chance) <= plan.alpha
    return found - 1


def similarity_power(plan: Plan, assessments: ArrayLike) -> NDArray[np.float64]:
    """Return the chance of showing similarity where nobody notices anything."""
    n = np.asarray(assessments, dtype=np.int64)
    most = similarity_numbers(plan, n)
    if not plan.two_sided:
        return np.asarray(binom.cdf(most, n, plan.method.guess))
    inside = binom.cdf(most, n, 0.5) - binom.cdf(n - most - 1, n, 0.5)
    return np.asarray(np.maximum(inside, 0.0))


@dataclass(frozen=True)
class Similarity:
    """Whether fewer people notice than matter.

    Attributes:
        plan: what was asked.
        upper: share of people who notice at most, one-sided at 1 − alpha.
        shown: whether that is below the share that matters.
        most: correct answers up to which so many assessments show it; None where none does.
        power: chance of showing it with so many assessments, where nobody notices.
    """

    plan: Plan
    upper: float
    shown: bool
    most: int | None
    power: float


def judge_similarity(plan: Plan, assessments: int, correct: int) -> Similarity:
    """Judge whether fewer people notice than matter.

    Raises:
        InputError: as for a difference.
    """
    _check(assessments, correct)
    count = max(correct, assessments - correct) if plan.two_sided else correct
    _, _, upper = exact_interval(assessments, count, 1.0 - 2.0 * plan.alpha)
    most = int(similarity_numbers(plan, assessments))
    enough = 2 * most >= assessments if plan.two_sided else most >= 0
    return Similarity(
        plan=plan,
        upper=discriminators(plan.method, upper),
        shown=count <= most,
        most=most if enough else None,
        power=float(similarity_power(plan, assessments)),
    )


def _check(assessments: int, correct: int) -> None:
    if assessments < 1:
        message = "a test has at least one answer"
        raise InputError(message)
    if not 0 <= correct <= assessments:
        message = f"{correct} correct of {assessments} answers cannot be"
        raise InputError(message)


def _size(enough: Callable[[NDArray[np.int64]], NDArray[np.bool_]]) -> Size:
    """Look for the first number that is enough, and the one from which all are.

    The dips get shallower with every step of the critical number, so that none that follows an
    unbroken stretch as long as the way there goes below again.
    """
    look = 256
    while look <= MOST_ASSESSMENTS:
        n = np.arange(1, look + 1)
        good = enough(n)
        short = np.flatnonzero(~good)
        always = int(short[-1]) + 2 if short.size else 1
        if 2 * always <= look:
            return Size(int(n[np.argmax(good)]), always)
        look *= 4
    message = f"more than {MOST_ASSESSMENTS // 2:,} answers would be needed"
    raise NotEstimable(message)
