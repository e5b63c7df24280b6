"""What a study to come is expected to make of a date.

A truth is drawn from what is known today, the study's verdicts are simulated under it, and with
them the days are read off anew: so often as asked. Today's own bounds read off in the same way
stand beside those of the fit, and every simulated bound is scaled by that ratio, quantile by
quantile: what the reckoning leaves out (laws of little weight, a fine draw of the spreads) it
leaves out before and after alike.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from scipy.stats import binomtest

from analysis.dating.rounding import BestBefore, best_before
from analysis.dating.shelf_life import ABOUT_THE_TEMPERATURE_C
from analysis.dating.simulated import simulate_study
from analysis.errors import InputError, NotConverged
from analysis.kinetics.history import day_at
from analysis.staling.foresight import DRAWS
from analysis.staling.predict import cells_under

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from analysis.dating.policy import Rule
    from analysis.dating.routes import Route
    from analysis.dating.shelf_life import Life
    from analysis.dating.study import Study
    from analysis.each import Each
    from analysis.staling.design import Layout
    from analysis.staling.foresight import Foresight
    from analysis.staling.model import LawDraws

    Array = NDArray[np.float64]

MOST_STUDIES = DRAWS
_A_PART = 10
_LOWER, _MIDDLE, _UPPER = range(3)


@dataclass(frozen=True)
class Target:
    """The date that a study is for.

    Attributes:
        route: the way the beer goes.
        rule: the brewery's for this date.
        log_dose: log(dose / 60 ppb) of lots that the cell has had, shape (m,).
        life: today's shelf life by the fit; None where there is none for the cell.
        oldest_days: the oldest beer of the style tasted at about the route's last temperature.
        limits: cause to days, of whatever else may end the beer's life.
    """

    route: Route
    rule: Rule
    log_dose: Array
    life: Life | None
    oldest_days: float | None
    limits: Mapping[str, float]

    def days(self, draws: LawDraws, layout: Layout) -> Array:
        """Return lower bound, middle and upper bound on the route, days, shape (3,)."""
        (style,), (format_,) = layout.styles, layout.formats
        cell = cells_under((draws,), layout, style, [format_] * len(self.log_dose), self.log_dose)
        ages = cell.age_at(self.rule.share_rejected)
        days = day_at(self.route.stages, ages, cell.activation_energy)
        sure = self.rule.confidence
        return np.quantile(days, (1.0 - sure, 0.5, sure), method="inverted_cdf")

    def date(self, lower: float, study: Study | None = None) -> BestBefore:
        """Apply the policy to a lower bound, with the beer that a study will have tasted."""
        last = self.route.last_temp_c
        tasted = {} if study is None else study.oldest_days
        near = [old for c, old in tasted.items() if abs(c - last) <= ABOUT_THE_TEMPERATURE_C]
        ages = [age for age in (self.oldest_days, *near) if age is not None]
        return best_before(
            lower,
            rule=self.rule,
            oldest_tasted_days=max(ages, default=None),
            limits=self.limits,
            distribution_days=self.route.stages.distribution_days,
        )


@dataclass(frozen=True)
class Outlook:
    """What simulated studies made of the days; arrays run over studies.

    Attributes:
        study: the study.
        today: lower bound, middle and upper bound today, days, shape (3,).
        days: the same after each study, shape (n, 3); NaN where one did not settle.
        dates: best-before days by policy after each study; None where there is no date.
    """

    study: Study
    today: Array
    days: Array = field(repr=False)
    dates: tuple[BestBefore, ...] = field(repr=False)

    @property
    def settled(self) -> NDArray[np.bool_]:
        """Which studies could be fitted."""
        return np.isfinite(self.days[:, _LOWER])

    @property
    def widths(self) -> Array:
        """From lower to upper bound after each study, days."""
        return np.asarray(self.days[:, _UPPER] - self.days[:, _LOWER])

    @property
    def width_today(self) -> float:
        """The same today."""
        return float(self.today[_UPPER] - self.today[_LOWER])

    @property
    def width(self) -> float:
        """Expected width, days."""
        return float(np.nanmean(self.widths))

    @property
    def lower(self) -> Array:
        """Lower bounds after the studies that settled, days."""
        return np.asarray(self.days[self.settled, _LOWER])

    def supporting(self, wish_days: int) -> int:
        """Count the studies after which policy would give a date of so many days."""
        return sum(date.days is not None and date.days >= wish_days for date in self.dates)

    def chance(self, wish_days: int) -> tuple[float, float]:
        """Return bounds of the share of such studies that would, 0 to 1: exact, 90 %.

        The simulation's own scatter alone: where none of 60 does, it may still be one in twenty.
        """
        tried = binomtest(self.supporting(wish_days), len(self.dates))
        found = tried.proportion_ci(confidence_level=0.90, method="exact")
        return float(found.low), float(found.high)


@dataclass(frozen=True)
class StudiesToTry:
    """Some of the simulated studies: one part of a plan."""

    study: Study
    foresight: Foresight
    truths: LawDraws
    target: Target
    numbers: range

    def __str__(self) -> str:
        """Name the part for a person."""
        return f"studies {self.numbers.start + 1} to {self.numbers.stop}"


def try_studies(part: StudiesToTry) -> Array:
    """Simulate, fit, and give the days of `Target`, shape (studies, 3); NaN where not settled."""
    layout, days = part.foresight.layout, np.full((len(part.numbers), 3), np.nan)
    for row, number in enumerate(part.numbers):
        series = simulate_study(part.study, layout, part.truths, part.target.log_dose, number)
        try:
            after = part.foresight.after(series) if series.height else part.foresight.before()
        except NotConverged:
            continue
        days[row] = part.target.days(after, layout)
    return days


def plan(
    study: Study, foresight: Foresight, target: Target, studies: int, each: Each = map
) -> Outlook:
    """Simulate a study many times over.

    Args:
        study: the study, of the style and format of the foresight and of some of its assessors.
        foresight: what is known before it.
        target: the date that it is for.
        studies: how many times, 1 to `MOST_STUDIES`.
        each: spreads the studies.

    Raises:
        InputError: fewer or more studies than that.
        NotConverged: none of them settled.
    """
    if not 1 <= studies <= MOST_STUDIES:
        message = f"a plan simulates 1 to {MOST_STUDIES} studies"
        raise InputError(message)
    truths = foresight.before()
    begins = range(0, studies, _A_PART)
    parts = [
        StudiesToTry(study, foresight, truths, target, range(n, min(n + _A_PART, studies)))
        for n in begins
    ]
    days = np.concatenate(list(each(try_studies, parts)))
    if not np.isfinite(days[:, _LOWER]).any():
        message = "none of the simulated studies settled on an estimate"
        raise NotConverged(message)
    reckoned = target.days(truths, foresight.layout)
    today = reckoned
    if (life := target.life) is not None and life.upper is not None:
        today = np.array([life.lower, life.days, life.upper])
        days = days * (today / reckoned)
    dates = tuple(target.date(lower, study) for lower in days[:, _LOWER] if np.isfinite(lower))
    return Outlook(study, today, days, dates)
