r"""Which points of a control chart say that something changed.

A rule asks for `least` of `of` points in a row that lie on one side of the centre by more than
`sigmas` SDs. With both at 1 and 3 sigmas it is the control limit itself; 8 of 8 with none is a run.

A point of which only a bound is known counts where the bound alone tells: a lower bound beyond the
line is beyond it. Where it does not tell, the point is passed over, as if nothing had been
measured: it neither adds to a pattern nor ends one. Neighbouring findings of one rule on one side
are one signal, which begins at the first point of the first pattern.

Reference: NIST/SEMATECH e-Handbook of Statistical Methods, doi:10.18434/M32189, 6.3.2.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.control.charts import ewma
from analysis.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import ArrayLike, NDArray

    from analysis.control.charts import Limits

    Array = NDArray[np.float64]
    Places = NDArray[np.int64]
    Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Zone:
    """Points beyond a line: at least `least` of `of` in a row by more than `sigmas` SDs."""

    least: int
    of: int
    sigmas: float


BEYOND_LIMIT = "beyond limit"
EIGHT_ON_ONE_SIDE = "eight on one side"
SIX_RISING_OR_FALLING = "six rising or falling"
RUNNING_MEAN = "running mean beyond limit"
ZONES: Mapping[str, Zone] = {
    BEYOND_LIMIT: Zone(1, 1, 3.0),
    EIGHT_ON_ONE_SIDE: Zone(8, 8, 0.0),
    "two of three beyond two sigma": Zone(2, 3, 2.0),
    "four of five beyond one sigma": Zone(4, 5, 1.0),
}
RULES = (*ZONES, SIX_RISING_OR_FALLING, RUNNING_MEAN)
USUAL = (BEYOND_LIMIT, EIGHT_ON_ONE_SIDE)


@dataclass(frozen=True)
class Signals:
    """Signals of one rule, places counted from 0, one element a signal; shapes (k,).

    Attributes:
        side: 1 above, −1 below.
        first: where what signalled begins.
        found: the point at which it could be known.
        last: its last point.
        points: points from first to last that were not passed over.
        ongoing: whether no point that tells came after its last.
    """

    side: Places
    first: Places
    found: Places
    last: Places
    points: Places
    ongoing: Flags


def signals(
    rule: str, lower: ArrayLike, upper: ArrayLike, limits: Limits, *, weight: float
) -> Signals:
    """Return the signals of a rule.

    Args:
        rule: one of `RULES`.
        lower: what each point is at least, in the order of time, shape (n,); −∞ for no bound.
        upper: what each point is at most; equal to `lower` for a clean one, ∞ for no bound.
        limits: centre and spread of the chart.
        weight: λ of the running mean.

    Raises:
        InputError: there is no such rule.
    """
    low, high = (np.asarray(bound, dtype=np.float64) for bound in (lower, upper))
    if rule in ZONES:
        zone = ZONES[rule]
        return _zone(zone, low - limits.centre, high - limits.centre, zone.sigmas * limits.sd)
    if rule not in RULES:
        message = f"no rule {rule!r}: expected one of {', '.join(RULES)}"
        raise InputError(message)
    clean = np.flatnonzero(low == high)
    values = low[clean]
    if rule == SIX_RISING_OR_FALLING:
        # Five differences of one sign are six points that rise or fall.
        steps = np.diff(values)
        return _placed(_zone(Zone(5, 5, 0.0), steps, steps, 0.0), clean, before=1)
    mean, half = ewma(values, limits, weight)
    apart = mean - limits.centre
    return _placed(_zone(Zone(1, 1, 0.0), apart, apart, half), clean)


def _zone(zone: Zone, lower: Array, upper: Array, line: Array | float) -> Signals:
    """Return the signals of points given as distances from the centre, bounds of them."""
    above, below = lower > line, upper < -line
    told = above | below | ((lower >= -line) & (upper <= line))
    place = np.flatnonzero(told)
    parts = [_one_side(zone, flags[told], side) for flags, side in ((above, 1), (below, -1))]
    joined = np.concatenate(parts, axis=1)
    order = np.argsort(joined[2], kind="stable")
    side, first, found, last = joined[:, order]
    ongoing = last == len(place) - 1
    return Signals(side, place[first], place[found], place[last], last - first + 1, ongoing)


def _one_side(zone: Zone, beyond: Flags, side: int) -> Places:
    """Return side, first, found and last of each signal among points that tell, shape (4, k)."""
    hits = np.flatnonzero(beyond)
    last = hits[zone.least - 1 :]
    first = hits[: len(last)]
    close = last - first < zone.of
    first, last = first[close], last[close]
    if not len(last):
        return np.empty((4, 0), dtype=np.int64)
    new = np.concatenate([[True], first[1:] > last[:-1] + 1])
    starts = np.flatnonzero(new)
    ends = np.append(starts[1:], len(new)) - 1
    return np.stack([np.full(len(starts), side), first[starts], last[starts], last[ends]])


def _placed(found: Signals, place: Places, *, before: int = 0) -> Signals:
    """Return signals among clean points, told by their places among all.

    Args:
        found: among differences, or values, of the clean points.
        place: of each clean point.
        before: points that a difference stands after.
    """
    return Signals(
        found.side,
        place[found.first],
        place[found.found + before],
        place[found.last + before],
        found.points + before,
        found.ongoing,
    )
