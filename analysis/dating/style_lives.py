"""How long a style lives in a format that was never filled, kept so that nothing is fitted anew.

    location = style + format + (style × format),    format ~ N(0, 0.15²), style × format ~ N(0, s²)

A format that the fit has not seen takes its effects from where every format's begin: the prior, and
the spread s between styles that the draw has. What is kept of each draw of the fit gives the age by
which any share of glasses is rejected at any oxygen, as the fit itself would.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.staling.design import ACTIVATION_ENERGY_RANGE, INTERACTION
from analysis.staling.model import SEED
from analysis.staling.predict import Cells, LawPart
from analysis.survival.laws import LAWS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.staling.model import StalingModel

    Array = NDArray[np.float64]

_DRAWS = pl.Schema(
    {
        "style": pl.String,
        "draw": pl.Int32,
        "distribution": pl.String,
        "location": pl.Float64,
        "scale": pl.Float64,
        "between": pl.Float64,
        "oxygen_exponent": pl.Float64,
        "activation_energy_kj_mol": pl.Float64,
    }
)


def style_lives(model: StalingModel | None) -> pl.DataFrame:
    """Tabulate what the life of a style in a format that was never filled depends on.

    Args:
        model: the fit; None where there is none.

    Returns:
        One row for each style and draw: distribution (the draw's law), location (log days at 20 °C
        and 60 ppb), scale, between (SD of log days between a future lot and an assessor),
        oxygen_exponent, activation_energy_kj_mol.
    """
    frames = [pl.DataFrame(schema=_DRAWS)]
    if model is None:
        return frames[0]
    layout, rng, begin = model.layout, np.random.default_rng(SEED), 0
    format_sd = model.terms[len(layout.styles)].prior_sd or 0.0
    for part in model.draws:
        number = len(part.params)
        of_format = rng.normal(0.0, format_sd, number)  # the same for every style
        for style in layout.styles:
            own = layout.style(style)
            together = part.spreads[:, INTERACTION] * rng.standard_normal(number)
            energy = part.params[:, layout.energy] + part.params[:, layout.energy + 1 + own]
            exponent = part.params[:, layout.exponent] + part.params[:, layout.exponent + 1 + own]
            frames.append(
                pl.DataFrame(
                    {
                        "style": style,
                        "draw": np.arange(begin, begin + number),
                        "distribution": part.law.name,
                        "location": part.params[:, own] + of_format + together,
                        "scale": np.exp(part.params[:, layout.log_scale]),
                        "between": part.between,
                        "oxygen_exponent": exponent,
                        "activation_energy_kj_mol": np.clip(energy, *ACTIVATION_ENERGY_RANGE),
                    }
                ).cast(_DRAWS)
            )
        begin += number
    return pl.concat(frames)


def lent_cells(draws: pl.DataFrame, log_dose: Array, weights: Array) -> Cells:
    """Ready lots of a style in a format that was never filled for prediction.

    Args:
        draws: the rows of one style, as `style_lives` returns them.
        log_dose: log(dose / 60 ppb) of m lots in each of the d draws, shape (d, m).
        weights: of the lots, adding to 1, shape (m,).
    """
    ordered = draws.sort("draw")
    laws = {law.name: law for law in LAWS}
    parts = []
    for (name,), part in ordered.with_row_index("at").group_by("distribution", maintain_order=True):
        location, exponent, at = (
            part[column].to_numpy() for column in ("location", "oxygen_exponent", "at")
        )
        parts.append(
            LawPart(
                laws[str(name)],
                location[:, None] - exponent[:, None] * log_dose[at],
                part["scale"].to_numpy(),
                part["between"].to_numpy(),
            )
        )
    return Cells(tuple(parts), weights, ordered["activation_energy_kj_mol"].to_numpy())
