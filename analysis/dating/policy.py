"""What the brewery has decided about its dates; the defaults are assumed.

A rule holds for everything. A beer, a style, a format or a market may have some of its values
otherwise; each value is taken from the first that names it:

    the beer's own, its style's, its format's, its market's, the brewery's
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

LOW_ALCOHOL_PCT = 2.5
LOW_ALCOHOL_REASON = (
    "Safety of low- and no-alcohol beer must be validated separately; this date does not do it."
)


@dataclass(frozen=True)
class Rule:
    """How one date is made.

    Attributes:
        share_rejected: share of glasses rejected for age at which shelf life ends, 0 to 1.
        confidence: one-sided confidence of the bounds, 0 to 1.
        rounding: day, week or month; a date is only ever rounded down. A month's end depends on the
            packaging day: days from packaging stay whole days, the printed date moves.
        cap_days: longest date whatever the data say, days.
        cap_at_oldest_tasted: whether the oldest beer tasted at about the route's temperature caps
            the date too.
        margin_days: days kept back from what ends the beer's life, the cap apart,
        margin_share: or this share of it, 0 to 1; the larger of the two counts.
    """

    share_rejected: float = 0.25
    confidence: float = 0.90
    rounding: str = "week"
    cap_days: int = 365
    cap_at_oldest_tasted: bool = True
    margin_days: int = 0
    margin_share: float = 0.0


@dataclass(frozen=True)
class Policy(Rule):
    """The brewery's rule, and what holds otherwise for some.

    Attributes:
        beers: by beer, the values of the rule that are its own.
        styles: the same by style,
        formats: by format,
        markets: and by market.
        validated: beers below 2.5 % vol whose food safety has a recorded validation.
    """

    beers: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    styles: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    formats: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    markets: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    validated: frozenset[str] = frozenset()

    def of(
        self,
        style: str,
        *,
        beer: str | None = None,
        format_: str | None = None,
        market: str | None = None,
    ) -> Rule:
        """Return the rule that holds for a style, and where given its beer, format and market."""
        own = {
            **self.markets.get(market or "", {}),
            **self.formats.get(format_ or "", {}),
            **self.styles.get(style, {}),
            **self.beers.get(beer or "", {}),
        }
        return Rule(**{f.name: own.get(f.name, getattr(self, f.name)) for f in fields(Rule)})

    @property
    def shares(self) -> tuple[float, ...]:
        """Every share at which some beer's life ends, in order."""
        own = (*self.beers.values(), *self.styles.values())
        own += (*self.formats.values(), *self.markets.values())
        asked = {values["share_rejected"] for values in own if "share_rejected" in values}
        return tuple(sorted({self.share_rejected, *asked}))

    def needs_validation(self, beer: str, abv_pct: float | None) -> bool:
        """Tell whether a beer has too little alcohol for a date without a recorded validation."""
        low = abv_pct is None or abv_pct < LOW_ALCOHOL_PCT
        return low and beer not in self.validated
