"""Tests of one pair taken together: more answers, but perhaps of unlike sessions or people.

Were every test alike, the answers could be added up. Tests differ, though, by session, by package
or by who sat there, and added answers then know less than their number. The counts are taken as
beta-binomial, of mean share μ and overdispersion gamma, the correlation of two answers of one
test (0: alike), estimated by maximum likelihood; that it is 0 is tested by the likelihood ratio,
half of whose chance stands on the edge. The interval of μ is that of the profile likelihood, by
Student's t with one degree less than there are tests, and never narrower than the exact one of the
answers added up.

Where nobody notices, everyone guesses in every session, and the sum is binomial: so the test of the
difference itself needs no correction.

References: Ennis & Bi, J. Sensory Studies 13 (1998) 389-412; Kunert & Meyners, Food Quality and
Preference 10 (1999) 477-482; Self & Liang, J. American Statistical Association 82 (1987) 605-610.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import brentq, minimize_scalar
from scipy.special import betaln
from scipy.stats import chi2, t

from analysis.errors import InputError
from analysis.panel.difference import Interval, exact_interval, judge_difference
from analysis.panel.discrimination import d_prime, discriminators

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike, NDArray

    from analysis.panel.difference import Difference, Plan

    Counts = NDArray[np.int64]

FEWEST_TESTS = 2
_EDGE = 1e-9  # of a share or of gamma, this side of 0 and 1
_ALIKE = 1e-6  # gamma below which the binomial is the better formula, to the last digit


@dataclass(frozen=True)
class Replicated:
    """What several tests of one pair say together.

    Attributes:
        added: the answers added up, as if all tests were alike.
        tests: how many.
        overdispersion: correlation of two answers of one test, 0 to 1.
        p_alike: chance of counts as unlike, were all tests alike.
        share: people who notice, its interval made wider by what tests differ.
        d_prime: likewise.
    """

    added: Difference
    tests: int
    overdispersion: float
    p_alike: float
    share: Interval
    d_prime: Interval


def judge_replicated(plan: Plan, assessments: ArrayLike, correct: ArrayLike) -> Replicated:
    """Judge several tests of one pair together.

    Args:
        plan: what each was asked; one-sided.
        assessments: answers of each test.
        correct: correct ones of each.

    Raises:
        InputError: fewer than two tests, counts that cannot be, or a two-sided plan.
    """
    n, x = np.asarray(assessments, dtype=np.int64), np.asarray(correct, dtype=np.int64)
    if n.size < FEWEST_TESTS or n.shape != x.shape:
        message = "replicated tests are two or more, each with its answers and its correct ones"
        raise InputError(message)
    if (n < 1).any() or (x < 0).any() or (x > n).any():
        message = "a test has at least one answer, and no more correct ones than answers"
        raise InputError(message)
    if plan.two_sided:
        message = "replicated tests are judged to one side"
        raise InputError(message)
    method = plan.method
    added = judge_difference(plan, int(n.sum()), int(x.sum()))
    mean, gamma, highest = _fitted(n, x)
    alike = log_likelihood(n, x, float(x.sum() / n.sum()), 0.0)
    ratio = max(0.0, 2.0 * (highest - alike))
    quantile = float(t.ppf((1.0 + plan.level) / 2.0, n.size - 1))
    lower, upper = _profile_bounds(n, x, mean, highest - quantile**2 / 2.0)
    _, exact_lower, exact_upper = exact_interval(added.assessments, added.correct, plan.level)
    if gamma < _ALIKE:
        lower, upper = exact_lower, exact_upper
    chances = (mean, min(lower, exact_lower), max(upper, exact_upper))
    return Replicated(
        added=added,
        tests=n.size,
        overdispersion=gamma,
        p_alike=float(0.5 * chi2.sf(ratio, 1)) if ratio > 0.0 else 1.0,
        share=Interval(*(discriminators(method, chance) for chance in chances)),
        d_prime=Interval(*(d_prime(method, chance) for chance in chances)),
    )


def log_likelihood(n: Counts, x: Counts, mean: float, gamma: float) -> float:
    """Return the log-likelihood of counts, less the coefficients that hold neither parameter."""
    if gamma < _ALIKE:
        good = x.sum() * np.log(mean) if x.any() else 0.0
        bad = (n - x).sum() * np.log1p(-mean) if (x < n).any() else 0.0
        return float(good + bad)
    spread = (1.0 - gamma) / gamma
    a, b = mean * spread, (1.0 - mean) * spread
    return float((betaln(x + a, n - x + b) - betaln(a, b)).sum())


def _fitted(n: Counts, x: Counts) -> tuple[float, float, float]:
    """Return μ and gamma at the largest likelihood, and that."""
    if not 0 < x.sum() < n.sum():
        return float(x.sum() / n.sum()), 0.0, 0.0
    mean, highest = _largest(lambda m: _best_gamma(n, x, m)[1], _EDGE, 1.0 - _EDGE)
    gamma, highest = _best_gamma(n, x, mean)
    pooled = float(x.sum() / n.sum())
    alike = log_likelihood(n, x, pooled, 0.0)
    if gamma < _ALIKE or highest <= alike:
        return pooled, 0.0, alike
    return mean, gamma, highest


def _best_gamma(n: Counts, x: Counts, mean: float) -> tuple[float, float]:
    """Return the likeliest gamma of a mean and its likelihood; 0 where nothing beats the edge."""
    gamma, inner = _largest(lambda g: log_likelihood(n, x, mean, g), _ALIKE, 1.0 - _ALIKE)
    edge = log_likelihood(n, x, mean, 0.0)
    return (gamma, inner) if inner > edge else (0.0, edge)


def _largest(of: Callable[[float], float], low: float, high: float) -> tuple[float, float]:
    found = minimize_scalar(lambda v: -of(v), bounds=(low, high), options={"xatol": 1e-8})
    return float(found.x), -float(found.fun)


def _profile_bounds(n: Counts, x: Counts, mean: float, level: float) -> tuple[float, float]:
    def over(m: float) -> float:
        return _best_gamma(n, x, m)[1] - level

    def crossing(edge: float) -> float:
        if mean in (0.0, 1.0) or over(edge) >= 0.0:
            return edge
        return float(brentq(over, edge, mean, xtol=1e-8))

    lower, upper = crossing(_EDGE), crossing(1.0 - _EDGE)
    return (0.0 if lower == _EDGE else lower), (1.0 if upper == 1.0 - _EDGE else upper)
