"""What more oxygen costs and what a change brings, in days at 20 °C."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.errors import NotConverged
from analysis.staling.design import Term, designed
from analysis.staling.evidence import REFERENCE_DOSE_PPB
from analysis.staling.laplace import Laplace
from analysis.staling.model import redraw
from analysis.staling.predict import cells
from analysis.staling.treatments import tasted_lots

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from analysis.staling.evidence import Evidence
    from analysis.staling.model import StalingModel

    Array = NDArray[np.float64]

_MORE_PPB = 20.0
_TRIAL_SD = 0.30  # of a change's effect on log age, before anything is known of it
_DRAWS = 1_000


def oxygen_effects(model: StalingModel, share: float, confidence: float) -> pl.DataFrame:
    """Tell the days lost by twice the oxygen dose and by 20 ppb more, by style and format.

    Args:
        model: the fit.
        share: share of glasses rejected for age that ends the life, 0 to 1.
        confidence: one-sided confidence of the bounds.

    Returns:
        style, format, more, days_lost, days_lost_lower, days_lost_upper, source (prior until the
        data have halved what the priors leave open of the style's exponent).
    """
    rows = []
    layout = model.layout
    lots = model.evidence.lots.filter(pl.col("style").is_in(layout.styles))
    for (style, format_), cell in lots.group_by("style", "format", maintain_order=True):
        dose = cell["log_dose"].to_numpy()
        now = _ages(model, str(style), str(format_), dose, share)
        more = np.log(np.exp(dose) + _MORE_PPB / REFERENCE_DOSE_PPB)
        for words, then in (("twice the dose", dose + np.log(2.0)), ("20 ppb more", more)):
            lost = now - _ages(model, str(style), str(format_), then, share)
            middle, lower, upper = np.quantile(lost, (0.5, 1.0 - confidence, confidence))
            own = layout.exponent + 1 + layout.style(str(style))
            source = "fitted" if model.known(layout.exponent, own) else "prior"
            rows.append((style, format_, words, middle, lower, upper, source))
    numbers = ["days_lost", "days_lost_lower", "days_lost_upper"]
    return pl.DataFrame(
        rows,
        schema={
            **dict.fromkeys(["style", "format", "more"], pl.String),
            **dict.fromkeys(numbers, pl.Float64),
            "source": pl.String,
        },
        orient="row",
    )


def _ages(model: StalingModel, style: str, format_: str, log_dose: Array, share: float) -> Array:
    return cells(model, style, [format_] * len(log_dose), log_dose).age_at(share)


def lots_changed(evidence: Evidence, changes: pl.DataFrame) -> dict[str, frozenset[str]]:
    """Name the changes being tried, and the lots (one of `lot|format`) that each concerns.

    Args:
        evidence: its lots carry `trial`, `line`, `beer`, `format` and `packaged_on`.
        changes: changed_on, what, line, beer, format (empty: all).

    Returns:
        A change to its lots; those that concern no lot, or every lot, are left out: nothing can be
        compared.
    """
    lots = evidence.lots.with_columns(place=pl.concat_str("lot", "format", separator="|"))
    found: dict[str, frozenset[str]] = {}
    for (trial,), part in lots.drop_nulls("trial").group_by("trial", maintain_order=True):
        found[str(trial)] = frozenset(part["place"])
    for change in changes.sort("changed_on", "what").iter_rows(named=True):
        whose = pl.col("packaged_on") >= change["changed_on"]
        for name in ("line", "beer", "format"):
            if change[name] is not None:
                whose &= pl.col(name) == change[name]
        found[f"{change['what']}, {change['changed_on']:%Y-%m-%d}"] = frozenset(
            lots.filter(whose)["place"]
        )
    return {name: part for name, part in found.items() if 0 < len(part) < lots.height}


def change_effects(
    model: StalingModel, changed: Mapping[str, frozenset[str]], share: float, confidence: float
) -> pl.DataFrame:
    """Tell what each change did to the life of each style it was tried on.

    With oxygen held, the change alone; not held, together with the oxygen dose its lots had beside
    the style's other lots of the same formats.

    Args:
        model: the fit.
        changed: a change to its lots, as `lots_changed` names them.
        share: share of glasses rejected for age that ends the life, 0 to 1.
        confidence: one-sided confidence of the bounds.

    Returns:
        trial, style, lots (tasted), oxygen_held, days_gained, days_gained_lower, days_gained_upper.
    """
    names = list(changed)
    rows: list[tuple[object, ...]] = []
    if names:
        extra = tuple(Term(f"change: {name}", "log days", 0.0, _TRIAL_SD) for name in names)
        series, layout = designed(model.evidence, extra)
        place = pl.concat_str("lot", "format", separator="|")
        columns = series.select(
            place.is_in(list(lots)).cast(pl.Float64).alias(name) for name, lots in changed.items()
        ).to_numpy()
        try:
            _, drawn = redraw(model, Laplace(series, layout, model.law, extra=columns), _DRAWS)
        except NotConverged:
            names = []
        for column, name in enumerate(names):
            gain = drawn.params[:, layout.extras.start + column]
            for style in layout.styles:
                lots = tasted_lots(model, style).with_columns(place=place)
                tried = lots.filter(pl.col("place").is_in(list(changed[name])))
                others = lots.filter(~pl.col("place").is_in(list(changed[name])))
                if tried.is_empty() or others.is_empty():
                    continue
                usual = cells(
                    model,
                    style,
                    others["format"].to_list(),
                    others["log_dose"].to_numpy(),
                    draws=[drawn],
                    layout=layout,
                ).age_at(share)
                own = layout.exponent + 1 + layout.style(style)
                exponent = drawn.params[:, layout.exponent] + drawn.params[:, own]
                effects = [(True, gain)]
                if (apart := _dose_apart(tried, others)) is not None:
                    effects.append((False, gain - exponent * apart))
                for held, effect in effects:
                    days = usual * np.expm1(effect)
                    middle, lower, upper = np.quantile(days, (0.5, 1 - confidence, confidence))
                    rows.append((name, style, tried.height, held, middle, lower, upper))
    numbers = ["days_gained", "days_gained_lower", "days_gained_upper"]
    return pl.DataFrame(
        rows,
        schema={
            "trial": pl.String,
            "style": pl.String,
            "lots": pl.Int32,
            "oxygen_held": pl.Boolean,
            **dict.fromkeys(numbers, pl.Float64),
        },
        orient="row",
    )


def _dose_apart(tried: pl.DataFrame, others: pl.DataFrame) -> float | None:
    """Mean log dose of the lots tried minus that of the others in the same formats, if any."""
    beside = others.group_by("format").agg(usual=pl.col("log_dose").mean())
    apart = tried.join(beside, on="format").select(pl.col("log_dose") - pl.col("usual"))
    return None if apart.is_empty() else float(apart.to_series().to_numpy().mean())
