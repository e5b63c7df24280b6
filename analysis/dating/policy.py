"""What the brewery has decided about its dates; the defaults are assumed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

LOW_ALCOHOL_PCT = 2.5
LOW_ALCOHOL_REASON = (
    "Safety of low- and no-alcohol beer must be validated separately; this date does not do it."
)


@dataclass(frozen=True)
class Policy:
    """A brewery's rule for its dates.

    Attributes:
        share_rejected: share of glasses rejected for age at which shelf life ends, 0 to 1.
        confidence: one-sided confidence of the bounds, 0 to 1.
        rounding: day or week; a date is only ever rounded down.
        cap_days: longest date whatever the data say, days.
        cap_days_by_style: the same for single styles.
        cap_at_oldest_tasted: whether the oldest beer tasted at about the route's temperature caps
            the date too.
        validated: beers below 2.5 % vol whose food safety has a recorded validation.
    """

    share_rejected: float = 0.25
    confidence: float = 0.90
    rounding: str = "week"
    cap_days: int = 365
    cap_days_by_style: Mapping[str, int] = field(default_factory=dict)
    cap_at_oldest_tasted: bool = True
    validated: frozenset[str] = frozenset()

    def cap(self, style: str) -> int:
        """Return the longest date of a style, days."""
        return self.cap_days_by_style.get(style, self.cap_days)

    def needs_validation(self, beer: str, abv_pct: float | None) -> bool:
        """Tell whether a beer has too little alcohol for a date without a recorded validation."""
        low = abv_pct is None or abv_pct < LOW_ALCOHOL_PCT
        return low and beer not in self.validated
