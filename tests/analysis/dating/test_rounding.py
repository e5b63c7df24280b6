"""What policy makes of a lower bound: the shortest counts, and rounding only goes down."""

from __future__ import annotations

import math
from dataclasses import fields
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.dating.policy import Rule
from analysis.dating.rounding import BestBefore, best_before, round_down
from analysis.errors import InputError

USUAL: dict[str, Any] = {
    "oldest_tasted_days": None,
    "limits": {},
    "distribution_days": 16.0,
}
RULE = {field.name for field in fields(Rule)}


def dated(lower: float, policy: dict[str, Any]) -> BestBefore:
    """Date a bound under the usual rule, but for what is given."""
    rule = Rule(**{key: value for key, value in policy.items() if key in RULE})
    rest = {key: value for key, value in policy.items() if key not in RULE}
    return best_before(lower, rule=rule, **(USUAL | rest))


@pytest.mark.parametrize(
    ("days", "rounding", "expected"),
    [
        (90.0, "day", 90),
        (90.99, "day", 90),
        (0.5, "day", 0),
        (90.0, "week", 84),
        (91.0, "week", 91),
        (97.99, "week", 91),
        (6.99, "week", 0),
    ],
)
def test_round_down(days: float, rounding: str, expected: int) -> None:
    """Whole days, or whole weeks in days; what is whole stays."""
    assert round_down(days, rounding) == expected


@given(st.floats(0.0, 5000.0), st.sampled_from([("day", 1), ("week", 7)]))
def test_rounding_only_goes_down_and_by_less_than_its_step(
    days: float, rounding: tuple[str, int]
) -> None:
    """Never after the days, never a whole step before, always a multiple of it."""
    name, step = rounding
    rounded = round_down(days, name)
    assert days - step < rounded <= days
    assert rounded % step == 0


@pytest.mark.parametrize("days", [-1.0, math.nan, math.inf])
def test_what_is_no_length_is_refused(days: float) -> None:
    """Less than nothing, no number and no end raise."""
    with pytest.raises(InputError, match="finite number, 0 or more"):
        round_down(days, "day")


def test_an_unknown_rounding_is_refused_with_the_known_ones() -> None:
    """A quarter is none; a month's end depends on the day, so that days stay whole ones."""
    with pytest.raises(InputError, match="no rounding 'quarter': expected one of day, week, mon"):
        round_down(90.0, "quarter")
    assert round_down(90.7, "month") == 90


@pytest.mark.parametrize(
    ("lower", "policy", "days", "cause"),
    [
        (100.0, {}, 98, "flavour"),
        (100.0, {"rounding": "day"}, 100, "flavour"),
        (500.0, {}, 364, "cap"),
        (math.inf, {}, 364, "cap"),
        (500.0, {"cap_days": 1095.0}, 497, "flavour"),
        (200.0, {"oldest_tasted_days": 120.0}, 119, "oldest tasted"),
        (100.0, {"oldest_tasted_days": 120.0}, 98, "flavour"),
        (200.0, {"limits": {"haze": 150.0, "refermentation": 90.0}}, 84, "refermentation"),
        (200.0, {"limits": {"haze": 300.0}}, 196, "flavour"),
        (200.0, {"limits": {"haze": 200.0}}, 196, "flavour"),
        (365.0, {"cap_days": 365.0, "limits": {"law": 365.0}}, 364, "flavour"),
        (400.0, {"oldest_tasted_days": 365.0, "limits": {"law": 365.0}}, 364, "cap"),
        (200.0, {"oldest_tasted_days": 120.0, "cap_at_oldest_tasted": False}, 196, "flavour"),
        (100.0, {"margin_days": 9}, 91, "flavour"),
        (70.0, {"margin_share": 0.1, "rounding": "day"}, 63, "flavour"),
        (100.0, {"margin_days": 9, "margin_share": 0.2, "rounding": "day"}, 80, "flavour"),
        (100.0, {"margin_days": 30, "margin_share": 0.2, "rounding": "day"}, 70, "flavour"),
        (500.0, {"margin_days": 30}, 364, "cap"),
        (380.0, {"margin_days": 30, "rounding": "day"}, 350, "flavour"),
        (200.0, {"limits": {"haze": 90.0}, "margin_days": 10, "rounding": "day"}, 80, "haze"),
    ],
)
def test_the_shortest_counts_and_is_named(
    lower: float, policy: dict[str, Any], days: int, cause: str
) -> None:
    """Flavour, the cap, the oldest beer tasted and other limits; of equals the first of these."""
    assert dated(lower, policy) == BestBefore(days, cause, None)


@pytest.mark.parametrize(
    ("lower", "policy", "allowed", "takes"),
    [
        (16.0, {"rounding": "day"}, "flavour allows 16 days", 16),
        (9.7, {"rounding": "day"}, "flavour allows 9 days", 16),
        (20.0, {}, "flavour allows 20 days, 14 after rounding to a whole week", 16),
        (
            200.0,
            {"limits": {"customer": 60.0}, "distribution_days": 70.0},
            "customer allows 60 days, 56 after rounding to a whole week",
            70,
        ),
        (
            5.0,
            {"distribution_days": 0.0},
            "flavour allows 5 days, 0 after rounding to a whole week",
            0,
        ),
    ],
)
def test_a_route_that_uses_the_life_up_has_no_date(
    lower: float, policy: dict[str, Any], allowed: str, takes: int
) -> None:
    """What does not outlive its distribution, once rounded, is not fit for the route."""
    assert dated(lower, policy) == BestBefore(
        None,
        "route",
        f"not fit for this route: {allowed}, and the way to its last stage takes {takes}",
    )


def test_a_limit_named_as_flavour_only_shortens() -> None:
    """A limit of the site's own that is called flavour cannot lengthen the date."""
    assert dated(100.0, {"limits": {"flavour": 300.0}}).days == 98
    assert dated(100.0, {"limits": {"flavour": 50.0}}).days == 49


@given(
    st.floats(0.0, 900.0),
    st.floats(1.0, 1095.0),
    st.none() | st.floats(0.0, 700.0),
    st.dictionaries(st.sampled_from(["haze", "law", "light"]), st.floats(1.0, 900.0)),
    st.floats(0.0, 90.0),
)
def test_no_date_outlives_any_of_its_ends(
    lower: float,
    cap: float,
    oldest: float | None,
    limits: dict[str, float],
    distribution: float,
) -> None:
    """A date is at most every end, later than its distribution, and one more limit never helps."""
    policy = {
        "cap_days": cap,
        "oldest_tasted_days": oldest,
        "limits": limits,
        "distribution_days": distribution,
    }
    date = dated(lower, policy)
    assert (date.days is None) == (date.binding_cause == "route") == (date.reason is not None)
    if date.days is not None:
        ends = [lower, cap, *limits.values(), *([] if oldest is None else [oldest])]
        assert distribution < date.days <= min(ends)
        shorter = dated(lower, policy | {"limits": limits | {"infection": 100.0}})
        assert shorter.days is None or shorter.days <= date.days


@pytest.mark.parametrize(
    ("lower", "policy", "words"),
    [
        (math.nan, {}, "must be a number"),
        (100.0, {"limits": {"haze": math.nan}}, "must be a number"),
        (-1.0, {}, "0 or more"),
        (math.inf, {"cap_days": math.inf}, "finite"),
    ],
)
def test_an_end_that_is_no_number_is_refused(
    lower: float, policy: dict[str, Any], words: str
) -> None:
    """Not a number, negative, or nothing that ever ends raise."""
    with pytest.raises(InputError, match=words):
        dated(lower, policy)
