"""Parameters of the staling model, their priors, and the series they act on.

    log T₂₀ = style + format + (style × format) − (b + b_style) · log(O / 60 ppb)
              + batch + lot + assessor + scale · W

T₂₀ is the age in days at 20 °C at which an assessor begins to reject a beer, O the oxygen dose of
its lot, and the clock runs at the activation energy Ea + Ea_style. False alarms and misses of an
assessor are a shared share plus an own part, on the scale of `verdicts`.

Priors are normal and assumed, not measured here: where the data say little they keep an answer
sensible and its bound wide. Those of b and Ea span the rates published for beer and for the
reactions that age it (sulphur dioxide loss 48, sensory ageing about 62, furfural 101.8 kJ/mol). The
spreads of style × format, lot, batch and assessor are estimated, under half-normal priors.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
from scipy.special import logit

from analysis.errors import NotEstimable
from analysis.staling.verdicts import MOST_WRONG

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analysis.staling.evidence import Evidence
    from analysis.survival.laws import Law

    Array = NDArray[np.float64]

ACTIVATION_ENERGY_RANGE = (45.0, 110.0)  # kJ/mol; rates published for beer all lie inside
SPREADS = ("style × format", "lot", "batch", "assessor")
INTERACTION, LOT, BATCH, ASSESSOR = range(len(SPREADS))
SPREAD_PRIORS = np.array([0.10, 0.20, 0.15, 0.40])
"""Scales of the half-normal priors of the spreads, log days."""

_NEVER = -14.0  # η of an error share below one in a million
_TYPICAL_DAYS = 120.0
_TYPICAL_SPREAD = 0.4
_SPREAD_OF_W = {"weibull": np.pi / 6**0.5, "lognormal": 1.0, "loglogistic": np.pi / 3**0.5}


@dataclass(frozen=True)
class Term:
    """A parameter: its name and unit, and the normal prior it starts from.

    `prior_sd` is None where it is one of the spreads and estimated.
    """

    name: str
    unit: str
    prior_mean: float
    prior_sd: float | None


@dataclass(frozen=True)
class Layout:
    """Where each parameter stands in the vector; lots and batches stand apart.

    The order is that of a series' predictor. Location: styles, formats, styles × formats, b, b by
    style, columns of `extra`, assessors. Energy: Ea, Ea by style. Then log scale; false alarms,
    shared and by assessor; misses likewise.

    Attributes:
        styles: styles with verdicts on aged beer, in order.
        formats: formats with lots, in order, tasted or not.
        assessors: assessors with verdicts, in order.
        extra: further columns of location, each a term with a prior.
        faultless: whether no verdict is ever wrong.
    """

    styles: tuple[str, ...]
    formats: tuple[str, ...]
    assessors: tuple[str, ...]
    extra: tuple[Term, ...] = ()
    faultless: bool = False

    @property
    def interaction(self) -> slice:
        """Places of style × format, styles outermost."""
        start = len(self.styles) + len(self.formats)
        return slice(start, start + len(self.styles) * len(self.formats))

    @property
    def exponent(self) -> int:
        """Place of the shared oxygen exponent b."""
        return len(self.styles) + (1 + len(self.styles)) * len(self.formats)

    @property
    def extras(self) -> slice:
        """Places of the further columns."""
        start = self.exponent + 1 + len(self.styles)
        return slice(start, start + len(self.extra))

    @property
    def assessor(self) -> slice:
        """Places of the assessors' effects."""
        return slice(self.extras.stop, self.extras.stop + len(self.assessors))

    @property
    def energy(self) -> int:
        """Place of the shared activation energy, kJ/mol."""
        return self.exponent + 1 + len(self.styles) + len(self.extra) + len(self.assessors)

    @property
    def log_scale(self) -> int:
        """Place of log scale."""
        return self.energy + 1 + len(self.styles)

    @property
    def false_alarm(self) -> slice:
        """Places of η of the false alarms: shared, then each assessor's own part."""
        return slice(self.log_scale + 1, self.log_scale + 2 + len(self.assessors))

    @property
    def miss(self) -> slice:
        """Places of η of the misses, likewise."""
        return slice(self.false_alarm.stop, self.size)

    @property
    def size(self) -> int:
        """Number of parameters."""
        return self.log_scale + 3 + 2 * len(self.assessors)

    @property
    def blocks(self) -> tuple[slice, ...]:
        """Places of the parameters of location, energy, log scale, false alarms and misses."""
        return (
            slice(0, self.energy),
            slice(self.energy, self.log_scale),
            slice(self.log_scale, self.log_scale + 1),
            self.false_alarm,
            self.miss,
        )

    def style(self, style: str) -> int:
        """Place of a style's effect; its exponent and energy deviate at the same distance."""
        return self.styles.index(style)

    def terms(self, law: Law) -> list[Term]:
        """Describe every parameter under a law."""
        styles, formats = self.styles, self.formats
        spread = np.log(_TYPICAL_SPREAD / _SPREAD_OF_W[law.name])
        return [
            *(Term(f"style {s}", "log days at 20 °C", np.log(_TYPICAL_DAYS), 1.5) for s in styles),
            *(Term(f"format {f}", "log days", 0.0, 0.15) for f in formats),
            *(Term(f"{s} in {f}", "log days", 0.0, None) for s in styles for f in formats),
            Term("oxygen exponent", "1", 0.30, 0.15),
            *(Term(f"oxygen exponent, {s} beside the rest", "1", 0.0, 0.10) for s in styles),
            *self.extra,
            *(Term(f"assessor {a}", "log days", 0.0, None) for a in self.assessors),
            Term("activation energy", "kJ/mol", 75.0, 15.0),
            *(Term(f"activation energy, {s} beside the rest", "kJ/mol", 0.0, 10.0) for s in styles),
            Term("log scale", "log days", float(spread), 0.7),
            *self._errors("false alarms", 0.08, 0.7),
            *self._errors("misses", 0.05, 0.5),
        ]

    def _errors(self, what: str, share: float, own_sd: float) -> list[Term]:
        if self.faultless:
            names = ["typical assessor", *self.assessors]
            return [
                Term(f"{what}, {n}", "logit", 0.0 if k else _NEVER, 1e-3)
                for k, n in enumerate(names)
            ]
        shared = float(logit(share / MOST_WRONG))
        return [
            Term(f"{what}, typical assessor", "logit of the share / 0.45", shared, 0.7),
            *(Term(f"{what}, {a}", "logit", 0.0, own_sd) for a in self.assessors),
        ]

    def matrices(
        self,
        styles: Sequence[str],
        formats: Sequence[str],
        log_dose: Array,
        extra: Array | None = None,
    ) -> tuple[Array, Array]:
        """Return what the parameters of location and of energy add to each of n rows.

        Args:
            styles: style of each row.
            formats: format of each row.
            log_dose: log(dose / 60 ppb) of each row, shape (n,).
            extra: values of the further columns, shape (n, len(self.extra)); default 0.

        Returns:
            Arrays of shape (n, location parameters), assessors 0, and (n, energy parameters).
        """
        row = np.arange(len(styles))
        style = np.array([self.styles.index(s) for s in styles], dtype=np.intp)
        format_ = np.array([self.formats.index(f) for f in formats], dtype=np.intp)
        location = np.zeros((len(row), self.energy))
        location[row, style] = 1.0
        location[row, len(self.styles) + format_] = 1.0
        location[row, self.interaction.start + style * len(self.formats) + format_] = 1.0
        location[row, self.exponent] = -log_dose
        location[row, self.exponent + 1 + style] = -log_dose
        if extra is not None:
            location[:, self.extras] = extra
        energy = np.zeros((len(row), 1 + len(self.styles)))
        energy[:, 0] = 1.0
        energy[row, 1 + style] = 1.0
        return location, energy

    def rows(self, series: pl.DataFrame, extra: Array | None = None) -> tuple[Array, ...]:
        """Return what the parameters of each block add to each series' predictor.

        Args:
            series: style, format, log_dose, assessor.
            extra: values of the further columns, shape (n, len(self.extra)).

        Returns:
            Five arrays of n rows, in the order of `blocks`.
        """
        location, energy = self.matrices(
            series["style"].to_list(),
            series["format"].to_list(),
            series["log_dose"].to_numpy(),
            extra,
        )
        number = series.height
        who = np.array([self.assessors.index(a) for a in series["assessor"]], dtype=np.intp)
        own = np.zeros((number, len(self.assessors)))
        own[np.arange(number), who] = 1.0
        location[:, self.assessor] = own
        errors = np.column_stack([np.ones(number), own])
        return location, energy, np.ones((number, 1)), errors, errors


def designed(evidence: Evidence, extra: tuple[Term, ...] = ()) -> tuple[pl.DataFrame, Layout]:
    """Return the series that can be fitted, and the layout of their parameters.

    Raises:
        NotEstimable: there are no verdicts on aged beer, or nothing was rejected.
    """
    aged = evidence.series.filter("aged")
    if aged.is_empty():
        message = "no aged beer has a verdict: the samples and tastings tables would fill this"
        raise NotEstimable(message)
    if not aged["rejected"].explode().any():
        message = "nothing was rejected yet: older or warmer samples would show when staling begins"
        raise NotEstimable(message)
    styles = tuple(aged["style"].unique().sort())
    series = evidence.series.filter(pl.col("style").is_in(styles))
    formats = tuple(evidence.lots["format"].unique().sort())
    return series, Layout(styles, formats, tuple(series["assessor"].unique().sort()), extra)
