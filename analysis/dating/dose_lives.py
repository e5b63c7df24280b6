"""How long a single lot lives by its oxygen dose, kept draw by draw so that nothing is fitted anew.

    age(O) = age(60 ppb) · (O / 60 ppb)^(−b)

age(O) is the days at 20 °C by which a share of a lot with the dose O is rejected: one
like any other of its style and format but for its oxygen, tasted by an assessor drawn from those
the panel stands for. The dose moves log T alone, so that three numbers a draw, age(60 ppb), b
and the activation energy, give the days of any dose on any storage history, as exactly as the fit
itself would.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.kinetics.history import day_at
from analysis.staling.evidence import REFERENCE_DOSE_PPB
from analysis.staling.predict import cells as cells_of_style

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import ArrayLike, NDArray

    from analysis.dating.shelf_life import Cell
    from analysis.kinetics.history import Stages
    from analysis.staling.model import StalingModel

    Array = NDArray[np.float64]

Place = tuple[str, str, float]
"""A style, a format, and the share of glasses rejected at which life ends."""

_DRAWS = pl.Schema(
    {
        "style": pl.String,
        "format": pl.String,
        "share_rejected": pl.Float64,
        "draw": pl.Int32,
        "age_days": pl.Float64,
        "oxygen_exponent": pl.Float64,
        "activation_energy_kj_mol": pl.Float64,
    }
)


@dataclass(frozen=True)
class DoseLives:
    """The lives of single lots of a style in a format, for d draws.

    Attributes:
        age: days at 20 °C by which the share is rejected at 60 ppb, shape (d,).
        exponent: b of the style, shape (d,).
        energy: activation energy, kJ/mol, shape (d,).
    """

    age: Array = field(repr=False)
    exponent: Array = field(repr=False)
    energy: Array = field(repr=False)

    def days(self, stages: Stages, dose_ppb: ArrayLike) -> Array:
        """Return the days from packaging at which a lot's life ends, ∞ where never, shape (d,).

        Args:
            stages: how it is kept.
            dose_ppb: its dose, or one for each draw, shape (d,).
        """
        return day_at(stages, self._age(dose_ppb), self.energy)

    def life(self, stages: Stages, dose_ppb: float, confidence: float) -> tuple[float, float]:
        """Return the median of those days and their one-sided lower bound."""
        quantiles = np.quantile(
            self.days(stages, dose_ppb), (0.5, 1.0 - confidence), method="inverted_cdf"
        )  # days may be ∞
        return float(quantiles[0]), float(quantiles[1])

    def _age(self, dose_ppb: ArrayLike) -> Array:
        dose = np.asarray(dose_ppb, dtype=np.float64)
        return np.asarray(self.age * (dose / REFERENCE_DOSE_PPB) ** -self.exponent)


def dose_lives(
    model: StalingModel | None, cells: Sequence[Cell], shares: Sequence[float]
) -> pl.DataFrame:
    """Tabulate what the lives of single lots depend on.

    Args:
        model: the fit; None where there is none.
        cells: every style and format; those without an estimate are left out.
        shares: of glasses rejected at which some beer's life ends, 0 to 1.

    Returns:
        One row for each style, format, share_rejected and draw: age_days (at 20 °C and 60 ppb),
        oxygen_exponent, activation_energy_kj_mol.
    """
    frames = [pl.DataFrame(schema=_DRAWS)]
    for cell in cells:
        if model is None or cell.drawn is None:
            continue
        one = cells_of_style(model, cell.style, [cell.format], np.zeros(1))
        exponent = exponents(model, cell.style, cell.format)
        for share in shares:
            age = one.age_at(share)
            frames.append(
                pl.DataFrame(
                    {
                        "style": cell.style,
                        "format": cell.format,
                        "share_rejected": share,
                        "draw": np.arange(len(age)),
                        "age_days": age,
                        "oxygen_exponent": exponent,
                        "activation_energy_kj_mol": one.activation_energy,
                    }
                ).cast(_DRAWS)
            )
    return pl.concat(frames)


def exponents(model: StalingModel, style: str, format_: str) -> Array:
    """Return b of a style, the power with which life falls with the dose, one a draw."""
    one, moved = (
        cells_of_style(model, style, [format_], log_dose) for log_dose in (np.zeros(1), np.ones(1))
    )
    return np.concatenate(
        [
            (at.location - more.location)[:, 0]
            for at, more in zip(one.parts, moved.parts, strict=True)
        ]
    )


def dose_lives_of(draws: pl.DataFrame) -> Mapping[Place, DoseLives]:
    """Return the lives by style, format and share from the table that `dose_lives` made."""
    place = ["style", "format", "share_rejected"]
    return {
        (str(style), str(format_), float(str(share))): DoseLives(
            *(
                part[name].to_numpy()
                for name in ("age_days", "oxygen_exponent", "activation_energy_kj_mol")
            )
        )
        for (style, format_, share), part in draws.sort(*place, "draw").group_by(
            place, maintain_order=True
        )
    }
