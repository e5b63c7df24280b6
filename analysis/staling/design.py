"""Parameters of the staling model, their priors, and the rows they act on.

    log T₂₀ = style + format + (style × format) − (b + b_style) · log(O / 60 ppb) + scale · W

T₂₀ is the age in days at 20 °C at which an assessor begins to reject a beer, O the oxygen dose of
its lot, and the clock runs at the activation energy Ea + Ea_style.

Priors are normal and assumed, not measured here: where the data say little they keep an answer
sensible and its bound wide, and each parameter is reported as `prior` until the data have halved
its standard deviation. Those of b and Ea span the rates published for beer and for the reactions
that age it (sulphur dioxide loss 48, sensory ageing about 62, furfural 101.8 kJ/mol).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import logit

from analysis.survival.penalised import Prior

if TYPE_CHECKING:
    from collections.abc import Sequence

    import polars as pl
    from numpy.typing import NDArray

    from analysis.survival.laws import Law

    Array = NDArray[np.float64]

ACTIVATION_ENERGY_RANGE = (45.0, 110.0)  # kJ/mol; rates published for beer all lie inside
MOST_WRONG = 0.45  # of answers; half would be a guess
_TYPICAL_DAYS = 120.0
_TYPICAL_SPREAD = 0.5
_SPREAD_OF_W = {"weibull": np.pi / np.sqrt(6.0), "lognormal": 1.0, "loglogistic": np.pi / 3**0.5}


def _eta(share: float) -> float:
    """Return the η at which 0.45 · expit(η) is `share`."""
    return float(logit(share / MOST_WRONG))


@dataclass(frozen=True)
class Term:
    """A parameter: its name and unit, and the normal prior it starts from."""

    name: str
    unit: str
    prior_mean: float
    prior_sd: float


@dataclass(frozen=True)
class Layout:
    """Where each parameter stands in the vector.

    The order is styles, formats, styles × formats, b, b by style, Ea, Ea by style, log scale,
    false alarms (shared, then by assessor), misses (shared, then by assessor).

    Attributes:
        styles: styles with verdicts on aged beer, in order.
        formats: formats with lots, in order, tasted or not.
        assessors: assessors with verdicts, in order.
    """

    styles: tuple[str, ...]
    formats: tuple[str, ...]
    assessors: tuple[str, ...]

    @property
    def exponent(self) -> int:
        """Place of the shared oxygen exponent b."""
        return (len(self.styles) + 1) * (len(self.formats) + 1) - 1

    @property
    def energy(self) -> int:
        """Place of the shared activation energy, kJ/mol."""
        return self.exponent + 1 + len(self.styles)

    @property
    def log_scale(self) -> int:
        """Place of log scale; all before it are parameters of location."""
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
            *(Term(f"{s} in {f}", "log days", 0.0, 0.10) for s in styles for f in formats),
            Term("oxygen exponent", "1", 0.30, 0.15),
            *(Term(f"oxygen exponent, {s} beside the rest", "1", 0.0, 0.10) for s in styles),
            Term("activation energy", "kJ/mol", 75.0, 15.0),
            *(Term(f"activation energy, {s} beside the rest", "kJ/mol", 0.0, 10.0) for s in styles),
            Term("log scale", "log days", float(spread), 0.7),
            *self._errors("false alarms", 0.08, 0.7),
            *self._errors("misses", 0.05, 0.5),
        ]

    def _errors(self, what: str, share: float, own_sd: float) -> list[Term]:
        shared = Term(f"{what}, typical assessor", "logit of the share / 0.45", _eta(share), 0.7)
        return [shared, *(Term(f"{what}, {a}", "logit", 0.0, own_sd) for a in self.assessors)]

    def prior(self, law: Law) -> Prior:
        """Gather the priors of all terms."""
        terms = self.terms(law)
        return Prior(
            np.array([term.prior_mean for term in terms]),
            np.array([term.prior_sd for term in terms]),
        )

    def rows(self, series: pl.DataFrame) -> tuple[Array, Array]:
        """Return what each location parameter adds to a row's log T₂₀ and to its Ea.

        Args:
            series: style, format, log_dose.

        Returns:
            Two arrays of shape (n, log_scale).
        """
        return self.matrices(
            series["style"].to_list(),
            series["format"].to_list(),
            series["log_dose"].to_numpy(),
        )

    def matrices(
        self, styles: Sequence[str], formats: Sequence[str], log_dose: Array
    ) -> tuple[Array, Array]:
        """Return the same from plain sequences of length n."""
        row = np.arange(len(styles))
        style = np.array([self.styles.index(s) for s in styles], dtype=np.intp)
        format_ = np.array([self.formats.index(f) for f in formats], dtype=np.intp)
        location = np.zeros((len(row), self.log_scale))
        location[row, style] = 1.0
        location[row, len(self.styles) + format_] = 1.0
        crossed = len(self.styles) + (style + 1) * len(self.formats) + format_
        location[row, crossed] = 1.0
        location[row, self.exponent] = -log_dose
        location[row, self.exponent + 1 + style] = -log_dose
        energy = np.zeros_like(location)
        energy[row, self.energy] = 1.0
        energy[row, self.energy + 1 + style] = 1.0
        return location, energy
