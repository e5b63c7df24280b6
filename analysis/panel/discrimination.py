r"""From a difference in taste to the share of correct answers, and back.

A difference of d' is how far two beers are apart on the taster's scale of sensation, in standard
deviations of one glass on it (Thurstone). Every method turns it into a share of correct answers:

    paired (2-AFC)  Φ(d/√2)
    3-AFC           Φ(d/√2) − 2 T(d/√2, 1/√3)
    duo-trio        1 − Φ(d/√2) − Φ(d/√6) + 2 Φ(d/√2) Φ(d/√6)
    triangle        1 − 4 T(d/√6, √3)
    tetrad          1 − 8 T(d/√2, 1/√3)         (unspecified: which two and two belong together)

with T Owen's function: the usual integrals over the normal density are of bivariate normal
probabilities, which T writes in closed form.

References: Ennis, J. Sensory Studies 8 (1993) 353-370; Ennis & Jesionka, J. Sensory Studies 26
(2011) 371-382.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, sqrt
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr, owens_t

from analysis.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

LARGEST_D_PRIME = 15.0
"""Where every method's share of correct answers is 1 to the last digit."""


@dataclass(frozen=True)
class Method:
    """A way of serving glasses so that only a taster who notices is right more often than by luck.

    Attributes:
        name: as the table difference_tests has it.
        guess: share of correct answers of one who notices nothing.
        glasses: glasses of one test.
        chance: from d' (0 or more, any shape) to the share of correct answers.
    """

    name: str
    guess: float
    glasses: int
    chance: Callable[[NDArray[np.float64]], NDArray[np.float64]]


def _paired(d: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(ndtr(d / sqrt(2.0)))


def _three(d: NDArray[np.float64]) -> NDArray[np.float64]:
    k = d / sqrt(2.0)
    return np.asarray(ndtr(k) - 2.0 * owens_t(k, 1.0 / sqrt(3.0)))


def _duo_trio(d: NDArray[np.float64]) -> NDArray[np.float64]:
    near, far = ndtr(d / sqrt(2.0)), ndtr(d / sqrt(6.0))
    return np.asarray(1.0 - near - far + 2.0 * near * far)


def _triangle(d: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(1.0 - 4.0 * owens_t(d / sqrt(6.0), sqrt(3.0)))


def _tetrad(d: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(1.0 - 8.0 * owens_t(d / sqrt(2.0), 1.0 / sqrt(3.0)))


METHODS = {
    method.name: method
    for method in (
        Method("triangle", 1.0 / 3.0, 3, _triangle),
        Method("duo-trio", 1.0 / 2.0, 3, _duo_trio),
        Method("paired", 1.0 / 2.0, 2, _paired),
        Method("tetrad", 1.0 / 3.0, 4, _tetrad),
        Method("3-afc", 1.0 / 3.0, 3, _three),
    )
}


def share_correct(method: Method, d_prime: NDArray[np.float64] | float) -> NDArray[np.float64]:
    """Return the share of correct answers at a difference, of the shape of `d_prime`.

    Raises:
        InputError: a difference is below 0 or not a number.
    """
    d = np.asarray(d_prime, dtype=np.float64)
    if not (d >= 0.0).all():
        message = "d' must be 0 or more"
        raise InputError(message)
    return method.chance(d)


def d_prime(method: Method, share: float) -> float:
    """Return the difference at which a share of the answers is correct.

    0 at guessing or below; infinite where no difference gives as many.
    """
    if share <= method.guess:
        return 0.0

    def over(d: float) -> float:
        return float(method.chance(np.float64(d))) - share  # type: ignore[arg-type]

    if over(LARGEST_D_PRIME) <= 0.0:
        return inf
    return float(brentq(over, 0.0, LARGEST_D_PRIME, xtol=1e-10))


def discriminators(method: Method, share: float) -> float:
    """Return the share of people who notice, of whom the others guess (Abbott); 0 at guessing.

    Args:
        method: the method.
        share: of correct answers, 0 to 1.
    """
    return max(0.0, (share - method.guess) / (1.0 - method.guess))


def correct_of(method: Method, noticing: float) -> float:
    """Return the share of correct answers where a share of people notices and the rest guesses."""
    return method.guess + noticing * (1.0 - method.guess)
