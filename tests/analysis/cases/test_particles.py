"""The points at which lots and storages are drawn."""

from __future__ import annotations

import numpy as np
from scipy.stats import qmc

from analysis.cases.particles import halton


def test_the_sequence_is_the_one_of_the_library() -> None:
    """The points are those of scipy.stats.qmc.Halton without scrambling, after its first, 0."""
    library = qmc.Halton(4, scramble=False).random(20_001)[1:]
    np.testing.assert_allclose(halton(20_000), library, rtol=0.0, atol=1e-14)
