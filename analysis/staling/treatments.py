"""The same verdicts read in other ways, so that a reader sees what the reading is worth in days.

    wrong verdicts allowed   the likelihood of `verdicts`: what the dates rest on
    widest brackets          last age all accept up to, first age all reject from
    first rejection          nothing after a series' first rejection counts
    every glass alone        each glass a series of its own: current status

The last three take no verdict to be wrong. All keep the law and the spreads of the model.

Reference: Hough, Sensory Shelf Life Estimation of Food Products, 2010, chapter 3.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.errors import NotConverged
from analysis.staling.laplace import Laplace
from analysis.staling.model import redraw
from analysis.staling.predict import cells

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analysis.staling.design import Layout
    from analysis.staling.evidence import Evidence
    from analysis.staling.model import LawDraws, StalingModel

ALLOWED = "wrong verdicts allowed"
_DRAWS = 500
_SCHEMA = {
    "style": pl.String,
    "treatment": pl.String,
    "days": pl.Float64,
    "days_lower": pl.Float64,
    "days_upper": pl.Float64,
    "reason": pl.String,
}


def treatments(model: StalingModel, share: float, confidence: float) -> pl.DataFrame:
    """Compare the readings: days at 20 °C until `share` is rejected, over the lots tasted.

    Args:
        model: the fit.
        share: share of glasses rejected for age, 0 to 1.
        confidence: one-sided confidence of the bounds.

    Returns:
        style, treatment, days, days_lower, days_upper, reason (why there is no estimate).
    """
    rows = _days(model, ALLOWED, model.draws, model.layout, share, confidence)
    layout = replace(model.layout, faultless=True)
    for name, series in _readings(model.evidence, layout).items():
        reasons = dict.fromkeys(
            set(layout.styles) - set(series["style"]), "no series brackets an age"
        )
        try:
            if not series.is_empty():
                _, drawn = redraw(model, Laplace(series, layout, model.law), _DRAWS)
                found = _days(model, name, [drawn], layout, share, confidence)
                rows += [row for row in found if row[0] not in reasons]
        except NotConverged as error:
            reasons = dict.fromkeys(layout.styles, str(error))
        rows += [(style, name, None, None, None, reasons[style]) for style in sorted(reasons)]
    return pl.DataFrame(rows, schema=_SCHEMA, orient="row").sort("style", maintain_order=True)


def _readings(evidence: Evidence, layout: Layout) -> dict[str, pl.DataFrame]:
    aged = evidence.series.filter(pl.col("aged") & pl.col("style").is_in(layout.styles))
    upto = pl.col("rejected").list.eval(pl.element().cum_sum() - pl.element().cast(pl.UInt32))
    first = pl.int_ranges(upto.list.eval(pl.element() == 0).list.sum())
    alone = aged.explode("stored_days", "rejected")
    brackets = evidence.brackets.with_columns(
        aged=pl.lit(value=True),
        stored_days=pl.concat_list(
            pl.when(pl.col("lower") > 0.0).then("lower"), pl.col("upper")
        ).list.drop_nulls(),
        rejected=pl.concat_list(
            pl.when(pl.col("lower") > 0.0).then(pl.lit(value=False)),
            pl.when(pl.col("upper").is_not_null()).then(pl.lit(value=True)),
        ).list.drop_nulls(),
    )
    return {
        "widest brackets": brackets,
        "first rejection": aged.with_columns(
            pl.col("stored_days").list.gather(first), pl.col("rejected").list.gather(first)
        ),
        "every glass alone": alone.with_columns(
            pl.concat_list("stored_days"), pl.concat_list("rejected")
        ),
    }


def _days(
    model: StalingModel,
    name: str,
    draws: Sequence[LawDraws],
    layout: Layout,
    share: float,
    confidence: float,
) -> list[tuple[str, str, float | None, float | None, float | None, str | None]]:
    rows: list[tuple[str, str, float | None, float | None, float | None, str | None]] = []
    for style in layout.styles:
        lots = tasted_lots(model, style)
        drawn = cells(
            model,
            style,
            lots["format"].to_list(),
            lots["log_dose"].to_numpy(),
            weights=lots["series"].to_numpy().astype(float),
            draws=draws,
            layout=layout,
        )
        asked = (0.5, 1.0 - confidence, confidence)
        middle, lower, upper = np.quantile(drawn.age_at(share), asked)
        rows.append((style, name, float(middle), float(lower), float(upper), None))
    return rows


def tasted_lots(model: StalingModel, style: str) -> pl.DataFrame:
    """Return the lots of a style that were tasted: format, lot, log_dose, series (how many)."""
    return (
        model.evidence.series.filter(pl.col("aged") & (pl.col("style") == style))
        .group_by("format", "lot", "log_dose")
        .len("series")
        .sort("format", "lot")
    )
