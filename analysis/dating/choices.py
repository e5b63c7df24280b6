"""Whose rule each date follows, and what every choice in it costs in days.

Each choice is changed alone, the rest of the rule as it is; days come from the same draws as the
date itself, so that they are exact. Where rounding goes to a month's end, `least_days` is what is
left on the worst packaging day: 30 days fewer.
"""

from __future__ import annotations

from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

import polars as pl

from analysis.dating.label import COLD_C
from analysis.dating.routes import Route
from analysis.dating.shelf_life import SHARES, date_of, limits_for, limits_of, oldest_tasted
from analysis.kinetics.history import Stages

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from analysis.dating.policy import Policy, Rule
    from analysis.dating.rounding import BestBefore
    from analysis.dating.shelf_life import Cell
    from analysis.staling.evidence import Evidence

SHELF_C = 21.0
"""The shelf on which a cold beer may end up, °C (assumed)."""

CONFIDENCES = (0.80, 0.90, 0.95)
MARGINS = (0, 14)
NO_CAP_DAYS = 100_000
_MONTH = 30  # the most that a month's end takes

_RULES = {
    **dict.fromkeys(("beer", "style", "format", "route", "market"), pl.String),
    "share_rejected": pl.Float64,
    "confidence": pl.Float64,
    "rounding": pl.String,
    "cap_days": pl.Int32,
    "cap_at_oldest_tasted": pl.Boolean,
    "margin_days": pl.Int32,
    "margin_share": pl.Float64,
    "temp_c": pl.Float64,
    "way_days": pl.Float64,
    "cold": pl.Boolean,
    "shelf_days": pl.Int32,
}
_CHOICES = {
    **dict.fromkeys(("style", "format", "route", "choice", "setting"), pl.String),
    "in_force": pl.Boolean,
    "best_before_days": pl.Int32,
    "least_days": pl.Int32,
    "difference_days": pl.Int32,
    "binding_cause": pl.String,
}


def rules_table(
    cells: Sequence[Cell],
    routes: Sequence[Route],
    evidence: Evidence,
    policy: Policy,
    limits: pl.DataFrame,
    beer_dates: pl.DataFrame,
) -> pl.DataFrame:
    """Tabulate the rule behind each date, and the days of a cold route's beer on a shelf.

    Args:
        cells: every style and format.
        routes: the routes.
        evidence: for the oldest beer tasted.
        policy: the brewery's rule.
        limits: beer, style, format, cause, days.
        beer_dates: as `beer_dates` returns them: beer, style, format, route, binding_cause.

    Returns:
        One row for each style, format and route (beer is null) and one for each row of beer_dates:
        market, the values of the rule, temp_c of the last stage, way_days to it, cold (it ends
        below 15 °C), shelf_days (the date were it kept at 21 °C from packaging on; null on warm
        routes and where there is none). Sorted by style, format, beer and route.
    """
    by_place = {(cell.style, cell.format): cell for cell in cells}
    by_name = {route.name: route for route in routes}
    asked: list[tuple[Any, ...]] = [
        (None, *place, route.name, None)
        for place, cell in by_place.items()
        for route in routes
        if route.carries(cell.kind)
    ]
    asked += beer_dates.select("beer", "style", "format", "route", "binding_cause").rows()
    rows = []
    for beer, style, format_, name, cause in asked:
        cell, route = by_place[style, format_], by_name[name]
        rule = policy.of(style, beer=beer, format_=format_, market=route.market)
        ends = (
            limits_for(limits, cell, evidence)
            if beer is None
            else limits_of(limits, style=style, format_=format_, beer=beer)
        )
        cold = route.last_temp_c < COLD_C
        told = cold and cause != "safety"
        shelf = _on_shelf(cell, route, rule, evidence, ends) if told else None
        rows.append(
            {
                "beer": beer,
                "style": style,
                "format": format_,
                "route": name,
                "market": route.market,
                **asdict(rule),
                "temp_c": route.last_temp_c,
                "way_days": route.stages.distribution_days,
                "cold": cold,
                "shelf_days": shelf.days if shelf else None,
            }
        )
    return pl.DataFrame(rows, schema=_RULES, orient="row").sort(
        "style", "format", "beer", "route", nulls_last=False
    )


def _on_shelf(
    cell: Cell, route: Route, rule: Rule, evidence: Evidence, ends: dict[str, float]
) -> BestBefore:
    """Date the same beer were it on a shelf from packaging on."""
    shelf = Route("shelf", frozenset(), 1.0, Stages((float("inf"),), (SHELF_C,)), route.market)
    return date_of(cell, shelf, rule, oldest_tasted(evidence, cell.style, SHELF_C), ends)


def choices_table(
    cells: Sequence[Cell],
    routes: Sequence[Route],
    evidence: Evidence,
    policy: Policy,
    limits: pl.DataFrame,
) -> pl.DataFrame:
    """Tabulate the date under each other choice, of every style and format on each route.

    Args:
        cells: every style and format; those without an estimate are left out.
        routes: the routes.
        evidence: for the oldest beer tasted.
        policy: the brewery's rule.
        limits: beer, style, format, cause, days.

    Returns:
        style, format, route, choice (share, confidence, rounding, cap, oldest tasted, margin),
        setting, in_force, best_before_days (null where there would be no date), least_days,
        difference_days (to the date as it stands; null unless there are both), binding_cause.
    """
    rows = []
    for cell in cells:
        ends = limits_for(limits, cell, evidence)
        for route in routes:
            if cell.drawn is None or not route.carries(cell.kind):
                continue
            rule = policy.of(cell.style, format_=cell.format, market=route.market)
            oldest = oldest_tasted(evidence, cell.style, route.last_temp_c)
            now = date_of(cell, route, rule, oldest, ends).days
            for choice, setting, other in _others(rule):
                date = date_of(cell, route, other, oldest, ends)
                rows.append(
                    (
                        *(cell.style, cell.format, route.name, choice, setting, other == rule),
                        *(date.days, _least(date.days, other)),
                        None if date.days is None or now is None else date.days - now,
                        date.binding_cause,
                    )
                )
    return pl.DataFrame(rows, schema=_CHOICES, orient="row")


def _others(rule: Rule) -> Iterator[tuple[str, str, Rule]]:
    """Yield each choice with its setting: the usual ones and the rule's own."""
    for share in sorted({*SHARES, rule.share_rejected}):
        yield "share", f"{share:g}", replace(rule, share_rejected=share)
    for sure in sorted({*CONFIDENCES, rule.confidence}):
        yield "confidence", f"{sure:g}", replace(rule, confidence=sure)
    for rounding in ("day", "week", "month"):
        yield "rounding", rounding, replace(rule, rounding=rounding)
    yield "cap", f"{rule.cap_days} days", rule
    yield "cap", "none", replace(rule, cap_days=NO_CAP_DAYS)
    for capped in (True, False):
        setting = "stops there" if capped else "goes beyond"
        yield "oldest tasted", setting, replace(rule, cap_at_oldest_tasted=capped)
    for days in sorted({*MARGINS, rule.margin_days}):
        kept = replace(rule, margin_days=days, margin_share=0.0)
        yield "margin", f"{days} days", kept
    if rule.margin_share:
        yield "margin", f"{rule.margin_share:g} of the life", rule


def _least(days: int | None, rule: Rule) -> int | None:
    if days is None or rule.rounding != "month":
        return days
    return max(days - _MONTH, 0)
