"""How soon beer is drunk."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from analysis.cases.drunk import mean_days, share_drunk


@given(days=st.floats(-400.0, 4000.0), mean=st.floats(1.0, 200.0))
def test_the_pace_is_a_gamma_law_of_shape_two(days: float, mean: float) -> None:
    """Identity: scipy's gamma distribution function."""
    assert share_drunk(days, mean) == pytest.approx(
        stats.gamma.cdf(days, 2.0, scale=mean / 2.0), abs=1e-12
    )


def test_kegs_and_casks_are_drunk_sooner_than_bottles() -> None:
    """Of a keg most is gone after a month, of a bottle half."""
    month = [float(share_drunk(30.0, mean_days(kind))) for kind in ("cask", "keg", "can", "bottle")]
    assert month == sorted(month, reverse=True)
    assert np.allclose(month[1:3], (0.80, 0.51), atol=0.01)
