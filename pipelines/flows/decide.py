"""Decide a date: hold it against what the data support, keep it with its evidence and sheet."""

from __future__ import annotations

import json
from datetime import datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import polars as pl

from analysis.dating.policy import LOW_ALCOHOL_REASON
from dashboards.record_sheet import html_of
from dashboards.results import read_results
from pipelines.errors import DecisionError, StoreError
from pipelines.flows.decision_record import record_of, shortest_of
from pipelines.flows.decision_words import lines_of
from pipelines.flows.lock import writers_lock
from pipelines.flows.record_sheets import write_sheet
from pipelines.flows.standing import standing_run
from pipelines.readers.names import did_you_mean
from pipelines.store.connect import open_store
from pipelines.store.decisions import record_decision
from pipelines.store.insert import next_number
from pipelines.store.migrate import refuse_other_shapes

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from dashboards.results import Results
    from pipelines.config import Config
    from pipelines.flows.decision_record import Wanted

Cells = dict[str, Any]

LONGEST = 7300


def decide(wanted: Wanted, config: Config, say: Callable[[str], None]) -> tuple[Path, ...]:
    """Record a decision, say what it is held against, and write its record sheet.

    Args:
        wanted: What is to be decided.
        config: The configuration.
        say: Takes each line.

    Returns:
        The files of the record sheet: JSON, HTML, and PDF where it can be made.

    Raises:
        DecisionError: It lacks a name or the reason that it needs, nobody can be given such a date,
            or there is no run that saw everything.
        StoreError: There is no such beer, format, market or route, or there is no store; the
            message gives the nearest.
    """
    _check_words(wanted)
    database = config.paths.database
    with writers_lock(database, "decide"):
        _check_run(config)
        results = read_results(database)
        ways = _ways(wanted, results)
        _check_days(wanted, ways)
        at = datetime.now(ZoneInfo(config.brewery.timezone)).replace(tzinfo=None, microsecond=0)
        with open_store(database) as connection:
            number = next_number(connection, "decisions", "decision_id")
            record = record_of(wanted, ways, results, connection, at, number)
            record_decision(connection, _row(record, html_of(record), at))
        for line in lines_of(record):
            say(line)
        return write_sheet(number, config, say)


def _check_words(wanted: Wanted) -> None:
    fault = ""
    if not 1 <= wanted.days <= LONGEST:
        fault = f"{wanted.days} days are no best-before date: expected 1 to {LONGEST}"
    elif not wanted.by.strip():
        fault = "a decision needs the name of who records it: --by NAME"
    elif wanted.market is not None and wanted.route is not None:
        fault = "a decision holds for a market or for one route: give --market or --route"
    if fault:
        raise DecisionError(fault)


def _check_run(config: Config) -> None:
    """Refuse where the newest run did not see what is stored and configured now.

    Raises:
        DecisionError: The message says what to run first.
        StoreError: There is no store, or it has another shape.
    """
    database = config.paths.database
    if not database.exists():
        message = f"there is no {database.name} yet: run stalecurve run first"
        raise StoreError(message)
    with open_store(database, read_only=True) as connection:
        refuse_other_shapes(connection)
        ((newest,),) = connection.sql("SELECT max(run_id) FROM results.runs").fetchall()
    if newest is None:
        message = "nothing has been dated yet: run stalecurve run first"
        raise DecisionError(message)
    if standing_run(config) is None:
        message = (
            f"data, configuration or stalecurve changed after run {newest}, so a decision would "
            "not rest on what is known: run stalecurve run first"
        )
        raise DecisionError(message)


def _ways(wanted: Wanted, results: Results) -> list[Cells]:
    """Return the routes that a decision covers, rows of `published.route_dates`."""
    found = results.route_dates
    for column, name, said in (
        ("beer", wanted.beer, "there is no lot of {name} to date"),
        ("format", wanted.format, "{beer} was not filled into {name}"),
        ("market", wanted.market, "{beer}, {format} goes to no market {name}"),
        ("route", wanted.route, "{beer}, {format} goes by no route {name}"),
    ):
        if name is None:
            continue
        known = found[column].unique().sort()
        found = found.filter(pl.col(column) == name)
        if found.is_empty():
            there = f": there is {', '.join(known)}" if column != "beer" and len(known) else ""
            told = said.format(name=name, beer=wanted.beer, format=wanted.format)
            message = (
                f"{told}{there}{did_you_mean(name, known).replace(':', ';' if there else ':')}"
            )
            raise StoreError(message)
    return found.rows(named=True)


def _check_days(wanted: Wanted, ways: list[Cells]) -> None:
    """Refuse a date without a safety validation, and one beyond the data without a reason."""
    if any(way["binding_cause"] == "safety" for way in ways):
        message = (
            f"{wanted.beer}: no date. {LOW_ALCOHOL_REASON} Once a validation is recorded, name the "
            "beer under [safety] validated and run stalecurve run"
        )
        raise DecisionError(message)
    if wanted.because.strip():
        return
    shortest = shortest_of(ways)
    faults = [
        f"for '{way['route']}', which ends at {way['temp_c']:g} °C, the data support no date "
        f"({(way['reason'] or 'nothing is estimated').rstrip('.')})"
        for way in ways
        if way["supported_days"] is None
    ]
    if shortest and wanted.days > shortest["supported_days"]:
        above = wanted.days - shortest["supported_days"]
        faults.insert(
            0,
            f"{wanted.days} days are {above} days above what the data support, "
            f"{shortest['supported_days']} days kept as '{shortest['route']}' says, which ends at "
            f"{shortest['temp_c']:g} °C",
        )
    if faults:
        message = (
            f"{wanted.beer}, {wanted.format}: {'; '.join(faults)}. Give the reason with --because "
            '"…", or decide for one --market or --route'
        )
        raise DecisionError(message)


def _row(record: Cells, sheet: str, at: datetime) -> pl.DataFrame:
    """Return a record as a row of `records.decisions`."""
    supported, evidence = record["supported"], record["evidence"]
    routes = {route["route"]: route for route in record["routes"]}
    ruled = routes.get(supported["route"], record["routes"][0])
    row = {
        "decision_id": record["decision"],
        "decided_at": at,
        "decided_by": record["recorded_by"],
        **{name: record[name] for name in ("beer", "style", "format", "market", "route")},
        **{name: record[name] for name in ("days", "because")},
        "run_id": evidence["run"],
        "supported_days": supported["days"],
        "supported_route": supported["route"],
        "supported_temp_c": supported["temp_c"],
        "policy": ruled["rule_in_words"],
        "verdicts": ruled["verdicts"],
        "code_version": evidence["code_version"],
        "inputs_sha256": evidence["inputs_sha256"],
        "record": json.dumps(record, ensure_ascii=False, indent=2) + "\n",
        "sheet": sheet,
    }
    return pl.DataFrame([row], infer_schema_length=None)
