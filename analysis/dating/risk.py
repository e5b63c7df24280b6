"""The share of glasses rejected by any day on any route, kept so that nothing is fitted anew.

    share(day) = mean over the cell's lots of E[F(log A(day) − location + b · log(O / 60 ppb))]

A(day) is the age at 20 °C that the route is worth by that day; F, the scale and the spread between
lots and assessors are those of each draw. The draws of a style in a format and the doses of its
lots are all of it, so that a day asked about later is answered as exactly as by the fit itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.errors import InputError
from analysis.kinetics.history import equivalent_age
from analysis.oxygen.dose import DOSE_DAYS
from analysis.staling.evidence import REFERENCE_DOSE_PPB
from analysis.staling.predict import Cells, LawPart
from analysis.staling.predict import cells as cells_of_style
from analysis.survival.laws import law_named

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analysis.dating.shelf_life import Cell
    from analysis.kinetics.history import Stages
    from analysis.staling.model import StalingModel

_PLACE = {"style": pl.String, "format": pl.String}
_DRAWS = pl.Schema(
    {
        **_PLACE,
        "draw": pl.Int32,
        "distribution": pl.String,
        "location": pl.Float64,
        "oxygen_exponent": pl.Float64,
        "scale": pl.Float64,
        "between": pl.Float64,
        "between_lots": pl.Float64,
        "activation_energy_kj_mol": pl.Float64,
    }
)
_DOSES = pl.Schema({**_PLACE, "dose_ppb": pl.Float64})


@dataclass(frozen=True)
class AtRisk:
    """The share of glasses rejected for age by a day, 0 to 1: median and one-sided bounds."""

    share: float
    lower: float
    upper: float


def risk_draws(model: StalingModel | None, cells: Sequence[Cell]) -> dict[str, pl.DataFrame]:
    """Tabulate what the share rejected depends on.

    Args:
        model: the fit; None where there is none.
        cells: every style and format; those without an estimate are left out.

    Returns:
        `risk_draws`, one row for each style, format and draw: distribution, location (of log days
        at 20 °C and 60 ppb), oxygen_exponent, scale, between (SD of lots and assessors in log
        days), between_lots (of lots alone), activation_energy_kj_mol; and `risk_doses`, one row for
        each lot that is dated: style, format, dose_ppb.
    """
    draws, doses = [pl.DataFrame(schema=_DRAWS)], [pl.DataFrame(schema=_DOSES)]
    for cell in cells:
        if model is None or cell.drawn is None or cell.filled is None:
            continue
        place = {"style": cell.style, "format": cell.format}
        one = cells_of_style(model, cell.style, [cell.format], np.zeros(1))
        moved = cells_of_style(model, cell.style, [cell.format], np.ones(1))
        parts = [
            pl.DataFrame(
                {
                    "distribution": [part.law.name] * len(part.scale),
                    "location": part.location[:, 0],
                    "oxygen_exponent": (part.location - more.location)[:, 0],
                    "scale": part.scale,
                    "between": part.between,
                    "between_lots": drawn.between_lots,
                }
            )
            for part, more, drawn in zip(one.parts, moved.parts, model.draws, strict=True)
        ]
        draws.append(
            pl.concat(parts)
            .with_columns(
                **{name: pl.lit(value) for name, value in place.items()},
                activation_energy_kj_mol=pl.Series(one.activation_energy),
            )
            .with_row_index("draw")
            .select(_DRAWS.names())
            .cast(_DRAWS)
        )
        doses.append(
            cell.filled.select(
                **{name: pl.lit(value) for name, value in place.items()},
                dose_ppb=pl.col("total_oxygen_ppb") + DOSE_DAYS * pl.col("ingress_ppb_per_day"),
            )
        )
    return {"risk_draws": pl.concat(draws), "risk_doses": pl.concat(doses)}


def at_risk(
    draws: pl.DataFrame, doses: pl.DataFrame, stages: Stages, day: float, confidence: float
) -> AtRisk:
    """Return the share of glasses that would be rejected for age by a day.

    Args:
        draws: rows of `risk_draws` of one style and format.
        doses: rows of `risk_doses` of the same.
        stages: how the beer is kept.
        day: days from packaging, above 0.
        confidence: one-sided confidence of each bound, 0 to 1.

    Raises:
        InputError: the day is not above 0, or there are no draws or doses.
    """
    if not day > 0.0 or draws.is_empty() or doses.is_empty():
        message = f"no share of glasses rejected by day {day:g}: nothing is estimated, or no day is"
        raise InputError(message)
    ordered = draws.sort("draw")
    log_dose = np.log(doses["dose_ppb"].sort().to_numpy() / REFERENCE_DOSE_PPB)
    parts = tuple(
        LawPart(
            law_named(str(name)),
            part["location"].to_numpy()[:, None]
            - part["oxygen_exponent"].to_numpy()[:, None] * log_dose,
            part["scale"].to_numpy(),
            part["between"].to_numpy(),
        )
        for (name,), part in ordered.group_by("distribution", maintain_order=True)
    )
    weights = np.full(len(log_dose), 1.0 / len(log_dose))
    energy = ordered["activation_energy_kj_mol"].to_numpy()
    shares = Cells(parts, weights, energy).share_rejected(
        np.log(equivalent_age(stages, day, energy))
    )
    asked = (0.5, 1.0 - confidence, confidence)
    return AtRisk(*(float(q) for q in np.quantile(shares, asked, method="inverted_cdf")))
