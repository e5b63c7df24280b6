"""How much of the complaints goes with age."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from scipy import integrate

from analysis.cases.with_age import complaint_weights, with_age

PACKAGES = np.repeat([400.0, 100.0], 50)
SHARES = np.concatenate([np.linspace(0.0, 0.05, 50), np.linspace(0.05, 0.9, 50)])


@pytest.mark.parametrize("part", [0.0, 0.3, 0.7, 1.0])
def test_the_part_is_found_again(part: float) -> None:
    """Sixty years of forty complaints: nine bounds in ten hold it, or nearly.

    Fewer than 47 of 60 would come about once in a thousand times.
    """
    rng = np.random.default_rng(7)
    weights = complaint_weights(part, PACKAGES, SHARES)
    held, found = 0, []
    for _ in range(60):
        drawn = rng.choice(len(PACKAGES), size=40, p=weights)
        age = with_age(SHARES[drawn], PACKAGES, SHARES)
        held += age.lower <= part + 0.02 and part - 0.02 <= age.upper
        found.append(age.part)
    assert held >= 47 or part in {0.0, 1.0}  # a mean of many is never at an end
    assert abs(np.mean(found) - part) < (0.2 if part in {0.0, 1.0} else 0.1)


def test_the_mean_is_that_of_direct_integration() -> None:
    """Identity: scipy's quadrature over the flat prior."""
    seen = np.array([0.3, 0.02, 0.6, 0.0])
    against = seen * PACKAGES.sum() / (PACKAGES @ SHARES)

    def likelihood(p: float) -> float:
        return float(np.prod(p * against + 1.0 - p))

    whole = integrate.quad(likelihood, 0.0, 1.0)[0]
    mean = integrate.quad(lambda p: p * likelihood(p), 0.0, 1.0)[0] / whole
    age = with_age(seen, PACKAGES, SHARES)
    assert age.part == pytest.approx(mean, abs=1e-3)
    assert integrate.quad(likelihood, 0.0, age.lower)[0] / whole == pytest.approx(0.05, abs=2e-3)


def test_nothing_known_is_anything_between() -> None:
    """No complaint: the flat prior; nobody expected to reject: none of them."""
    age = with_age(np.empty(0), PACKAGES, SHARES)
    assert (age.part, age.lower, age.upper) == pytest.approx((0.5, 0.05, 0.95), abs=2e-3)
    assert with_age(np.empty(0), PACKAGES, np.zeros(100)).upper == 0.0


@given(
    part=st.floats(0.0, 1.0),
    shares=hnp.arrays(np.float64, 8, elements=st.floats(0.0, 1.0) | st.just(float("nan"))),
)
def test_weights_are_shares_of_all(part: float, shares: np.ndarray) -> None:
    """They add to 1, none below 0, also where for some or all packages nothing is expected."""
    weights = complaint_weights(part, PACKAGES[46:54], shares)
    assert weights.sum() == pytest.approx(1.0)
    assert (weights >= 0.0).all()
