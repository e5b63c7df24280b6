"""From a lower bound on shelf life to the days a label may give.

    days = round down(min(kept(lower bound), cap, kept(oldest beer tasted), kept(every limit)))
    kept(end) = end − max(margin in days, margin as a share · end)

All in days from packaging. The shortest counts and is named; of equals the first in that order.
Rounding only goes down, to whole days or to whole weeks; to a month's end on the label alone, for
that depends on the packaging day. A date that the beer does not outlive on its way to the last
stage of the route is no date.

Reference: Regulation (EU) No 1169/2011, article 2(2)(r): the date of minimum durability is the
date until which a food keeps its specific properties when properly stored.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from analysis.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analysis.dating.policy import Rule

DAYS_ROUNDED_TO: Final = {"day": 1, "week": 7, "month": 1}
"""Each rounding and the days of which a date is then a multiple."""


@dataclass(frozen=True)
class BestBefore:
    """The days that a label may give, and what ended them.

    Attributes:
        days: whole days from packaging; None where there is no date.
        binding_cause: flavour, cap, oldest tasted, the cause of the limit that was shortest, or
            route where there is no date.
        reason: why there is no date; None where there is one.
    """

    days: int | None
    binding_cause: str
    reason: str | None


def round_down(days: float, rounding: str) -> int:
    """Return the last whole day, or whole week in days, not after `days`.

    Args:
        days: 0 or more.
        rounding: day, week, or month (whole days: the label goes on to the month's end).

    Raises:
        InputError: the days are negative or not finite, or the rounding is none of these.
    """
    if rounding not in DAYS_ROUNDED_TO:
        message = f"no rounding {rounding!r}: expected one of {', '.join(DAYS_ROUNDED_TO)}"
        raise InputError(message)
    if not 0.0 <= days < math.inf:
        message = f"cannot round {days} days: expected a finite number, 0 or more"
        raise InputError(message)
    step = DAYS_ROUNDED_TO[rounding]
    return math.floor(days / step) * step


def best_before(
    lower_bound_days: float,
    *,
    rule: Rule,
    oldest_tasted_days: float | None,
    limits: Mapping[str, float],
    distribution_days: float,
) -> BestBefore:
    """Return the date that policy makes of a lower bound on shelf life.

    Args:
        lower_bound_days: lower bound on the shelf life as to flavour, days from packaging;
            infinite where it is not reached on the route.
        rule: the policy's, for its cap, margin and rounding.
        oldest_tasted_days: age of the oldest beer tasted at about the route's temperature; None
            where none was. The date stops there unless the rule says otherwise.
        limits: cause of every other end of the beer's life to its days.
        distribution_days: days from packaging until the last stage of the route begins.

    Returns:
        The date, or none where it is not later than `distribution_days`: after rounding, for
        else a date would pass on the way.

    Raises:
        InputError: an end is negative or not a number, all are infinite, or there is no such
            rounding.
    """
    ends = [("flavour", lower_bound_days)]
    if oldest_tasted_days is not None and rule.cap_at_oldest_tasted:
        ends.append(("oldest tasted", oldest_tasted_days))
    ends.extend(limits.items())
    ends = [(cause, _kept(days, rule)) for cause, days in ends]
    ends.insert(1, ("cap", float(rule.cap_days)))
    if any(math.isnan(days) for _, days in ends):
        message = "what ends the life of a beer must be a number of days"
        raise InputError(message)
    cause, shortest = min(ends, key=lambda end: end[1])
    days = round_down(shortest, rule.rounding)
    if days > distribution_days:
        return BestBefore(days, cause, None)
    allowed = round_down(shortest, "day")
    rounded = f", {days} after rounding to a whole {rule.rounding}" if days < allowed else ""
    return BestBefore(
        days=None,
        binding_cause="route",
        reason=(
            f"not fit for this route: {cause} allows {allowed} days{rounded}, "
            f"and the way to its last stage takes {distribution_days:g}"
        ),
    )


def _kept(days: float, rule: Rule) -> float:
    """Return an end less the margin; nothing is kept back of less than nothing."""
    if not 0.0 <= days < math.inf:
        return days
    back = max(float(rule.margin_days), rule.margin_share * days)
    return max(round(days - back, 9), 0.0)  # a tenth of 70 days is 7, not a shade more
