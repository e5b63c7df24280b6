r"""Standard laws of W in the accelerated-failure-time model log T = location + scale · W.

    law           W                        S(w) = P(W > w)             T
    weibull       smallest extreme value   exp(−exp(w))                Weibull, shape 1/scale
    lognormal     standard normal          Φ(−w)                       lognormal
    loglogistic   standard logistic        1 / (1 + exp(w))            loglogistic

Each law gives, elementwise on arrays of w: log S, log f, the slope of log f and the slope of that.
Everything stays in logs, where the far tails keep their gradient.

Reference: Kalbfleisch & Prentice, The Statistical Analysis of Failure Time Data, 2nd ed., 2002,
section 2.2.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from analysis.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_LOG_ROOT_TWO_PI = 0.5 * np.log(2.0 * np.pi)


@dataclass(frozen=True)
class Law:
    """A standard law: location 0, scale 1, on the log-time scale.

    Attributes:
        name: weibull, lognormal or loglogistic.
        log_survival: w to log P(W > w).
        log_density: w to log f(w).
        density_slope: w to d log f / dw.
        density_curvature: w to d² log f / dw².
        quantile: share p in (0, 1) to the w with P(W ≤ w) = p.
    """

    name: str
    log_survival: Callable[[Array], Array]
    log_density: Callable[[Array], Array]
    density_slope: Callable[[Array], Array]
    density_curvature: Callable[[Array], Array]
    quantile: Callable[[Array], Array]

    def share_failed(self, w: Array) -> Array:
        """Return P(W ≤ w), elementwise."""
        with np.errstate(over="ignore"):  # far in the upper tail everything has failed
            return -np.expm1(self.log_survival(w))

    def __reduce__(self) -> tuple[Callable[[str], Law], tuple[str]]:
        """Pickle by name: a law is one of `LAWS` in every process."""
        return law_named, (self.name,)


WEIBULL = Law(
    name="weibull",
    log_survival=lambda w: -np.exp(w),
    log_density=lambda w: w - np.exp(w),
    density_slope=lambda w: -np.expm1(w),
    density_curvature=lambda w: -np.exp(w),
    quantile=lambda p: np.log(-np.log1p(-p)),
)
LOGNORMAL = Law(
    name="lognormal",
    log_survival=lambda w: special.log_ndtr(-w),
    log_density=lambda w: -0.5 * w * w - _LOG_ROOT_TWO_PI,
    density_slope=np.negative,
    density_curvature=lambda w: -np.ones_like(w),
    quantile=special.ndtri,
)
LOGLOGISTIC = Law(
    name="loglogistic",
    log_survival=lambda w: special.log_expit(-w),
    log_density=lambda w: special.log_expit(w) + special.log_expit(-w),
    density_slope=lambda w: -np.tanh(0.5 * w),
    density_curvature=lambda w: -2.0 * special.expit(w) * special.expit(-w),
    quantile=special.logit,
)
LAWS: tuple[Law, ...] = (WEIBULL, LOGNORMAL, LOGLOGISTIC)


def law_named(name: str) -> Law:
    """Return the law of that name.

    Raises:
        InputError: there is none.
    """
    for law in LAWS:
        if law.name == name:
            return law
    message = f"no law named {name!r}: expected one of {', '.join(law.name for law in LAWS)}"
    raise InputError(message)
