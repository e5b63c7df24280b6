"""Dates and shelf lives of all cells on all routes, as the two result tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from analysis.dating.shelf_life import SHARES, Cell, date_of, limits_for, oldest_tasted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analysis.dating.policy import Policy
    from analysis.dating.routes import Route
    from analysis.staling.evidence import Evidence

_SHELF_LIVES = {
    "style": pl.String,
    "format": pl.String,
    "route": pl.String,
    "share_rejected": pl.Float64,
    "confidence": pl.Float64,
    "shelf_life_days": pl.Float64,
    "shelf_life_days_lower": pl.Float64,
    "shelf_life_days_upper": pl.Float64,
    "basis": pl.String,
}
_DATES = {
    "style": pl.String,
    "format": pl.String,
    "route": pl.String,
    "share_rejected": pl.Float64,
    "confidence": pl.Float64,
    "shelf_life_days": pl.Float64,
    "shelf_life_days_lower": pl.Float64,
    "shelf_life_days_upper": pl.Float64,
    "best_before_days": pl.Int32,
    "binding_cause": pl.String,
    "basis": pl.String,
    "beers": pl.Int32,
    "lots": pl.Int32,
    "verdicts": pl.Int32,
    "rejected": pl.Int32,
    "oldest_tasted_days": pl.Float64,
    "total_oxygen_ppb": pl.Float64,
    "activation_energy_kj_mol": pl.Float64,
    "distribution": pl.String,
    "oxygen_from": pl.String,
    "reason": pl.String,
}


def dates_table(
    all_cells: Sequence[Cell],
    routes: Sequence[Route],
    evidence: Evidence,
    policy: Policy,
    limits: pl.DataFrame,
) -> pl.DataFrame:
    """Tabulate the dates: one row for each cell on each route that carries its kind."""
    rows = []
    for cell, route in _on_routes(all_cells, routes):
        rule = policy.of(cell.style, format_=cell.format, market=route.market)
        life = cell.life(route, rule.share_rejected, rule.confidence)
        oldest = oldest_tasted(evidence, cell.style, route.last_temp_c)
        date = date_of(cell, route, rule, oldest, limits_for(limits, cell, evidence))
        estimated = life is not None
        rows.append(
            {
                "style": cell.style,
                "format": cell.format,
                "route": route.name,
                "share_rejected": rule.share_rejected,
                "confidence": rule.confidence,
                "shelf_life_days": life.days if life else None,
                "shelf_life_days_lower": life.lower if life else None,
                "shelf_life_days_upper": life.upper if life else None,
                "best_before_days": date.days,
                "binding_cause": date.binding_cause or None,
                "basis": cell.basis(route, rule.share_rejected),
                "beers": cell.beers,
                "lots": cell.lots,
                "verdicts": cell.verdicts,
                "rejected": cell.rejected,
                "oldest_tasted_days": oldest if estimated else None,
                "total_oxygen_ppb": cell.total_oxygen_ppb if estimated else None,
                "activation_energy_kj_mol": cell.energy,
                "distribution": cell.distribution,
                "oxygen_from": cell.oxygen_from,
                "reason": date.reason,
            }
        )
    return pl.DataFrame(rows, schema=_DATES, orient="row")


def shelf_lives_table(
    all_cells: Sequence[Cell], routes: Sequence[Route], policy: Policy
) -> pl.DataFrame:
    """Tabulate shelf life at 10, 25 and 50 % rejected and the rule's own share, before caps."""
    rows = []
    for cell, route in _on_routes(all_cells, routes):
        rule = policy.of(cell.style, format_=cell.format, market=route.market)
        for share in sorted({*SHARES, rule.share_rejected}):
            life = cell.life(route, share, rule.confidence)
            numbers = (life.days, life.lower, life.upper) if life else (None, None, None)
            rows.append(
                (
                    cell.style,
                    cell.format,
                    route.name,
                    share,
                    rule.confidence,
                    *numbers,
                    cell.basis(route, share),
                )
            )
    return pl.DataFrame(rows, schema=_SHELF_LIVES, orient="row")


def _on_routes(all_cells: Sequence[Cell], routes: Sequence[Route]) -> list[tuple[Cell, Route]]:
    return [(cell, route) for cell in all_cells for route in routes if route.carries(cell.kind)]
