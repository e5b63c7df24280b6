"""What a difference in package oxygen is worth in days of life, on a route.

    age = age at the dose before · (dose after / dose before)^(−b),    dose = TPO + 90 · g

draw by draw: b is the style's exponent in each of the model's draws, g what the cell's closure lets
in, and the days are those by which a share is rejected of a lot that holds just so much.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl

from analysis.dating.filling import Filling, ages, exponent_source, filled_cells
from analysis.dating.routes import main_route
from analysis.errors import InputError
from analysis.kinetics.history import day_at
from analysis.oxygen.dose import DOSE_DAYS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import ArrayLike, NDArray

    from analysis.dating.policy import Policy
    from analysis.dating.routes import Route
    from analysis.dating.shelf_life import Cell
    from analysis.staling.model import StalingModel

    Array = NDArray[np.float64]

SEED = 20

_DAYS = {
    "changed_on": pl.Date,
    **dict.fromkeys(("what", "beer", "line", "format", "style", "route"), pl.String),
    **dict.fromkeys(("days_gained", "days_gained_lower", "days_gained_upper"), pl.Float64),
    "source": pl.String,
}


def days_gained(
    model: StalingModel,
    cell: Cell,
    route: Route,
    share: float,
    *,
    before_ppb: float,
    after_ppb: ArrayLike,
) -> Array:
    """Return the days that a lot keeps longer, or shorter where below 0, for what it holds.

    Args:
        model: the fit.
        cell: a style and format with an estimate.
        route: how it is kept.
        share: of glasses rejected for age that ends the life, 0 to 1.
        before_ppb: total package oxygen at filling before, ppb.
        after_ppb: the same after; one number, or one for each draw of the model, shape (d,).

    Returns:
        One number a draw, shape (d,).

    Raises:
        InputError: the cell has no estimate.
    """
    filled = next(iter(filled_cells([cell])), None)
    if filled is None:
        message = f"{cell.style} in {cell.format} has no estimate"
        raise InputError(message)
    before = Filling(np.array([before_ppb]), filled.filling.ingress)
    let_in = DOSE_DAYS * before.ingress
    after = np.asarray(after_ppb, dtype=np.float64)
    more = np.log((after + let_in) / (before_ppb + let_in))
    own = model.layout.exponent + 1 + model.layout.style(cell.style)
    exponent = np.concatenate(
        [part.params[:, model.layout.exponent] + part.params[:, own] for part in model.draws]
    )
    age = ages(model, cell.style, cell.format, before, share)
    then = day_at(route.stages, age * np.exp(-exponent * more), filled.energy)
    return np.asarray(then - day_at(route.stages, age, filled.energy))


def change_days(
    model: StalingModel,
    every: Sequence[Cell],
    routes: Sequence[Route],
    policy: Policy,
    changes: pl.DataFrame,
) -> pl.DataFrame:
    """Tell what each change in package oxygen is worth in days, on each style's main route.

    Args:
        model: the fit.
        every: the cells of all lots.
        routes: the brewery's routes.
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
    lots = model.evidence.lots
    by_place = {(cell.style, cell.format): cell for cell in every if cell.drawn is not None}
    for change in changes.drop_nulls("ratio").rows(named=True):
        concerned = lots.filter(
            pl.col("format") == change["format"],
            pl.col("line").eq_missing(pl.lit(change["line"], pl.String)),
            (pl.col("beer") == pl.lit(change["beer"], pl.String)).fill_null(value=True),
        )
        for style in concerned["style"].unique().sort():
            cell = by_place.get((style, change["format"]))
            if cell is None or cell.drawn is None:
                continue
            route = main_route(route for route in routes if route.carries(cell.kind))
            if route is None:
                continue
            gained = days_gained(
                model,
                cell,
                route,
                policy.share_rejected,
                before_ppb=change["before_ppb"],
                after_ppb=change["before_ppb"] * _ratios(change, len(cell.drawn.activation_energy)),
            )
            bounds = (0.5, 1.0 - policy.confidence, policy.confidence)
            place = [change[name] for name in list(_DAYS)[:5]]
            days = np.quantile(gained, bounds).tolist()
            rows.append((*place, style, route.name, *days, exponent_source(model, style)))
    return pl.DataFrame(rows, schema=_DAYS, orient="row")


def _ratios(change: Mapping[str, Any], draws: int) -> Array:
    """Draw what the ratio of a change may be, Student's t in its logarithm."""
    freedom = change["lots_before"] + change["lots_after"] - 2
    away = np.random.default_rng(SEED).standard_t(freedom, draws)
    return np.asarray(change["ratio"] * np.exp(change["standard_error"] * away))
