"""What is known when a date is decided, gathered from the newest run into one record."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

import polars as pl

from analysis.dating.policy import Rule
from analysis.dating.risk import at_risk
from analysis.dating.routes import routes_of
from analysis.errors import InputError
from dashboards import decided, sentences
from pipelines.store.decisions import inputs_of
from pipelines.store.fetch import fetch
from pipelines.store.lots import of_newest_run

if TYPE_CHECKING:
    from datetime import datetime

    import duckdb

    from analysis.kinetics.history import Stages
    from dashboards.results import Results

Cells = dict[str, Any]

_LIFE = (
    "share_rejected",
    "confidence",
    "shelf_life_days",
    "shelf_life_days_lower",
    "shelf_life_days_upper",
)
_DATE = (
    *("verdicts", "rejected", "lots", "beers", "oldest_tasted_days", "total_oxygen_ppb"),
    *("activation_energy_kj_mol", "distribution"),
)
_WAY = (
    *("route", "market", "temp_c", "way_days", "cold", "storage_text", "shelf_days"),
    *("binding_cause", "basis", "reason"),
)
_CHOICE = (
    *("route", "choice", "setting", "in_force", "best_before_days", "least_days"),
    *("difference_days", "binding_cause"),
)


@dataclass(frozen=True)
class Wanted:
    """What somebody wants to decide.

    Attributes:
        beer: the beer.
        format: its format.
        days: best-before days from packaging.
        by: who records it.
        because: the reason; empty where none is given.
        market: the market it holds for; None for all of them.
        route: the route it holds for alone; None for all that lead to the market.
    """

    beer: str
    format: str
    days: int
    by: str
    because: str = ""
    market: str | None = None
    route: str | None = None


def record_of(
    wanted: Wanted,
    ways: list[Cells],
    results: Results,
    connection: duckdb.DuckDBPyConnection,
    at: datetime,
    number: int,
) -> Cells:
    """Gather a record, which holds nothing but texts, numbers, lists and objects.

    Args:
        wanted: What is to be decided.
        ways: The routes that it covers, rows of `published.route_dates`; at least one.
        results: What the store publishes.
        connection: The same store.
        at: When it is decided, by the brewery's clock.
        number: The number it will have.
    """
    run = results.newest_run or {}
    style = ways[0]["style"]
    stages = _stages(connection)
    draws, doses = (
        of_newest_run(connection, table).filter(
            pl.col("style") == style, pl.col("format") == wanted.format
        )
        for table in ("risk_draws", "risk_doses")
    )
    routes = [_route(way, wanted, results) for way in ways]
    for route in routes:
        confidence = route["rule"]["confidence"]
        try:
            risk = at_risk(draws, doses, stages[route["route"]], wanted.days, confidence)
            route["at_risk"] = asdict(risk)
        except InputError:  # nothing is estimated
            route["at_risk"] = None
    names = [way["route"] for way in ways]
    choices = results.policy_choices.filter(
        pl.col("style") == style, pl.col("format") == wanted.format, pl.col("route").is_in(names)
    )
    shortest = shortest_of(ways)
    supported = shortest["supported_days"] if shortest else None
    return {
        "decision": number,
        "recorded_at": at.isoformat(timespec="seconds"),
        "recorded_by": wanted.by,
        "brewery": run["brewery"],
        "beer": wanted.beer,
        "style": style,
        "format": wanted.format,
        "market": ways[0]["market"] if wanted.route else wanted.market,
        "route": wanted.route,
        "days": wanted.days,
        "because": wanted.because or None,
        "supported": {
            "days": supported,
            "route": shortest["route"] if shortest else None,
            "temp_c": shortest["temp_c"] if shortest else None,
        },
        "days_above_supported": None if supported is None else max(wanted.days - supported, 0),
        "first_estimate": decided.first_estimate(results, style, wanted.format),
        "own_rule": any(route.pop("own_rule") for route in routes),
        "routes": routes,
        "alternatives": choices.select(_CHOICE).to_dicts(),
        "cautions": list(sentences.cautions(results, style, wanted.format)),
        "evidence": _evidence(results, connection),
        "takes_the_place_of": _before(wanted, ways, results),
    }


def shortest_of(ways: list[Cells]) -> Cells | None:
    """Return the way whose date is shortest; None where none has a date."""
    dated = [way for way in ways if way["supported_days"] is not None]
    return min(dated, key=lambda way: (way["supported_days"], way["route"]), default=None)


def _stages(connection: duckdb.DuckDBPyConnection) -> dict[str, Stages]:
    routes = routes_of(fetch(connection, "routes"), fetch(connection, "route_stages"))
    return {route.name: route.stages for route in routes}


def _route(way: Cells, wanted: Wanted, results: Results) -> Cells:
    """Return what is known of a route: its rule, its date, lives at three shares, the counts."""
    place = (
        pl.col("style") == way["style"],
        pl.col("format") == wanted.format,
        pl.col("route") == way["route"],
    )
    rules = results.date_rules.filter(*place)
    rule = rules.row(by_predicate=pl.col("beer") == wanted.beer, named=True)
    of_style = rules.row(by_predicate=pl.col("beer").is_null(), named=True)
    names = list(Rule.__dataclass_fields__)
    (date,) = results.dates.filter(*place).select(_DATE).to_dicts()
    lives = results.shelf_life.filter(*place).sort("share_rejected").select(_LIFE)
    return {
        **{name: way[name] for name in _WAY},
        "best_before_days": way["supported_days"],
        "rule": {name: rule[name] for name in names},
        "rule_in_words": decided.rule(rule),
        "own_rule": any(rule[name] != of_style[name] for name in names),
        **date,
        "shelf_lives": lives.to_dicts(),
    }


def _evidence(results: Results, connection: duckdb.DuckDBPyConnection) -> Cells:
    run = results.newest_run or {}
    loads = results.loads.filter(pl.col("load_id").eq_missing(run["load_id"]))["finished_at"]
    files, digest = inputs_of(connection, run["load_id"])
    return {
        "run": run["run_id"],
        "run_finished_at": run["finished_at"].isoformat(timespec="seconds"),
        "newest_load": run["load_id"],
        "load_finished_at": loads[0].isoformat(timespec="seconds") if len(loads) else None,
        "code_version": run["code_version"],
        "input_files": files,
        "inputs_sha256": digest,
        "question": run["question"],
    }


def _before(wanted: Wanted, ways: list[Cells], results: Results) -> list[Cells]:
    """Return the decisions that this one takes the place of, the newest first."""
    old = results.decisions.filter(
        pl.col("superseded_by").is_null(),
        pl.col("beer") == wanted.beer,
        pl.col("format") == wanted.format,
    )
    if wanted.market is not None or wanted.route is not None:
        old = old.filter(pl.col("market") == ways[0]["market"])
    if wanted.route is not None:
        old = old.filter(pl.col("route") == wanted.route)
    return [
        {
            "decision": row["decision_id"],
            "days": row["days"],
            "recorded_by": row["decided_by"],
            "recorded_at": row["decided_at"].isoformat(timespec="seconds"),
        }
        for row in old.rows(named=True)
    ]
