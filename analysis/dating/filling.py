"""What a cell's lots were filled with, and how old they get if it had been something else.

    dose = TPO + 90 · g,    the ages at which a share is rejected, one for each of the model's draws

A draw stays what it is whatever the lots were filled with, so that days with and without a change
may be subtracted draw by draw.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.oxygen.dose import DOSE_DAYS
from analysis.staling.evidence import REFERENCE_DOSE_PPB
from analysis.staling.predict import cells

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analysis.dating.shelf_life import Cell
    from analysis.staling.model import StalingModel

    Array = NDArray[np.float64]


SCAVENGING_PPB_PER_DAY = 0.2
"""What a closure with a scavenging liner lets in at 20 °C (assumed)."""


@dataclass(frozen=True)
class Filling:
    """Lots of a cell: what they held at filling and what their closure lets in.

    Attributes:
        total_ppb: total package oxygen of each lot at filling, ppb, shape (m,).
        ingress: ppb a day at 20 °C; a format has one.
    """

    total_ppb: Array
    ingress: float

    @property
    def median_ppb(self) -> float:
        """Total package oxygen of the middle lot, ppb."""
        return float(np.median(self.total_ppb))

    @property
    def log_dose(self) -> Array:
        """log(dose / 60 ppb) of each lot."""
        dose = self.total_ppb + DOSE_DAYS * self.ingress
        return np.asarray(np.log(dose / REFERENCE_DOSE_PPB))


@dataclass(frozen=True)
class Filled:
    """A cell with an estimate, and what its lots were filled with.

    Attributes:
        cell: the cell.
        filling: of its lots.
        lines: the line of each lot, or None where it is not recorded.
        energy: activation energy, kJ/mol, one a draw.
    """

    cell: Cell
    filling: Filling
    lines: tuple[str | None, ...]
    energy: Array


def filled_cells(every: Sequence[Cell]) -> tuple[Filled, ...]:
    """Return the cells with an estimate, by style and format."""
    return tuple(
        Filled(
            cell,
            Filling(
                cell.filled["total_oxygen_ppb"].to_numpy(),
                float(cell.filled["ingress_ppb_per_day"][0]),
            ),
            tuple(cell.filled["line"]),
            cell.drawn.activation_energy,
        )
        for cell in sorted(every, key=lambda cell: (cell.style, cell.format))
        if cell.filled is not None and cell.drawn is not None
    )


def ages(model: StalingModel, style: str, format_: str, filling: Filling, share: float) -> Array:
    """Return the days at 20 °C at which a share is rejected, one a draw.

    Args:
        model: the fit.
        style: a style the model has.
        format_: the format whose own effect counts.
        filling: what its lots hold; it may be another format's, or none's.
        share: of glasses rejected for age, 0 to 1.
    """
    log_dose = filling.log_dose
    return cells(model, style, [format_] * len(log_dose), log_dose).age_at(share)


def exponent_source(model: StalingModel, style: str) -> str:
    """Say `fitted` where data have halved what the priors leave open of a style's exponent."""
    layout = model.layout
    own = layout.exponent + 1 + layout.style(style)
    return "fitted" if model.known(layout.exponent, own) else "prior"
