"""What is known before the next study, and what is known after it.

The data so far stand as a normal law of the effects that the study touches: under the likeliest
law of W, at given spreads ψ and with the lots taken out, the part of N(û, S⁻¹) that belongs to the
style, the format and those who taste. A study brings new lots alone, so that its likelihood and
this normal law are all that a fit to both needs; but for the bend of the earlier likelihood the two
are the same. What ψ may be is drawn as the fit drew it, and each ψ has its own normal law: how many
glasses are rejected is known better than the spreads and the middle by themselves. People, styles
and formats without data keep their priors; without any fit everything does.

Reference: Chaloner & Verdinelli, Statistical Science 10, 1995, 273-304, for judging a design by
what is expected to be known after it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import linalg

from analysis.staling.design import ASSESSOR, INTERACTION, SPREAD_PRIORS, SPREADS, Layout
from analysis.staling.laplace import Laplace
from analysis.staling.mode import Known
from analysis.staling.model import LawDraws, around
from analysis.survival.laws import LOGNORMAL

if TYPE_CHECKING:
    from collections.abc import Sequence

    import polars as pl
    from numpy.typing import NDArray

    from analysis.staling.model import StalingModel
    from analysis.survival.laws import Law

    Array = NDArray[np.float64]

DRAWS = 1_000
_SPREADS_TRIED = 8
_SEED = 21
_SETTLED = 1e-4  # a step of a hundredth of a posterior SD
_NARROWEST = 0.01  # of a spread drawn from its prior, log days


@dataclass(frozen=True)
class Foresight:
    """Where a study begins.

    Attributes:
        law: the law of W.
        layout: the parameters that the study touches.
        spreads: what the SDs of style × format, lot, batch and assessor may be, shape (s, 4).
        known: the effects at each of them.
    """

    law: Law
    layout: Layout
    spreads: Array
    known: tuple[Known, ...]

    def before(self) -> LawDraws:
        """Draw what the parameters may be before the study; each draw is a truth to try it on."""
        roots = [linalg.cholesky(known.precision, lower=True) for known in self.known]
        return self._drawn([known.mean for known in self.known], roots)

    def after(self, series: pl.DataFrame) -> LawDraws:
        """Draw what the parameters may be after a study of new lots.

        The spreads keep their draws: a study of a few lots tells little of them.

        Args:
            series: as in `Evidence`; every lot is new, and a batch of its own.

        Raises:
            NotConverged: the effects did not settle.
        """
        laplace = Laplace(series, self.layout, self.law)
        modes = []
        start = None
        for known, spreads in zip(self.known, self.spreads, strict=True):
            modes.append(laplace.given(known).mode(spreads, start, _SETTLED))
            start = (modes[-1].effects, modes[-1].lots)
        return self._drawn([m.effects for m in modes], [m.schur_root for m in modes])

    def _drawn(self, means: Sequence[Array], roots: Sequence[Array]) -> LawDraws:
        """Draw around each mean in turn, always with the same noise, DRAWS or a few more in all."""
        rng = np.random.default_rng(_SEED)
        share = -(-DRAWS // len(means))
        params = [around(m, root, share, rng) for m, root in zip(means, roots, strict=True)]
        # one spread after the other, so that the first few draws stand for all of them
        together = np.stack(params, axis=1).reshape(share * len(means), -1)
        return LawDraws(self.law, together, np.tile(self.spreads, (share, 1)))


def foresee(
    model: StalingModel | None, style: str, format_: str, assessors: Sequence[str]
) -> Foresight:
    """Gather what is known before a study of a style in a format.

    Args:
        model: the fit; None where there is none, and the lognormal law is taken.
        style: of the study, known to the model or not.
        format_: likewise.
        assessors: those who will taste, likewise.

    Raises:
        NotConverged: the effects did not settle at one of the spreads.
    """
    layout = Layout((style,), (format_,), tuple(assessors))
    if model is None:
        rng = np.random.default_rng(_SEED)
        spreads = np.abs(rng.standard_normal((_SPREADS_TRIED, len(SPREADS)))) * SPREAD_PRIORS
        spreads = np.maximum(spreads, _NARROWEST)
        known = tuple(_assumed(layout, LOGNORMAL, each) for each in spreads)
        return Foresight(LOGNORMAL, layout, spreads, known)
    drawn = next(part.spreads for part in model.draws if part.law is model.law)
    drawn = np.unique(drawn, axis=0)
    number = min(_SPREADS_TRIED, len(drawn))
    spreads = drawn[np.arange(number) * len(drawn) // number]
    known = tuple(_learned(model, layout, each) for each in spreads)
    return Foresight(model.law, layout, spreads, known)


def _assumed(layout: Layout, law: Law, spreads: Array) -> Known:
    """The priors of all parameters."""
    terms = layout.terms(law)
    sd = np.array([np.nan if term.prior_sd is None else term.prior_sd for term in terms])
    sd[layout.interaction] = spreads[INTERACTION]
    sd[layout.assessor] = spreads[ASSESSOR]
    return Known(np.array([term.prior_mean for term in terms]), np.diag(sd**-2.0))


def _learned(model: StalingModel, layout: Layout, spreads: Array) -> Known:
    """What the data have left of the priors, at given spreads."""
    known = _assumed(layout, model.law, spreads)
    best = model.best
    mode = best.laplace.mode(spreads, (best.mode.effects, best.mode.lots))
    place = _places(layout, model.layout)
    told = np.flatnonzero(place >= 0)
    inverse = linalg.solve_triangular(
        mode.schur_root, np.eye(len(mode.effects))[:, place[told]], lower=True
    )
    mean, precision = known.mean.copy(), known.precision.copy()
    mean[told] = mode.effects[place[told]]
    precision[np.ix_(told, told)] = linalg.inv(inverse.T @ inverse)
    return Known(mean, precision)


def _places(layout: Layout, of: Layout) -> NDArray[np.intp]:
    """Places of the parameters of a layout of one style and format in another one, else −1."""
    (style,), (format_,) = layout.styles, layout.formats
    s = of.styles.index(style) if style in of.styles else None
    f = of.formats.index(format_) if format_ in of.formats else None
    people = [of.assessors.index(a) if a in of.assessors else None for a in layout.assessors]

    def at(start: int, *steps: int | None) -> int:
        return -1 if None in steps else start + sum(step for step in steps if step is not None)

    crossed = None if s is None else s * len(of.formats)
    return np.array(
        [
            at(0, s),
            at(len(of.styles), f),
            at(of.interaction.start, crossed, f),
            of.exponent,
            at(of.exponent + 1, s),
            *(at(of.assessor.start, who) for who in people),
            of.energy,
            at(of.energy + 1, s),
            of.log_scale,
            of.false_alarm.start,
            *(at(of.false_alarm.start + 1, who) for who in people),
            of.miss.start,
            *(at(of.miss.start + 1, who) for who in people),
        ],
        dtype=np.intp,
    )
