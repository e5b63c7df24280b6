"""A taste complaint and everything that is known of its lot, checked once."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from analysis.errors import InputError

if TYPE_CHECKING:
    import polars as pl

    from analysis.cases.ages import AgesDrunk
    from analysis.cases.evidence import Item
    from analysis.cases.questions import Question
    from analysis.kinetics.history import Stages


@dataclass(frozen=True)
class Case:
    """A complaint about one lot in one format.

    Attributes:
        draws: rows of `risk_draws` of its style and format: draw, distribution, location,
            oxygen_exponent, scale, between, between_lots (null: two fifths of `between`, assumed),
            activation_energy_kj_mol.
        usual_log_ppb: mean and SD over the lots of its line of the log total package oxygen at
            filling, ppb.
        stages: its route from packaging on.
        ages_drunk: the ages at which packages of it are drunk.
        kind: of the package.
        categories: what the complaint is about.
        age_days: days from packaging until it was opened; None where nothing is known of it.
        age_sd: how far off that may be, SD in days; 0 where the day of opening is known.
        printed_days: days from packaging to the printed date; None where it is not known.
        light: dark, brown, green or clear; None where it is not known.
        ingress_dose_ppb: what its closure adds to the oxygen dose, ppb; 90 days of it.
        trade_from_days: day from packaging from which the trade had it; None: from the route's
            last stage on.
        items: the evidence, beside the age and the words of the complaint.
        questions: what could still be asked, tasted or measured.

    Raises:
        InputError: one of them is out of its range, or two items have the same name.
    """

    draws: pl.DataFrame = field(repr=False)
    usual_log_ppb: tuple[float, float]
    stages: Stages
    ages_drunk: AgesDrunk
    kind: str
    categories: tuple[str, ...]
    age_days: float | None = None
    age_sd: float = 0.0
    printed_days: float | None = None
    light: str | None = None
    ingress_dose_ppb: float = 0.0
    trade_from_days: float | None = None
    items: tuple[Item, ...] = ()
    questions: tuple[Question, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what is no case."""
        mean, sd = self.usual_log_ppb
        names = [item.name for item in self.items]
        fault = None
        if self.draws.is_empty():
            fault = "nothing is estimated for this style and format: there are no draws"
        elif not (math.isfinite(mean) and math.isfinite(sd) and sd > 0.0):
            fault = "the usual oxygen of a line needs a mean and an SD above 0, in logs"
        elif self.age_days is not None and not 0.0 < self.age_days < math.inf:
            fault = "the age when opened must be above 0 days"
        elif not 0.0 <= self.age_sd < math.inf:
            fault = "the SD of the age when opened must be 0 days or more"
        elif self.printed_days is not None and not self.printed_days > 0.0:
            fault = "the printed date must lie after packaging"
        elif not self.ingress_dose_ppb >= 0.0:
            fault = "what a closure lets in must be 0 ppb or more"
        elif self.trade_from_days is not None and not 0.0 <= self.trade_from_days < math.inf:
            fault = "the trade cannot have had it before it was packaged"
        elif len(set(names)) < len(names):
            fault = "two pieces of evidence have the same name"
        if fault is not None:
            raise InputError(fault)

    @property
    def trade_from(self) -> float:
        """Day from packaging from which the trade had it."""
        told = self.trade_from_days
        return self.stages.distribution_days if told is None else told

    @property
    def opened_after_its_date(self) -> bool:
        """Whether it is known to have been opened after the printed day."""
        return (
            self.age_days is not None
            and self.printed_days is not None
            and self.age_sd == 0.0
            and self.age_days > self.printed_days
        )
