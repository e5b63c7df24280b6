"""What a change in package oxygen is worth in days of life, on each style's main route.

    gained = days of a lot that holds what lots held after − days of one that holds what they did
             before,    dose = TPO + 90 · g

draw by draw (`dose_lives`), each draw of the staling fit with one of the ratio of after to before.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl

from analysis.dating.dose_lives import dose_lives_of
from analysis.dating.filling import exponent_source, filled_cells
from analysis.dating.routes import main_route
from analysis.oxygen.dose import DOSE_DAYS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import ArrayLike, NDArray

    from analysis.dating.dose_lives import DoseLives
    from analysis.dating.policy import Policy
    from analysis.dating.routes import Route
    from analysis.dating.shelf_life import Cell
    from analysis.kinetics.history import Stages
    from analysis.staling.model import StalingModel

    Array = NDArray[np.float64]

SEED = 20

_CHANGE = ("changed_on", "what", "beer", "line", "format")
_DAYS = {
    "changed_on": pl.Date,
    **dict.fromkeys((*_CHANGE[1:], "style", "route"), pl.String),
    **dict.fromkeys(("days_gained", "days_gained_lower", "days_gained_upper"), pl.Float64),
    "source": pl.String,
}


def days_gained(
    lives: DoseLives, stages: Stages, before_ppb: float, after_ppb: ArrayLike, ingress: float
) -> Array:
    """Return the days that a lot keeps longer, or shorter where below 0, for what it holds.

    Args:
        lives: how long lots of its style and format live.
        stages: how it is kept.
        before_ppb: total package oxygen at filling before, ppb.
        after_ppb: the same after; one number, or one for each draw, shape (d,).
        ingress: what the closure lets in at 20 °C, ppb a day.

    Returns:
        One number a draw, shape (d,).
    """
    let_in = DOSE_DAYS * ingress
    after = np.asarray(after_ppb, dtype=np.float64) + let_in
    return np.asarray(lives.days(stages, after) - lives.days(stages, before_ppb + let_in))


def change_days(
    model: StalingModel,
    cells: Sequence[Cell],
    routes: Sequence[Route],
    lives: pl.DataFrame,
    policy: Policy,
    changes: pl.DataFrame,
) -> pl.DataFrame:
    """Tell what each change in package oxygen is worth in days, on each style's main route.

    Args:
        model: the fit.
        cells: the cells of all lots.
        routes: the brewery's routes.
        lives: as `dose_lives` returns them.
        policy: for the share that ends the life, and the confidence of the bounds.
        changes: as `change_report` returns them: changed_on, what, beer, line, format, lots_before,
            lots_after, before_ppb, ratio, standard_error (of the log ratio); those without a
            comparison are left out.

    Returns:
        changed_on, what, beer, line, format, style (with lots of that line and format, and of the
        beer where one is meant), route, days_gained with one-sided bounds that hold what is not
        known of the ratio too, source (prior until data have halved what is assumed of the style's
        oxygen exponent). In the order of the changes, then by style.
    """
    rows = []
    by_place = dose_lives_of(lives)
    compared = changes.drop_nulls("ratio").rows(named=True)
    for change in compared:
        styles = _styles(model.evidence.lots, change)
        for filled in filled_cells(cells):
            cell = filled.cell
            route = main_route(route for route in routes if route.carries(cell.kind))
            if cell.format != change["format"] or cell.style not in styles or route is None:
                continue
            rule = policy.of(cell.style, format_=cell.format, market=route.market)
            of_cell = by_place[cell.style, cell.format, rule.share_rejected]
            after = change["before_ppb"] * _ratios(change, len(of_cell.age))
            gained = days_gained(
                of_cell, route.stages, change["before_ppb"], after, filled.filling.ingress
            )
            bounds = np.quantile(gained, (0.5, 1.0 - rule.confidence, rule.confidence))
            source = exponent_source(model, cell.style)
            place = [change[name] for name in _CHANGE]
            rows.append((*place, cell.style, route.name, *bounds.tolist(), source))
    return pl.DataFrame(rows, schema=_DAYS, orient="row")


def _styles(lots: pl.DataFrame, change: Mapping[str, Any]) -> list[str]:
    """Name the styles with lots that a change concerns."""
    concerned = lots.filter(
        pl.col("format") == change["format"],
        pl.col("line").eq_missing(pl.lit(change["line"], pl.String)),
        (pl.col("beer") == pl.lit(change["beer"], pl.String)).fill_null(value=True),
    )
    return concerned["style"].unique().to_list()


def _ratios(change: Mapping[str, Any], draws: int) -> Array:
    """Draw what the ratio of a change may be, Student's t in its logarithm."""
    freedom = change["lots_before"] + change["lots_after"] - 2
    away = np.random.default_rng(SEED).standard_t(freedom, draws)
    return np.asarray(change["ratio"] * np.exp(change["standard_error"] * away))
