"""Make the review of a quarter from the data as they stood, and keep it as it was made.

A copy of the store is taken back to what was known, and everything is worked out there: so the code
of all pages serves a quarter that is long past, and the store itself is only read. Asked again, a
review is made again in the same way and held against the one that was kept.
"""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import polars as pl

from analysis.cases.quarter import quarter_named, quarter_of
from dashboards.build import build
from dashboards.results import read_results
from dashboards.review import html_of
from dashboards.review_needs import needs
from dashboards.words import NBSP, day
from pipelines.errors import AnswerError
from pipelines.flows.compute import computing
from pipelines.flows.field import write_field
from pipelines.flows.fit import gather, record, work_out
from pipelines.flows.lock import writers_lock
from pipelines.flows.progress import step
from pipelines.flows.review_record import Asked, record_of
from pipelines.flows.review_sheets import write_sheets
from pipelines.flows.standing import standing_run
from pipelines.flows.version import code_version
from pipelines.flows.week import day_of_brewery, write_week
from pipelines.store.as_it_stood import Known, forget_runs, known_now, take_back
from pipelines.store.assessors import codes_given, keep_codes
from pipelines.store.backup import copy_store
from pipelines.store.connect import need_store, open_store
from pipelines.store.insert import next_number
from pipelines.store.migrate import migrate
from pipelines.store.quarter import dated_span, quarter_rows, rows_dated
from pipelines.store.results import newest_run
from pipelines.store.reviews import newest_review, record_review

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    import duckdb

    from analysis.cases.quarter import Quarter
    from pipelines.config import Config

Cells = dict[str, Any]

_AN_HOUR = 3600.0
_SAID = 3
"""Of what needs a decision so much is said at the terminal."""


def review(name: str | None, config: Config, say: Callable[[str], None]) -> tuple[Path, ...]:
    """Make the review of a quarter, or make it again, and write its report.

    Args:
        name: The quarter, such as `2026-Q3`; None for the last one that has ended.
        config: The configuration.
        say: Takes each line for the person who waits.

    Returns:
        The report as HTML, and its PDF and JSON beside the database.

    Raises:
        AnswerError: The name is no quarter, or the quarter lies ahead or holds no data.
        StoreError: There is no store, or it cannot be read or written.
        AnalysisError: The stored tables break their contract.
    """
    database = config.paths.database
    today = config.as_of or day_of_brewery(config)
    quarter = quarter_asked(name, today)
    if quarter.first > today:
        message = (
            f"{quarter} begins on {_day(quarter.first)}: its review can be made from that day on"
        )
        raise AnswerError(message)
    need_store(database)
    with writers_lock(database, "review"):
        with open_store(database) as connection:
            migrate(connection)
            kept = newest_review(connection, str(quarter))
            now = known_now(connection, min(today, quarter.closes_on))
            _check_data(connection, quarter, now)
        if kept is not None and _stands(kept, quarter, now, config):
            _again(quarter, kept, config, say)
        else:
            assert now is not None  # noqa: S101 - _check_data has seen data
            _first(quarter, now, config, say)
        with step("writing the report"):
            build(database, config.paths.pages)
            return write_sheets(quarter, config, say)


def quarter_asked(name: str | None, today: date) -> Quarter:
    """Return the quarter of a name; without one the last that has ended.

    Raises:
        AnswerError: It is no quarter.
    """
    if name is None:
        return quarter_of(today).before
    quarter = quarter_named(name)
    if quarter is None:
        usual = quarter_of(today).before
        message = f"{name!r} is no quarter: expected a year and Q1 to Q4, such as {usual}"
        raise AnswerError(message)
    return quarter


def _check_data(connection: duckdb.DuckDBPyConnection, quarter: Quarter, now: Known | None) -> None:
    first, last = dated_span(connection)
    if now is None or first is None or last is None:
        message = "nothing has been loaded yet: run stalecurve load first"
        raise AnswerError(message)
    if not any(rows_dated(connection, quarter.first, min(quarter.last, now.data_until)).values()):
        message = (
            f"nothing is dated in {quarter}: what was loaded runs from {_day(first)} to "
            f"{_day(last)}"
        )
        raise AnswerError(message)


def _stands(kept: Cells, quarter: Quarter, now: Known | None, config: Config) -> bool:
    """Tell whether a review that was made is the last word on its quarter.

    It is once the quarter's data were closed, on working day 8 of the next; until then, where
    nothing is known that it did not know.
    """
    return kept["data_until"] == quarter.closes_on or (
        _known(kept) == now
        and kept["code_version"] == code_version()
        and kept["settings"] == _settings(config)
        and kept["run_id"] == standing_run(config)
    )


