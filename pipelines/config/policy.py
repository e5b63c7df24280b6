"""`[policy]`: when shelf life ends and how a date is made of it, and for whom otherwise."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pipelines.config.section import Section

Own = dict[str, Any]
"""The keys that a beer, a style, a format or a market has of its own, with their values."""

LONGEST = 7300


@dataclass(frozen=True)
class Policy:
    """The brewery's rule; shares from 0 to 1, caps and margins in days.

    `beers`, `styles`, `formats` and `markets` hold what is otherwise for one of them; each key is
    taken from the first of the beer, its style, its format, its market that has it.
    """

    share_rejected: float
    confidence: float
    rounding: str
    cap_days: int
    cap_at_oldest_tasted: bool
    margin_days: int
    margin_share: float
    beers: Mapping[str, Own]
    styles: Mapping[str, Own]
    formats: Mapping[str, Own]
    markets: Mapping[str, Own]


def policy_of(section: Section) -> Policy:
    """Read and check `[policy]`."""
    policy = Policy(
        **_values(section),
        beers=_owns(section.section("beers")),
        styles=_owns(section.section("styles")),
        formats=_owns(section.section("formats")),
        markets=_owns(section.section("markets")),
    )
    section.close()
    return policy


def _values(section: Section) -> Own:
    """Every key of a rule, the usual value where the section has none."""
    return {
        "share_rejected": section.number("share_rejected", 0.25, 0.01, 0.90),
        "confidence": section.number("confidence", 0.90, 0.50, 0.99),
        "rounding": section.choice("rounding", "week", ("day", "week", "month")),
        "cap_days": section.whole("cap_days", 365, 1, LONGEST),
        "cap_at_oldest_tasted": section.flag("cap_at_oldest_tasted", default=True),
        "margin_days": section.whole("margin_days", 0, 0, LONGEST),
        "margin_share": section.number("margin_share", 0.0, 0.0, 0.9),
    }


def _owns(section: Section) -> dict[str, Own]:
    return {name: _own(own) for name, own in section.sections().items()}


def _own(section: Section) -> Own:
    values = {key: value for key, value in _values(section).items() if key in section.values}
    section.close()
    if not section.values:
        section.faults.append(f"{section.path} says nothing, expected a key such as cap_days")
    return values
