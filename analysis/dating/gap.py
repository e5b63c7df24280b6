r"""How many days apart two formats of a style end on a route, and what of it is oxygen.

    days(F, G, E) = day by which the share is rejected, of lots filled as F's, let in as G's, with
                    the effect of format E on the style
    gap = days(a, a, a) − days(b, b, b) = filling + ingress + rest

Each part is the change in days when that one goes from b to a, averaged over the six orders in
which the three may go (Shapley). So the parts add up to the gap in every draw, no order is
preferred, a part that changes nothing is 0, and swapping the formats changes the signs alone. One
fixed order would have given to the first what two do together.

Days are quoted at the middle: the mean over the tenth of the draws whose gap lies in the middle, so
that the parts add up there too. Their bounds are quantiles of all draws, each part for itself.

Reference: Shapley, A value for n-person games, Annals of Mathematics Studies 28, 1953, 307-317.
"""

from __future__ import annotations

from itertools import combinations, product
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.dating.filling import Filled, Filling, ages, exponent_source, filled_cells
from analysis.kinetics.history import day_at

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from analysis.dating.policy import Policy
    from analysis.dating.routes import Route
    from analysis.dating.shelf_life import Cell
    from analysis.staling.model import StalingModel

    Array = NDArray[np.float64]

PARTS = ("filling", "ingress", "rest")
Whose = tuple[bool, ...]
"""Whose filling, ingress and effect count: the first format's (True) or the other's."""

_FIRST, _OTHER = (True, True, True), (False, False, False)
_WEIGHT = {0: 1 / 3, 1: 1 / 6, 2: 1 / 3}  # of a step, by how many of the other two went before
_MIDDLE = (0.45, 0.55)
_DAYS = [
    f"{name}_days{end}" for name in ("gap", *PARTS, "closed") for end in ("", "_lower", "_upper")
]
_GAP = {
    **dict.fromkeys(["style", "format", "other_format", "route"], pl.String),
    **dict.fromkeys(["shelf_life_days", "other_shelf_life_days", *_DAYS], pl.Float64),
    **dict.fromkeys(
        [
            "total_oxygen_ppb",
            "other_total_oxygen_ppb",
            "ingress_ppb_per_day",
            "other_ingress_ppb_per_day",
        ],
        pl.Float64,
    ),
    **dict.fromkeys(["exponent_source", "rest_source"], pl.String),
}


def format_gaps(
    model: StalingModel, cells: Sequence[Cell], routes: Sequence[Route], policy: Policy
) -> pl.DataFrame:
    """Take the gap between any two formats of a style apart, on each route that carries both.

    Args:
        model: the fit.
        cells: every style and format, as `cells_of` returns them; those without an estimate are
            left out.
        routes: the routes.
        policy: for the share that ends the life, and the confidence of the bounds.

    Returns:
        style, format (the one that keeps longer), other_format, route; shelf_life_days of each
        (at the median); gap_days, filling_days, ingress_days and rest_days with their one-sided
        bounds; closed_days, what the other format gains if it is filled as the first and lets in
        as much, each only where that is less, with bounds (null where neither is);
        total_oxygen_ppb of the middle lot and ingress_ppb_per_day of each; exponent_source (prior
        until data have halved what is assumed of the style's exponent) and rest_source (fitted
        where both formats have verdicts of this style, else lent). Sorted by style, formats and
        route.
    """
    rows = [
        row
        for first, other in combinations(filled_cells(cells), 2)
        if first.cell.style == other.cell.style
        for row in _on_routes(model, first, other, routes, policy)
    ]
    return pl.DataFrame(rows, schema=_GAP, orient="row").sort(list(_GAP)[:4])


def _on_routes(
    model: StalingModel, first: Filled, other: Filled, routes: Sequence[Route], policy: Policy
) -> list[tuple[object, ...]]:
    kinds = (first.cell.kind, other.cell.kind)
    shared = [route for route in routes if all(route.carries(kind) for kind in kinds)]
    if not shared:
        return []
    aged = crossed_ages(model, first, other, policy.share_rejected)
    rows = []
    for route in shared:
        days = {whose: day_at(route.stages, age, first.energy) for whose, age in aged.items()}
        pair = (first, other)
        if np.median(days[_FIRST] - days[_OTHER]) < 0.0:  # who keeps longer stands first
            pair = (other, first)
            days = {tuple(not side for side in whose): found for whose, found in days.items()}
        rows.append(_row(model, pair, route, days, policy.confidence))
    return rows


def crossed_ages(
    model: StalingModel, first: Filled, other: Filled, share: float
) -> dict[Whose, Array]:
    """Return the ages at 20 °C of two cells of a style with all they differ by crossed, by draw."""
    of = {True: first, False: other}
    return {
        (filling, ingress, rest): ages(
            model,
            first.cell.style,
            of[rest].cell.format,
            Filling(of[filling].filling.total_ppb, of[ingress].filling.ingress),
            share,
        )
        for filling, ingress, rest in product((True, False), repeat=3)
    }


def parts_of(days: Mapping[Whose, Array]) -> dict[str, Array]:
    """Take the days between two formats apart, draw by draw.

    Args:
        days: of the eight crossings, (True, True, True) being the first format.

    Returns:
        Filling, ingress and rest; their sum is days[first] − days[other].
    """
    parts = {}
    for place, name in enumerate(PARTS):
        part = np.zeros(len(days[_FIRST]))
        for others in product((True, False), repeat=2):
            with_it = (*others[:place], True, *others[place:])
            without = (*others[:place], False, *others[place:])
            part = part + _WEIGHT[sum(others)] * (days[with_it] - days[without])
        parts[name] = part
    return parts


def _row(
    model: StalingModel,
    pair: tuple[Filled, Filled],
    route: Route,
    days: Mapping[Whose, Array],
    confidence: float,
) -> tuple[object, ...]:
    first, other = (side.cell for side in pair)
    filled, other_filled = (side.filling for side in pair)
    gap = days[_FIRST] - days[_OTHER]
    begin, end = (round(share * len(gap)) for share in _MIDDLE)
    middle = np.argsort(gap, kind="stable")[begin : max(end, begin + 1)]
    less = (
        filled.median_ppb < other_filled.median_ppb,
        filled.ingress < other_filled.ingress,
        False,
    )
    numbers: list[float | None] = []
    for part in ({"gap": gap} | parts_of(days)).values():
        lower, upper = np.quantile(part, (1.0 - confidence, confidence))
        numbers += [float(part[middle].mean()), float(lower), float(upper)]
    if any(less):
        closed = days[less] - days[_OTHER]
        lower, upper = np.quantile(closed, (1.0 - confidence, confidence))
        numbers += [float(closed[middle].mean()), float(lower), float(upper)]
    else:
        numbers += [None, None, None]
    tasted = first.verdicts > 0 and other.verdicts > 0
    return (
        first.style,
        first.format,
        other.format,
        route.name,
        float(np.median(days[_FIRST])),
        float(np.median(days[_OTHER])),
        *numbers,
        filled.median_ppb,
        other_filled.median_ppb,
        filled.ingress,
        other_filled.ingress,
        exponent_source(model, first.style),
        "fitted" if tasted else "lent",
    )
