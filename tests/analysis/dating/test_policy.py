"""Whose rule holds for a date."""

from __future__ import annotations

from typing import Any

import pytest

from analysis.dating.policy import Policy, Rule

OWN: dict[str, Any] = {
    "beers": {"Pale No. 2": {"cap_days": 10}},
    "styles": {"pale ale": {"cap_days": 20, "confidence": 0.95}},
    "formats": {"keg 30": {"cap_days": 30, "confidence": 0.80, "rounding": "day"}},
    "markets": {"export": {"cap_days": 40, "confidence": 0.99, "rounding": "month"}},
}


@pytest.mark.parametrize(
    ("asked", "cap", "confidence", "rounding"),
    [
        ({}, 20, 0.95, "week"),
        ({"beer": "Pale No. 2"}, 10, 0.95, "week"),
        ({"format_": "keg 30"}, 20, 0.95, "day"),
        ({"market": "export"}, 20, 0.95, "month"),
        ({"format_": "keg 30", "market": "export"}, 20, 0.95, "day"),
        ({"beer": "Pale No. 3", "market": "home"}, 20, 0.95, "week"),
    ],
)
def test_each_value_is_the_nearest_ones(
    asked: dict[str, str], cap: int, confidence: float, rounding: str
) -> None:
    """The beer's own before its style's, its format's, its market's and the brewery's."""
    rule = Policy(**OWN).of("pale ale", **asked)
    assert rule == Rule(cap_days=cap, confidence=confidence, rounding=rounding)


def test_a_style_without_a_word_of_its_own_goes_by_the_rest() -> None:
    """The format counts before the market, and the brewery's rule where neither says anything."""
    policy = Policy(share_rejected=0.1, **OWN)
    assert policy.of("stout", format_="keg 30", market="export").cap_days == 30
    assert policy.of("stout", market="export").cap_days == 40
    assert policy.of("stout") == Rule(share_rejected=0.1)


def test_every_share_is_asked_for_once() -> None:
    """The brewery's and those that somebody has of their own, in order."""
    policy = Policy(
        styles={"stout": {"share_rejected": 0.5}, "sour": {"cap_days": 90}},
        markets={"export": {"share_rejected": 0.1}, "home": {"share_rejected": 0.25}},
    )
    assert policy.shares == (0.1, 0.25, 0.5)
