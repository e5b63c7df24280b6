"""What moves the date: days gained by less oxygen at filling, a better closure, a colder way.

    gained = days with the change − days as it is, draw by draw

The days are those by which the policy's share is rejected, on the cell's route, before caps and
limits; lots, effects and everything else stay as they are.

    20 ppb less          of each lot's total at filling, though none goes below 10 ppb (assumed)
    scavenging liner     lets in 0.2 ppb a day at 20 °C (assumed) where the closure lets in more
    bad head mended      the mean of H heads of which one reads r times the rest falls by r^(1/H)
    cold warehouse       each stage before the last that is warmer than 8 °C is kept at 4 °C
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.dating.filling import (
    SCAVENGING_PPB_PER_DAY,
    Filled,
    Filling,
    ages,
    exponent_source,
    filled_cells,
)
from analysis.kinetics.history import Stages, day_at

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from analysis.dating.policy import Policy
    from analysis.dating.routes import Route
    from analysis.dating.shelf_life import Cell
    from analysis.staling.model import StalingModel

    Array = NDArray[np.float64]

LESS_PPB = 20.0
LEAST_PPB = 10.0
"""What hardly any line fills with less than (assumed)."""

WARM_C, COLD_C = 8.0, 4.0

_LEVERS = {
    **dict.fromkeys(["style", "format", "route", "lever"], pl.String),
    **dict.fromkeys(["value_now", "value_then"], pl.Float64),
    "unit": pl.String,
    **dict.fromkeys(
        ["shelf_life_days", "days_gained", "days_gained_lower", "days_gained_upper"], pl.Float64
    ),
    "source": pl.String,
}


def bad_head_factor(ratio: float, heads: int) -> float:
    """Return by what a line's mean oxygen falls once its one bad head reads as the rest do.

    Args:
        ratio: what that head reads over the rest.
        heads: how many the line has.
    """
    return float(ratio ** (1.0 / heads))


def levers(
    model: StalingModel,
    cells: Sequence[Cell],
    routes: Sequence[Route],
    policy: Policy,
    mended: Mapping[str, float],
) -> pl.DataFrame:
    """Tell what each change would gain, by style, format and route.

    Args:
        model: the fit.
        cells: every style and format, as `cells_of` returns them; those without an estimate are
            left out.
        routes: the routes.
        policy: for the share that ends the life, and the confidence of the bounds.
        mended: by what a line's oxygen falls once its bad head is mended (`bad_head_factor`), for
            the lines that have one.

    Returns:
        style, format, route, lever (20 ppb less, scavenging liner, bad head mended, cold
        warehouse), value_now and value_then in unit (ppb of the middle lot, ppb a day, °C of the
        warmest stage before the last), shelf_life_days as it is, days_gained with its one-sided
        bounds, source (prior until data have halved what is assumed of the style's oxygen exponent;
        of its activation energy for the cold warehouse). A lever that changes nothing has no row.
    """
    rows = [
        (filled.cell.style, filled.cell.format, *row)
        for filled in filled_cells(cells)
        for row in _of_cell(model, filled, routes, policy, mended)
    ]
    return pl.DataFrame(rows, schema=_LEVERS, orient="row")


def _of_cell(
    model: StalingModel,
    filled: Filled,
    routes: Sequence[Route],
    policy: Policy,
    mended: Mapping[str, float],
) -> Iterator[tuple[object, ...]]:
    cell = filled.cell
    exponent = exponent_source(model, cell.style)
    rules = [
        (route, policy.of(cell.style, format_=cell.format, market=route.market))
        for route in routes
        if route.carries(cell.kind)
    ]
    changed = {
        share: [
            (change, ages(model, cell.style, cell.format, filling, share))
            for change, filling in _fillings(filled, mended)
        ]
        for share in {rule.share_rejected for _, rule in rules}
    }
    for route, rule in rules:
        share = rule.share_rejected
        now = day_at(route.stages, cell.ages[share], filled.energy)
        for change, age in changed[share]:
            then = day_at(route.stages, age, filled.energy)
            yield route.name, *change, *_gained(now, then, rule.confidence), exponent
        if (colder := cold(route.stages)) != route.stages:
            then = day_at(colder, cell.ages[share], filled.energy)
            yield (
                route.name,
                *("cold warehouse", max(route.stages.temp_c[:-1]), COLD_C, "°C"),
                *_gained(now, then, rule.confidence),
                "fitted" if cell.energy_known else "prior",
            )


def _fillings(
    filled: Filled, mended: Mapping[str, float]
) -> Iterator[tuple[tuple[str, float, float, str], Filling]]:
    """Yield what the lots of a cell would hold: lever, now, then and unit, and the filling."""
    filling = filled.filling
    less = replace(filling, total_ppb=less_at_filling(filling.total_ppb))
    if np.any(less.total_ppb < filling.total_ppb):
        yield ("20 ppb less", filling.median_ppb, less.median_ppb, "ppb"), less
    if filling.ingress > SCAVENGING_PPB_PER_DAY:
        scavenging = replace(filling, ingress=SCAVENGING_PPB_PER_DAY)
        yield ("scavenging liner", filling.ingress, scavenging.ingress, "ppb a day"), scavenging
    factor = np.array([mended.get(line, 1.0) if line else 1.0 for line in filled.lines])
    if np.any(factor != 1.0):
        sound = replace(filling, total_ppb=filling.total_ppb / factor)
        yield ("bad head mended", filling.median_ppb, sound.median_ppb, "ppb"), sound


def less_at_filling(total_ppb: Array) -> Array:
    """Return lots' totals 20 ppb lower, none brought below 10 ppb."""
    return np.minimum(total_ppb, np.maximum(total_ppb - LESS_PPB, LEAST_PPB))


def cold(stages: Stages) -> Stages:
    """Return a history whose stages before the last are kept cold, where they were not."""
    *way, last = stages.temp_c
    return replace(stages, temp_c=(*(COLD_C if temp > WARM_C else temp for temp in way), last))


def _gained(now: Array, then: Array, confidence: float) -> tuple[float, float, float, float]:
    gained = then - now
    middle, lower, upper = np.quantile(gained, (0.5, 1.0 - confidence, confidence))
    return float(np.median(now)), float(middle), float(lower), float(upper)
