"""Balanced orders and blind codes."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise, permutations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.errors import InputError
from analysis.panel.serving_orders import blind_codes, draws_of, serving_orders, williams_design

GLASSES = st.integers(1, 12)


@given(GLASSES)
def test_a_design_is_balanced_for_place_and_carry_over(glasses: int) -> None:
    """Every glass is equally often in every place, and follows every other equally often."""
    orders = williams_design(glasses)
    times = 2 if glasses % 2 and glasses > 1 else 1
    assert len(orders) == glasses * times
    assert all(sorted(order) == list(range(glasses)) for order in orders)
    places = Counter((place, glass) for order in orders for place, glass in enumerate(order))
    assert places == dict.fromkeys(product(range(glasses), repeat=2), times)
    followed = Counter(pair for order in orders for pair in pairwise(order))
    assert followed == dict.fromkeys(permutations(range(glasses), 2), times)


def test_the_design_of_four_glasses() -> None:
    """To be checked by hand: AB, BC, CA, AD and every other pair stand there once."""
    said = ["".join("ABCD"[glass] for glass in order) for order in williams_design(4)]
    assert said == ["ABDC", "BCAD", "CDBA", "DACB"]


@given(st.integers(0, 40), GLASSES, st.text(max_size=5))
def test_any_number_of_assessors_is_balanced_within_one(
    assessors: int, glasses: int, session: str
) -> None:
    """In every place each glass stands as often as each other, or once more."""
    orders = serving_orders(assessors, glasses, draws_of(session))
    assert len(orders) == assessors
    assert all(sorted(order) == list(range(glasses)) for order in orders)
    for served in zip(*orders, strict=True):
        times = Counter(dict.fromkeys(range(glasses), 0))
        times.update(served)
        assert max(times.values()) - min(times.values()) <= 1


@given(st.integers(1, 6), GLASSES, st.text(max_size=5))
def test_whole_designs_are_balanced_for_carry_over(
    designs: int, glasses: int, session: str
) -> None:
    """However it was shuffled, every glass follows every other as often as each other does."""
    orders = serving_orders(designs * len(williams_design(glasses)), glasses, draws_of(session))
    followed = Counter(pair for order in orders for pair in pairwise(order))
    assert followed.keys() == set(permutations(range(glasses), 2))
    assert len(set(followed.values())) <= 1


@given(st.integers(2, 10).filter(lambda k: k % 2 == 0), st.integers(0, 30), st.text(max_size=5))
def test_an_even_number_of_glasses_is_nearly_balanced_for_carry_over(
    glasses: int, assessors: int, session: str
) -> None:
    """With any number of assessors a glass follows another as often as each, or once more."""
    orders = serving_orders(assessors, glasses, draws_of(session))
    followed = Counter(dict.fromkeys(permutations(range(glasses), 2), 0))
    followed.update(pair for order in orders for pair in pairwise(order))
    assert max(followed.values()) - min(followed.values()) <= 1


@given(st.integers(0, 200), st.text(max_size=5))
def test_codes_are_unique_and_hint_at_nothing(number: int, session: str) -> None:
    """Three different digits that are no run up or down, and none begins with a zero."""
    codes = blind_codes(number, draws_of(session))
    assert len(set(codes)) == len(codes) == number
    assert not {"100", "111", "123", "321", "666", "210", "112"} & set(codes)
    assert all(len(set(code)) == 3 and code[0] != "0" and code.isdigit() for code in codes)


def test_a_session_draws_the_same_again_and_another_draws_anew() -> None:
    """A sheet that is printed twice is the same sheet; no code stays with a beer."""
    first, again, other = (
        (blind_codes(6, rng), serving_orders(9, 6, rng))
        for rng in map(draws_of, ("2026-10-27", "2026-10-27", "2026-10-28"))
    )
    assert first == again
    assert first[0] != other[0]
    assert first[1] != other[1]


def test_what_cannot_be_drawn_is_refused() -> None:
    """No glass, and more codes than there are."""
    with pytest.raises(InputError, match="at least one glass"):
        serving_orders(3, 0, draws_of(""))
    with pytest.raises(InputError, match="there are 633 blind codes, and 634 were asked for"):
        blind_codes(634, draws_of(""))