def _first(quarter: Quarter, known: Known, config: Config, say: Callable[[str], None]) -> None:
    """Make a review from what is known now, and keep it."""
    made_at = datetime.now(ZoneInfo(config.brewery.timezone)).replace(tzinfo=None, microsecond=0)
    with open_store(config.paths.database, read_only=True) as connection:
        ((aside,),) = connection.sql(
            "SELECT count(DISTINCT (file, sheet, row_number)) FROM published.set_aside"
        ).fetchall()
    asked = Asked(quarter, known, standing_run(config), made_at, aside)
    with TemporaryDirectory(prefix="stalecurve-") as near:
        copy = Path(near) / "store.duckdb"
        made, run_id = _made(asked, config, copy)
        row = {
            "quarter": str(quarter),
            "made_at": made_at,
            **asdict(known),
            "run_id": run_id,
            "rows_aside": aside,
            "code_version": code_version(),
            "settings": _settings(config),
            "record": json.dumps(made, ensure_ascii=False, indent=2) + "\n",
            "sheet": html_of(made),
        }
        with open_store(copy, read_only=True) as connection:
            given = codes_given(connection)
        with open_store(config.paths.database) as connection:
            keep_codes(connection, given)
            number = next_number(connection, "reviews", "review_id")
            schema = {"review_id": pl.Int64, "run_id": pl.Int64}
            record_review(
                connection,
                pl.DataFrame([{"review_id": number, **row}], schema_overrides=schema),
            )
    so_far = "" if known.data_until == quarter.closes_on else ", so far"
    say(f"{quarter}{so_far}: made from the data up to {_day(known.data_until)}, and kept")
    for line, _ in needs(made)[:_SAID]:
        say(f"- {line}".replace(NBSP, " "))


def _again(quarter: Quarter, kept: Cells, config: Config, say: Callable[[str], None]) -> None:
    """Make a review again from what was known, and say how it stands to the one that was kept."""
    asked = Asked(quarter, _known(kept), kept["run_id"], kept["made_at"], kept["rows_aside"])
    with TemporaryDirectory(prefix="stalecurve-") as near:
        made, _ = _made(asked, config, Path(near) / "store.duckdb", kept)
    was = f"{quarter}: as it was made on {_day(kept['made_at'])}"
    if html_of(made) == kept["sheet"]:
        say(f"{was}; made again from the data as they stood, it is the same")
        return
    changed = [
        what
        for what, differs in (
            ("stalecurve", kept["code_version"] != code_version()),
            ("the configuration", kept["settings"] != _settings(config)),
        )
        if differs
    ]
    if json.loads(kept["record"]) == json.loads(json.dumps(made)):
        why = "its numbers are the same, and stalecurve words them otherwise now"
    elif changed:
        why = f"{' and '.join(changed)} changed since, so that it would read otherwise now"
    else:
        why = "made again it reads otherwise though nothing changed, which should not be"
    say(f"{was}, which stays; {why}")


def _made(
    asked: Asked, config: Config, copy: Path, kept: Cells | None = None
) -> tuple[Cells, int | None]:
    """Work a review out in a copy of the store; return its record and the run that stood for it."""
    until, quarter = asked.known.data_until, asked.quarter
    there = replace(config, as_of=until, paths=replace(config.paths, database=copy))
    with step("looking at the data as they stood"):
        copy_store(config.paths.database, copy, _AN_HOUR)
        with open_store(copy) as connection:
            later = take_back(connection, asked.known)
            newest = newest_run(connection)
    run_id = asked.run_id if kept is not None or not later else None
    unchanged = kept is None or (
        kept["code_version"] == code_version() and kept["settings"] == _settings(config)
    )
    if run_id is None or run_id != newest or not unchanged:
        _fit(there, run_id)
    with open_store(copy) as connection:
        write_week(connection, there, until)
        write_field(connection, there, until)
        rows = quarter_rows(connection, quarter.first, quarter.last, until)
        counts = rows_dated(connection, quarter.first, min(quarter.last, until))
    with step("gathering the evidence"):
        return record_of(asked, run_id, read_results(copy), rows, counts), run_id


def _fit(there: Config, run_id: int | None) -> None:
    """Fit in a copy; the run gets the number of the one that it takes the place of."""
    with step("fitting to the data as they stood"):
        with open_store(there.paths.database) as connection:
            forget_runs(connection, run_id or 1)
        gathered = gather(there, _nobody)
        with computing(there.compute, there.folder, there.brewery.name) as each:
            frames = work_out(gathered, each)
        record(there, frames, _nobody)


def _nobody(_line: str) -> None:
    """Take a line that was said already when the data were loaded and fitted."""


def _known(kept: Cells) -> Known:
    return Known(**{name: kept[name] for name in Known.__dataclass_fields__})


def _settings(config: Config) -> str:
    """Return what of the configuration bears on a review."""
    settings = {
        **config.settings(),
        "complaints": asdict(config.complaints),
        "expected": dict(config.expected),
        "pulls": asdict(config.pulls),
        "retained": asdict(config.retained),
    }
    return json.dumps(settings, sort_keys=True, ensure_ascii=False)


def _day(value: date) -> str:
    return day(value).replace(NBSP, " ")
