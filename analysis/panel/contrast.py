r"""Two sides on one panel: the mean of each, and by how much they differ.

A value (a score, or 1 for a rejected glass) is side + assessor + cell, by least squares, a cell
being what was stored alike for about as long. The means are those of a panel that tasted every cell
of both sides once each, so that who was absent and what was not pulled favours neither.

What is not known comes from two things drawn at random: assessors, who do not all find the same
difference, and lots or sessions, which differ by themselves. Each is left out in turn; with m left
out of G clusters, the jackknife variance is (G − 1)/G Σ (θ_g − θ̄)². The two variances are added,
which counts the single glass twice and so errs to the wide side, and bounds are Student's t with
Satterthwaite's degrees of freedom.

References: Bell & McCaffrey, Survey Methodology 28 (2002) 169-181; Cameron, Gelbach & Miller,
J. Business & Economic Statistics 29 (2011) 238-249; Satterthwaite, Biometrics Bulletin 2 (1946)
110-114; Agresti & Caffo, American Statistician 54 (2000) 280-288.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.stats import t

from analysis.errors import NotEstimable

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    Codes = NDArray[np.int64]

FEWEST_ASSESSORS = 3
_ESTIMABLE = 1e-6  # how near a contrast must come to itself in the span of what is left


@dataclass(frozen=True)
class Glasses:
    """Values of two sides, one element a glass; codes are from 0 without gaps.

    Attributes:
        value: what is compared.
        second: whether the glass is of the second side.
        cell: what was stored alike.
        assessor: who tasted.
        clusters: what else is drawn at random, by what one of it is called: session, lot. A code of
            -1 is never left out: one lot held against several, whose spread then counts for it too.
        share: whether values are 0 or 1.
    """

    value: NDArray[np.float64]
    second: NDArray[np.bool_]
    cell: Codes
    assessor: Codes
    clusters: Mapping[str, Codes]
    share: bool = False


@dataclass(frozen=True)
class Estimate:
    """A number with its standard error and the degrees of freedom of that."""

    value: float
    error: float
    freedom: float

    def bounds(self, level: float) -> tuple[float, float]:
        """Return two-sided bounds."""
        reach = float(t.ppf((1.0 + level) / 2.0, self.freedom)) * self.error
        return self.value - reach, self.value + reach


@dataclass(frozen=True)
class Contrast:
    """The means of both sides and the second less the first."""

    first: Estimate
    second: Estimate
    difference: Estimate


def contrast(glasses: Glasses) -> Contrast:
    """Compare two sides.

    Raises:
        NotEstimable: too few assessors, or too few lots or sessions to tell what they differ by;
            the text says how many there are.
    """
    people = int(glasses.assessor.max(initial=-1)) + 1
    if people < FEWEST_ASSESSORS:
        message = f"too few to say (n = {_count(people, 'assessor')} who tasted both)"
        raise NotEstimable(message)
    design = _design(glasses)
    value = _solved(design, glasses, np.zeros((1, len(glasses.value)), dtype=np.bool_))[0]
    if not np.isfinite(value).all():
        message = "too few to say (n = 0 ages at which both were tasted)"
        raise NotEstimable(message)
    by_people = _jackknife(design, glasses, "assessor", glasses.assessor)
    others = [_jackknife(design, glasses, *cluster) for cluster in glasses.clusters.items()]
    floors = _floors(glasses)
    parts = []
    for i in range(3):
        first = by_people[i]
        second = max((other[i] for other in others), default=(0.0, 1.0), key=lambda v: v[0])
        variance = max(first[0] + second[0], floors[i])
        square = first[0] ** 2 / first[1] + second[0] ** 2 / second[1]
        freedom = (first[0] + second[0]) ** 2 / square if square > 0.0 else float(people - 1)
        parts.append(Estimate(float(value[i]), float(np.sqrt(variance)), freedom))
    return Contrast(*parts)


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"


def _design(glasses: Glasses) -> NDArray[np.float64]:
    """Return dummies of side, assessor and cell; the last two have one level too many."""
    blocks = [glasses.second.astype(np.int64), glasses.assessor, glasses.cell]
    widths = [2, *(int(block.max()) + 1 for block in blocks[1:])]
    return np.hstack([np.eye(w)[block] for w, block in zip(widths, blocks, strict=True)])


def _solved(
    design: NDArray[np.float64], glasses: Glasses, left_out: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """Return both means and the difference for each way of leaving glasses out.

    Args:
        design: dummies, (glasses, columns).
        glasses: the values.
        left_out: (ways, glasses).

    Returns:
        (ways, 3); nan where what is left does not tell.
    """
    gone = [design[way] for way in left_out]
    normal = design.T @ design - np.stack([part.T @ part for part in gone])
    right = ~left_out @ (design * glasses.value[:, None])
    inverse = np.linalg.pinv(normal, rcond=1e-10, hermitian=True)
    people = int(glasses.assessor.max()) + 1
    present = (~left_out @ design) > 0.0
    wanted = np.zeros((len(left_out), 3, design.shape[1]))
    for block in (slice(2, 2 + people), slice(2 + people, None)):
        here = present[:, block].astype(np.float64)
        wanted[:, :2, block] = (here / here.sum(axis=1, keepdims=True))[:, None, :]
    wanted[:, 0, 0] = wanted[:, 1, 1] = 1.0
    wanted[:, 2] = wanted[:, 1] - wanted[:, 0]
    within = wanted @ inverse @ normal
    told = np.abs(within - wanted).max(axis=2) < _ESTIMABLE
    solved = np.einsum("wcj,wj->wc", wanted, (inverse @ right[:, :, None])[:, :, 0])
    return np.where(told, solved, np.nan)


def _jackknife(
    design: NDArray[np.float64], glasses: Glasses, noun: str, codes: Codes
) -> list[tuple[float, float]]:
    """Return the variance of both means and the difference, each with its degrees of freedom.

    Raises:
        NotEstimable: without one of the clusters nothing is left to compare.
    """
    groups = int(codes.max()) + 1
    member = codes == np.arange(groups)[:, None]
    without = _solved(design, glasses, member) if groups > 1 else np.full((1, 3), np.nan)
    if not np.isfinite(without).all():
        first, second = (len(np.unique(codes[glasses.second == side])) for side in (False, True))
        message = f"too few to say (n = {first} and {_count(second, noun)})"
        raise NotEstimable(message)
    spread = (groups - 1) / groups * ((without - without.mean(axis=0)) ** 2).sum(axis=0)
    of_side = [member[:, glasses.second == side].any(axis=1) for side in (False, True)]
    apart = all(side.any() for side in of_side) and not (of_side[0] & of_side[1]).any()
    freedom = [int(side.sum()) - 1 for side in of_side]
    freedom.append(groups - 1 - apart)
    if (codes < 0).any():
        spread[2] *= groups + 1
    return [(float(v), float(max(f, 1))) for v, f in zip(spread, freedom, strict=True)]


def _floors(glasses: Glasses) -> tuple[float, float, float]:
    """Return the least variance of a share: glasses that all were accepted are no proof."""
    if not glasses.share:
        return 0.0, 0.0, 0.0
    of_side = [glasses.value[glasses.second == side] for side in (False, True)]
    chances = [(side.sum() + 1.0) / (len(side) + 2.0) for side in of_side]
    first, second = (
        float(p * (1.0 - p) / (len(side) + 2.0)) for p, side in zip(chances, of_side, strict=True)
    )
    return first, second, first + second
