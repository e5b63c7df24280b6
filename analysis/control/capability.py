r"""Whether what a line does fits what it should do.

    Cpk = min(USL − mean, mean − LSL) / 3s

Package oxygen has an upper target alone: Cpk is then (USL − mean) / 3s, on the log scale. Its
interval is the large-sample one of Bissell, Applied Statistics 39, 1990, 331-340:
Cpk ± z·√(1/(9n) + Cpk²/(2(n − 1))).

Reference: NIST/SEMATECH e-Handbook of Statistical Methods, doi:10.18434/M32189, 6.1.6.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy import stats

from analysis.errors import InputError, NotEstimable

LEAST_POINTS = 8


@dataclass(frozen=True)
class Capability:
    """Cpk with its interval; 1 puts the nearer target three SDs from the mean."""

    cpk: float
    lower: float
    upper: float


def capability(
    mean: float,
    sd: float,
    points: int,
    *,
    upper: float,
    lower: float = -math.inf,
    confidence: float = 0.90,
) -> Capability:
    """Return how far, in three SDs, the nearer target is from the mean.

    Args:
        mean: of what is made, in the unit of the targets.
        sd: of the same.
        points: independent points that both rest on.
        upper: upper target.
        lower: lower target; default none.
        confidence: of the two-sided interval.

    Raises:
        InputError: there is no target, or they are the wrong way round.
        NotEstimable: fewer than eight points, or no spread.
    """
    if not lower < upper or (math.isinf(lower) and math.isinf(upper)):
        message = f"the targets {lower} and {upper} leave nothing between them"
        raise InputError(message)
    if points < LEAST_POINTS or not sd > 0.0:
        message = f"{points} points with a spread of {sd:g} give no capability"
        raise NotEstimable(message)
    cpk = min(upper - mean, mean - lower) / (3.0 * sd)
    z = float(stats.norm.ppf(0.5 + confidence / 2.0))
    half = z * math.sqrt(1.0 / (9.0 * points) + cpk**2 / (2.0 * (points - 1)))
    return Capability(cpk, cpk - half, cpk + half)
