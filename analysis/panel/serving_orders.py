r"""Which glass comes when, and under which code: blind, balanced, and the same when asked again.

A Williams design of k glasses has k orders where k is even, 2k where it is odd. Over all of them
every glass stands equally often in every place, and every glass follows every other equally often:
once where k is even, twice where it is odd. So neither the first sip, nor a tired palate, nor a bad
glass before it falls on one sample more than on another. With i the order and p the place, both
from 0, the even design is (z_p + i) mod k with z = 0, 1, k − 1, 2, k − 2, …; the odd one has
those orders and the same read backwards.

Reference: Williams, Experimental designs balanced for the estimation of residual effects of
treatments, Australian Journal of Scientific Research A 2, 149–168 (1949).
"""

from __future__ import annotations

from hashlib import sha256
from itertools import pairwise

import numpy as np

from analysis.errors import InputError

_CODES = range(100, 1000)


def draws_of(session: str) -> np.random.Generator:
    """Give the random numbers of a session: the same name, the same numbers."""
    digest = sha256(session.encode()).digest()
    return np.random.default_rng(int.from_bytes(digest[:8], "big"))


def williams_design(glasses: int) -> list[tuple[int, ...]]:
    """Give orders balanced for first-order carry-over.

    Args:
        glasses: how many, k; at least 1.

    Returns:
        k orders where k is even or 1, else 2k; each the glasses 0 … k − 1 by place. Any first k of
        them, and the k after, have every glass once in every place.

    Raises:
        InputError: there is no glass.
    """
    if glasses < 1:
        message = "a serving order needs at least one glass"
        raise InputError(message)
    zigzag = [(place + 1) // 2 if place % 2 else -place // 2 for place in range(glasses)]
    orders = [tuple((z + i) % glasses for z in zigzag) for i in range(glasses)]
    if glasses % 2 and glasses > 1:
        orders += [order[::-1] for order in orders]
    return orders


def serving_orders(assessors: int, glasses: int, rng: np.random.Generator) -> list[tuple[int, ...]]:
    """Draw an order for each assessor, as balanced as their number allows.

    Whole designs are used up before one begins anew, and a design's square before its mirror image,
    so that after any number of assessors the counts of a glass in all places differ by at most one.
    Which glass is which letter of the design, and which of its orders come first, is drawn; one
    assessor more changes nobody's order.

    Args:
        assessors: how many; at least 0.
        glasses: glasses for each of them, at least 1.
        rng: where the draws come from.

    Returns:
        For each assessor the glasses 0 … k − 1 by place.

    Raises:
        InputError: there is no glass.
    """
    design = np.array(williams_design(glasses))
    letters = rng.permutation(glasses)
    squares = [letters[square] for square in np.split(design, len(design) // glasses)]
    drawn: list[tuple[int, ...]] = []
    while len(drawn) < assessors:
        for square in squares:
            shuffled = rng.permutation(square, axis=0)
            drawn += [tuple(int(glass) for glass in order) for order in shuffled]
    return drawn[:assessors]


def blind_codes(number: int, rng: np.random.Generator) -> list[str]:
    """Draw three-digit codes that hint at nothing, each once.

    Args:
        number: how many.
        rng: where the draws come from.

    Raises:
        InputError: there are not so many.
    """
    plain = [str(code) for code in _CODES if not _hints(str(code))]
    if number > len(plain):
        message = f"there are {len(plain)} blind codes, and {number} were asked for"
        raise InputError(message)
    return [plain[i] for i in rng.permutation(len(plain))[:number]]


def _hints(code: str) -> bool:
    """Tell a code that people read something into: a digit twice (100, 666), or a run (123)."""
    digits = [int(digit) for digit in code]
    steps = {later - digit for digit, later in pairwise(digits)}
    return len(set(digits)) < len(digits) or steps in ({1}, {-1})
