r"""How many days apart two formats of a style end on a route, and what of it is oxygen.

    days(F, G, E) = day by which the share is rejected, of lots filled as F's, let in as G's, with
                    the effect of format E on the style
    gap = days(a, a, a) − days(b, b, b) = filling + ingress + rest

Each part is the change in days when that one goes from b to a, averaged over the six orders in
which the three may go (Shapley). So the parts add up to the gap in every draw, no order is
preferred, a part that changes nothing is 0, and swapping the formats changes the signs alone. One
fixed order would have given to the first what two do together.

What would close the gap: the other format's middle lot filled as the first's, where that is less,
and its closure letting in as little, though no less than a scavenging liner does.

Days are quoted at the middle: the mean over the tenth of the draws whose gap lies in the middle, so
that the parts add up there too. Their bounds are quantiles of all draws, each part for itself.

Reference: Shapley, A value for n-person games, Annals of Mathematics Studies 28, 1953, 307-317.
"""

from __future__ import annotations

from itertools import combinations, product
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
_BOUNDED = [
    f"{name}_days{end}" for name in ("gap", *PARTS, "closed") for end in ("", "_lower", "_upper")
]
_FILLED = [
    f"{whose}{what}"
    for what in ("total_oxygen_ppb", "ingress_ppb_per_day")
    for whose in ("", "other_", "closed_")
]
_GAP = {
    **dict.fromkeys(["style", "format", "other_format", "route"], pl.String),
    **dict.fromkeys(["shelf_life_days", "other_shelf_life_days", *_BOUNDED, *_FILLED], pl.Float64),
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
        policy: for the share that ends the life, and the confidence of the bounds; what a format
            has of its own is left out, or two shares would be compared.

    Returns:
        style, format (the one that keeps longer), other_format, route; shelf_life_days of each (at
        the median); gap_days, filling_days, ingress_days and rest_days with their one-sided bounds;
        total_oxygen_ppb of the middle lot and ingress_ppb_per_day of each; with closed_ before
        them, what the other would be filled with and let in to close the gap (null where that is
        what it is), and closed_days, what it would gain, with bounds (null where neither changes);
        exponent_source (prior until data have halved what is assumed of the style's exponent) and
        rest_source (fitted where both formats have verdicts of this style, else lent). Sorted by
        style, formats and route.
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
) -> list[dict[str, object]]:
    kinds = (first.cell.kind, other.cell.kind)
    shared = [route for route in routes if all(route.carries(kind) for kind in kinds)]
    if not shared:
        return []
    style = first.cell.style
    rules = [(route, policy.of(style, market=route.market)) for route in shared]
    at_share = {
        share: (
            crossed_ages(model, first, other, share),
            [
                ages(model, style, pair[1].cell.format, closing(*pair), share)
                for pair in ((first, other), (other, first))
            ],
        )
        for share in {rule.share_rejected for _, rule in rules}
    }
    rows = []
    for route, rule in rules:
        aged, closed = at_share[rule.share_rejected]
        days = {whose: day_at(route.stages, age, first.energy) for whose, age in aged.items()}
        pair, swapped = (first, other), bool(np.median(days[_FIRST] - days[_OTHER]) < 0.0)
        if swapped:  # who keeps longer stands first
            pair = (other, first)
            days = {tuple(not side for side in whose): found for whose, found in days.items()}
        gained = day_at(route.stages, closed[swapped], first.energy) - days[_OTHER]
        rows.append(
            {
                "route": route.name,
                "exponent_source": exponent_source(model, style),
                **_days(days, gained, rule.confidence),
                **_cells(*pair),
            }
        )
    return rows


def closing(first: Filled, other: Filled) -> Filling:
    """Return the other cell's filling as it would have to be for the gap to close.

    Its lots keep their spread; their middle one comes down to the first cell's.
    """
    down = min(1.0, first.filling.median_ppb / other.filling.median_ppb)
    return Filling(
        other.filling.total_ppb * down,
        min(other.filling.ingress, max(first.filling.ingress, SCAVENGING_PPB_PER_DAY)),
    )


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


def _cells(first: Filled, other: Filled) -> dict[str, object]:
    """Say of two cells what they are and what they were filled with."""
    now, then = other.filling, closing(first, other)
    closed_ppb = then.median_ppb if then.median_ppb < now.median_ppb else None
    closed_ingress = then.ingress if then.ingress < now.ingress else None
    nothing = closed_ppb is None and closed_ingress is None
    tasted = first.cell.verdicts > 0 and other.cell.verdicts > 0
    return {
        "style": first.cell.style,
        "format": first.cell.format,
        "other_format": other.cell.format,
        "total_oxygen_ppb": first.filling.median_ppb,
        "other_total_oxygen_ppb": now.median_ppb,
        "closed_total_oxygen_ppb": closed_ppb,
        "ingress_ppb_per_day": first.filling.ingress,
        "other_ingress_ppb_per_day": now.ingress,
        "closed_ingress_ppb_per_day": closed_ingress,
        "rest_source": "fitted" if tasted else "lent",
        **(dict.fromkeys(_BOUNDED[-3:]) if nothing else {}),
    }


def _days(days: Mapping[Whose, Array], gained: Array, confidence: float) -> dict[str, float]:
    """Return the days of the gap, its parts and what closes it, at the middle with bounds."""
    gap = days[_FIRST] - days[_OTHER]
    begin, end = (round(share * len(gap)) for share in _MIDDLE)
    middle = np.argsort(gap, kind="stable")[begin : max(end, begin + 1)]
    found = {
        "shelf_life_days": float(np.median(days[_FIRST])),
        "other_shelf_life_days": float(np.median(days[_OTHER])),
    }
    for name, part in {"gap": gap, **parts_of(days), "closed": gained}.items():
        lower, upper = np.quantile(part, (1.0 - confidence, confidence))
        found[f"{name}_days"] = float(part[middle].mean())
        found |= {f"{name}_days_lower": float(lower), f"{name}_days_upper": float(upper)}
    return found
