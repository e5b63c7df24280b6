"""What the routes and the loggers on them do to the dates, and what moves a date."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.dating.moves import moves
from analysis.dating.on_the_way import on_the_way, placed_trips, trip_points
from analysis.kinetics.logged import places

if TYPE_CHECKING:
    from collections.abc import Mapping

    import polars as pl

    from analysis.dating.assessment import Assessment
    from analysis.dating.policy import Policy
    from pipelines.config import Config


def route_report(
    assessment: Assessment, tables: Mapping[str, pl.DataFrame], policy: Policy, config: Config
) -> dict[str, pl.DataFrame]:
    """Tabulate what the way takes of each life, what loggers say of it, and what moves the date.

    Args:
        assessment: with a fit or without.
        tables: the input tables; temperature_log, lots, samples and limits are used.
        policy: the brewery's rule for its dates.
        config: for the summer that is assumed.

    Returns:
        route_trips, and with a fit route_use, route_lives, place_temperatures and moves.
    """
    log, routes = tables["temperature_log"], assessment.routes
    placed = placed_trips(log, tables["lots"], routes)
    frames = {"route_trips": trip_points(placed)}
    model = assessment.model
    if model is None:
        return frames
    dated = (assessment.evidence, policy, tables["limits"])
    warmer = config.routes.summer_warmer_c
    energy = float(model.best.mode.effects[model.layout.energy])
    return {
        **frames,
        **on_the_way(assessment.cells, routes, *dated, placed, warmer),
        "place_temperatures": places(log, tables["samples"], energy),
        "moves": moves(model, assessment.cells, routes, *dated),
    }
