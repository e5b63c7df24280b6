"""The accounts of a taste complaint, in order, the uncomfortable one first.

    date too long   a lot and a storage like any other, drunk inside its date
    high oxygen     the lot took up more oxygen than its line does
    warm trade      it was kept warmer than its route says
    both            the two together
    light           light-struck: bottles that let light through alone
    dispense        the bar's line, gas, or a keg open too long: kegs and casks alone
    past its date   a lot and a storage like any other, drunk after the printed day

Each has an assumed share of all taste complaints and assumed shares of the words that drinkers use.
No reference: all shares are ours, to be changed by who knows better.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

DATE_TOO_LONG = "date too long"
HIGH_OXYGEN = "high oxygen"
WARM_TRADE = "warm trade"
BOTH = "both"
LIGHT = "light"
DISPENSE = "dispense"
PAST_ITS_DATE = "past its date"

ACCOUNTS = (DATE_TOO_LONG, HIGH_OXYGEN, WARM_TRADE, BOTH, LIGHT, DISPENSE, PAST_ITS_DATE)

PRIORS: Mapping[str, float] = {
    DATE_TOO_LONG: 30.0,
    HIGH_OXYGEN: 15.0,
    WARM_TRADE: 35.0,
    BOTH: 5.0,
    LIGHT: 5.0,
    DISPENSE: 25.0,
    PAST_ITS_DATE: 10.0,
}
"""Shares of taste complaints, in any unit: assumed."""

DRAUGHT = ("keg", "plastic keg", "cask")
_OF_AGE = ("stale", "other flavour", "lightstruck")
_FLAT_SHARE = {"stale": 0.75, "other flavour": 0.22, "lightstruck": 0.03}
_SAYS: Mapping[str, Mapping[str, float]] = {
    **dict.fromkeys((DATE_TOO_LONG, HIGH_OXYGEN, WARM_TRADE, BOTH, PAST_ITS_DATE), _FLAT_SHARE),
    LIGHT: {"stale": 0.15, "other flavour": 0.25, "lightstruck": 0.60},
    DISPENSE: {"stale": 0.30, "other flavour": 0.69, "lightstruck": 0.01},
}


def is_of_age(categories: tuple[str, ...]) -> bool:
    """Tell whether a complaint is one that the accounts could explain.

    Flat, hazy or sour beer, a leaker, a short fill, damage and an illegible date have other
    causes: what is known of the lot is shown then, and no odds.
    """
    return any(category in _OF_AGE for category in categories)


def says(categories: tuple[str, ...]) -> dict[str, float]:
    """Return how likely a drinker is to use one of these words under each account: assumed."""
    named = [category for category in categories if category in _OF_AGE]
    return {
        account: sum(shares[category] for category in named) / len(named) if named else 1.0
        for account, shares in _SAYS.items()
    }
