r"""How far apart two samples must be before so many assessors tell them apart.

Each of n assessors has r glasses of both samples in one session, so that their own levels fall out:

    variance of the difference = 2·(v_c + v_e/r)/n
    told apart = (t(0.95) + t(0.80)) · √variance,

the true difference whose 90 % interval leaves nought out four times in five; t with Satterthwaite's
degrees of freedom of v_c + v_e/r. Its own interval is that of the variance, by χ².

Reference: ISO 8586 for the spreads; the size of a paired comparison as in any textbook.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from scipy import stats

from analysis.panel.indicators import Bounded
from analysis.panel.mixed import CONFIDENCE

if TYPE_CHECKING:
    from analysis.panel.mixed import PanelFit

FOUND = 0.80  # share of true differences of that size that are found
_UPPER = 0.5 + CONFIDENCE / 2.0


def told_apart(fit: PanelFit, assessors: int, glasses: int = 1) -> Bounded:
    """Return the smallest difference that is found four times in five, in points.

    Args:
        fit: the panel.
        assessors: who taste both samples.
        glasses: of each sample that each of them has.
    """
    residual, _, cell = fit.variances
    freedom = fit.freedom(lambda variances: float(variances[2] + variances[0] / glasses))
    sd = math.sqrt(2.0 * (cell + residual / glasses) / assessors)
    value = sd * float(stats.t.ppf(_UPPER, freedom) + stats.t.ppf(FOUND, freedom))
    lower, upper = freedom / stats.chi2(freedom).ppf([_UPPER, 1.0 - _UPPER])
    return Bounded(value, value * math.sqrt(lower), value * math.sqrt(upper))
