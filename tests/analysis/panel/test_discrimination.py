"""From d' to the share of correct answers and back."""

from __future__ import annotations

from math import inf, isclose, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from analysis.errors import InputError
from analysis.panel.discrimination import (
    METHODS,
    correct_of,
    d_prime,
    discriminators,
    share_correct,
)

methods = st.sampled_from(sorted(METHODS))


def by_integration(method: str, d: float) -> float:
    """Integrate the textbook form of a psychometric function over the normal density."""
    phi, Phi = norm.pdf, norm.cdf
    if method == "triangle":
        shift = d * sqrt(2 / 3)

        def odd_one(z: float) -> float:
            return (Phi(-z * sqrt(3) + shift) + Phi(-z * sqrt(3) - shift)) * phi(z)

        return float(2 * quad(odd_one, 0, np.inf)[0])
    if method == "tetrad":

        def wrong(z: float) -> float:
            return phi(z) * (2 * Phi(z) * Phi(z - d) - Phi(z - d) ** 2)

        return float(1 - 2 * quad(wrong, -np.inf, np.inf)[0])
    others = {"paired": 1, "3-afc": 2}.get(method)
    if others is not None:
        return float(quad(lambda z: phi(z - d) * Phi(z) ** others, -np.inf, np.inf)[0])

    # Duo-trio: the reference z, the like glass nearer to it than the unlike one.
    def nearer(z: float) -> float:
        like = quad(
            lambda x: phi(x) * (Phi(-abs(x - z) + z - d) + 1 - Phi(abs(x - z) + z - d)),
            -9,
            9,
            points=[z],
        )[0]
        return float(phi(z) * like)

    return float(quad(nearer, -8, 8)[0])


@pytest.mark.parametrize("method", sorted(METHODS))
@pytest.mark.parametrize("d", [1.0, 2.2])
def test_closed_forms_equal_the_integrals(method: str, d: float) -> None:
    """Owen's function gives what numerical integration does (identity)."""
    exact = float(share_correct(METHODS[method], d))
    assert exact == pytest.approx(by_integration(method, d), abs=2e-7)


@pytest.mark.parametrize(
    ("method", "share"),
    [("paired", 0.760), ("3-afc", 0.634), ("duo-trio", 0.582), ("triangle", 0.418)],
)
def test_a_difference_of_one_gives_the_printed_shares(method: str, share: float) -> None:
    """As in the printed tables, to their three digits (tests/reference/SOURCES.md)."""
    assert round(float(share_correct(METHODS[method], 1.0)), 3) == share


@pytest.mark.parametrize("method", sorted(METHODS))
def test_no_difference_is_guessing_and_a_large_one_is_certain(method: str) -> None:
    """The ends of each function."""
    ends = share_correct(METHODS[method], np.array([0.0, 15.0]))
    assert ends == pytest.approx([METHODS[method].guess, 1.0], abs=1e-6)


@given(methods, st.floats(0.0, 5.0))
def test_the_inverse_finds_the_difference_again(method: str, d: float) -> None:
    """From d' to a share and back."""
    share = float(share_correct(METHODS[method], d))
    back = float(share_correct(METHODS[method], d_prime(METHODS[method], share)))
    assert back == pytest.approx(share, abs=1e-9)


@given(methods, st.floats(0.0, 4.0), st.floats(0.01, 2.0))
def test_more_difference_gives_more_correct_answers(method: str, d: float, more: float) -> None:
    """Each function rises."""
    low, high = share_correct(METHODS[method], np.array([d, d + more]))
    assert high > low


def test_shares_beyond_the_function_have_a_difference_at_its_end() -> None:
    """Guessing or below is 0, all correct is unbounded."""
    triangle = METHODS["triangle"]
    assert (d_prime(triangle, 0.2), d_prime(triangle, 1.0)) == (0.0, inf)


@given(methods, st.floats(0.0, 1.0))
def test_who_notices_and_who_guesses_make_the_share(method: str, noticing: float) -> None:
    """Abbott's formula undoes itself."""
    share = correct_of(METHODS[method], noticing)
    assert isclose(discriminators(METHODS[method], share), noticing, abs_tol=1e-12)


def test_a_negative_difference_is_refused() -> None:
    """There is none below 0."""
    with pytest.raises(InputError, match="0 or more"):
        share_correct(METHODS["triangle"], np.array([0.5, -0.1]))
