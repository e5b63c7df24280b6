"""From a lower bound on shelf life to the days a label may give.

    days = round down(min(lower bound, cap, oldest beer tasted, every other limit))

All in days from packaging. The shortest counts and is named; of equals the first in that order.
Rounding only goes down, to whole days or to whole weeks. A date that the beer does not outlive on
its way to the last stage of the route is no date.

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

DAYS_ROUNDED_TO: Final = {"day": 1, "week": 7}
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
        rounding: day or week.

    Raises:
        InputError: the days are negative or not finite, or the rounding is neither.
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
    cap_days: float,
    oldest_tasted_days: float | None,
    limits: Mapping[str, float],
    rounding: str,
    distribution_days: float,
) -> BestBefore:
    """Return the date that policy makes of a lower bound on shelf life.

    Args:
        lower_bound_days: lower bound on the shelf life as to flavour, days from packaging;
            infinite where it is not reached on the route.
        cap_days: longest date that the policy allows, days.
        oldest_tasted_days: age of the oldest beer tasted, where the date stops there; None where
            it does not.
        limits: cause of every other end of the beer's life to its days.
        rounding: day or week.
        distribution_days: days from packaging until the last stage of the route begins.

    Returns:
        The date, or none where it is not later than `distribution_days`: after rounding, for
        else a date would pass on the way.

    Raises:
        InputError: an end is negative or not a number, all are infinite, or the rounding is
            neither day nor week.
    """
    ends = [("flavour", lower_bound_days), ("cap", cap_days)]
    if oldest_tasted_days is not None:
        ends.append(("oldest tasted", oldest_tasted_days))
    ends.extend(limits.items())
    if any(math.isnan(days) for _, days in ends):
        message = "what ends the life of a beer must be a number of days"
        raise InputError(message)
    cause, shortest = min(ends, key=lambda end: end[1])
    days = round_down(shortest, rounding)
    if days > distribution_days:
        return BestBefore(days, cause, None)
    allowed = round_down(shortest, "day")
    rounded = f", {days} after rounding to a whole {rounding}" if days < allowed else ""
    return BestBefore(
        days=None,
        binding_cause="route",
        reason=(
            f"not fit for this route: {cause} allows {allowed} days{rounded}, "
            f"and the way to its last stage takes {distribution_days:g}"
        ),
    )
