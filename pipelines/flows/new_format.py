"""Answer which date a format would be lent that was never filled; keep the question.

The answer is worked out anew at every publishing, so that its page follows the newest run.
"""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import polars as pl

from analysis.dating.new_format import NewFormat, lent_dates, likeness, oxygen_of
from analysis.dating.routes import routes_of
from analysis.line.meters import readings_in_doubt
from analysis.oxygen.packages import log_bounds, package_oxygen
from analysis.oxygen.shrinkage import spreads
from dashboards.build import build_page
from dashboards.pages import new_format as new_format_page
from pipelines.errors import StoreError
from pipelines.flows.lock import writers_lock
from pipelines.flows.new_format_words import in_words
from pipelines.flows.policy import policy_of
from pipelines.readers.names import did_you_mean
from pipelines.store.connect import need_store, open_store
from pipelines.store.fetch import fetch
from pipelines.store.lots import known_lots, of_newest_run
from pipelines.store.migrate import migrate
from pipelines.store.new_formats import formats_of_newest_run, open_questions, record_question
from pipelines.store.week import replace_week

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    import duckdb

    from analysis.oxygen.shrinkage import Spreads
    from pipelines.config import Config

_TABLES = ("new_formats", "new_format_dates", "new_format_likeness")


def answer_new_format(
    asked: NewFormat,
    styles: Sequence[str],
    headspace_ml: float | None,
    config: Config,
    say: Callable[[str], None],
) -> Path:
    """Say which date each style would be lent in a new format; keep the question.

    Args:
        asked: The format.
        styles: Styles asked about; none: all that the newest run knows.
        headspace_ml: Of the package; kept with the question, and no part of the date.
        config: The configuration.
        say: Takes each line of the answer.

    Returns:
        Its page.

    Raises:
        StoreError: There is no store, nothing is estimated yet, the format is one that is filled,
            no route carries its kind, or there is no such style; the message gives the nearest.
        DashboardError: The page cannot be written.
    """
    need_store(config.paths.database)
    now = datetime.now(ZoneInfo(config.brewery.timezone)).replace(tzinfo=None)
    with writers_lock(config.paths.database, "new-format"):
        with open_store(config.paths.database) as connection:
            migrate(connection)
            _check(asked, styles, connection)
            record_question(connection, _question(asked, styles, headspace_ml, now))
            found = write_new_formats(connection, config)
        for line in _lines(found, asked.name):
            say(line)
        return build_page(
            config.paths.database,
            config.paths.pages,
            lambda results: new_format_page.page(results, asked.name),
        )


def write_new_formats(
    connection: duckdb.DuckDBPyConnection, config: Config
) -> dict[str, pl.DataFrame]:
    """Answer every open question anew by the newest run, and keep the answers for the pages.

    Args:
        connection: A migrated store opened for writing.
        config: The configuration.

    Returns:
        The tables of `this_week` by name.

    Raises:
        StoreError: The store cannot be written.
    """
    lives = of_newest_run(connection, "style_lives")
    questions = open_questions(connection).rows(named=True)
    answers = []
    if questions and not lives.is_empty():
        brewery = _brewery(connection, config)
        answers = [_answer(question, lives, brewery, config) for question in questions]
    empty = {
        name: connection.sql(f"SELECT * FROM this_week.{name} LIMIT 0").pl() for name in _TABLES
    }
    frames = {
        name: pl.concat([held, *(answer[name] for answer in answers)], how="diagonal_relaxed")
        for name, held in empty.items()
    }
    replace_week(connection, frames)
    return frames


def _brewery(connection: duckdb.DuckDBPyConnection, config: Config) -> dict[str, Any]:
    """Gather what every answer rests on."""
    beers, policy = fetch(connection, "beers"), policy_of(config)
    unsafe = pl.Series(
        [
            policy.needs_validation(beer, abv)
            for beer, abv in beers.select("beer", "abv_pct").iter_rows()
        ],
        dtype=pl.Boolean,
    )
    by_style = beers.with_columns(unsafe=unsafe).group_by("style").agg(pl.col("unsafe").all())
    return {
        "known": formats_of_newest_run(connection),
        "dates": of_newest_run(connection, "dates"),
        "spreads": _spreads(connection, config),
        "routes": routes_of(fetch(connection, "routes"), fetch(connection, "route_stages")),
        "limits": fetch(connection, "limits"),
        "policy": policy,
        "unsafe": frozenset(by_style.filter("unsafe")["style"]),
        "unsafe_beers": beers.filter(unsafe).select("beer", "style"),
    }


def _answer(
    question: dict[str, Any], lives: pl.DataFrame, brewery: dict[str, Any], config: Config
) -> dict[str, pl.DataFrame]:
    asked = NewFormat(
        name=question["format"],
        kind=question["kind"],
        volume_ml=question["volume_ml"],
        closure=question["closure"],
        ingress=question["ingress_ppb_per_day"],
        oxygen=tuple(float(ppb) for ppb in question["oxygen_ppb"].split()),
    )
    if styles := question["styles"].splitlines():
        lives = lives.filter(pl.col("style").is_in(styles))
    oxygen = oxygen_of(asked, brewery["known"], brewery["spreads"])
    dates = lent_dates(
        asked,
        oxygen,
        lives,
        brewery["dates"],
        **{name: brewery[name] for name in ("routes", "limits", "policy", "unsafe")},
    )
    like = likeness(asked, brewery["known"], oxygen.dose_ppb)
    lower, upper = oxygen.bounds
    said = {
        **in_words(asked, oxygen, dates, like, config.pulls, brewery),
        "format": asked.name,
        "asked_at": question["asked_at"],
        "total_oxygen_ppb": oxygen.total_ppb,
        "total_oxygen_ppb_lower": lower,
        "total_oxygen_ppb_upper": upper,
        "ingress_ppb_per_day": oxygen.ingress,
    }
    return {
        "new_formats": pl.DataFrame([said]),
        "new_format_dates": dates.with_columns(format=pl.lit(asked.name)),
        "new_format_likeness": like.with_columns(new_format=pl.lit(asked.name)),
    }


def _spreads(connection: duckdb.DuckDBPyConnection, config: Config) -> Spreads:
    tables = {name: fetch(connection, name) for name in ("oxygen", "meter_checks")}
    readings, lots = tables["oxygen"], known_lots(connection)
    if config.meters.leave_out_suspect:
        readings = readings.filter(~readings_in_doubt(tables))
    packages = package_oxygen(
        readings,
        lots,
        fetch(connection, "formats"),
        shaken_temperature_c=config.oxygen.shaken_temperature_c,
        late_after_minutes=config.oxygen.late_after_minutes,
    )
    return spreads(log_bounds(packages), lots)


def _check(asked: NewFormat, styles: Sequence[str], connection: duckdb.DuckDBPyConnection) -> None:
    """Refuse what no date can be lent to, in words."""
    message = None
    known = of_newest_run(connection, "style_lives")["style"].unique().sort().to_list()
    strangers = [style for style in styles if style not in known]
    kinds = routes_of(fetch(connection, "routes"), fetch(connection, "route_stages"))
    if asked.name in fetch(connection, "formats")["format"]:
        message = (
            f"{asked.name} is a format of the brewery: its dates stand on the pages. Give the new "
            "one a name of its own"
        )
    elif not known:
        message = "nothing is estimated yet that could lend a date: run stalecurve run first"
    elif strangers:
        message = (
            f"there are no verdicts on aged {strangers[0]} that could lend a date; there are on "
            f"{', '.join(known)}{did_you_mean(strangers[0], known)}"
        )
    elif not any(route.carries(asked.kind) for route in kinds):
        message = f"no route carries the kind {asked.kind}: the table routes says which kinds go"
    if message is not None:
        raise StoreError(message)


def _question(
    asked: NewFormat, styles: Sequence[str], headspace_ml: float | None, now: datetime
) -> pl.DataFrame:
    return pl.DataFrame(
        {
            "asked_at": [now],
            "format": [asked.name],
            "kind": [asked.kind],
            "volume_ml": [asked.volume_ml],
            "headspace_ml": [headspace_ml],
            "closure": [asked.closure],
            "ingress_ppb_per_day": [asked.ingress],
            "oxygen_ppb": ["\n".join(f"{ppb:g}" for ppb in asked.oxygen)],
            "styles": ["\n".join(styles)],
        },
        schema_overrides={
            "headspace_ml": pl.Float64,
            "closure": pl.String,
            "ingress_ppb_per_day": pl.Float64,
        },
    )


def _lines(found: dict[str, pl.DataFrame], name: str) -> list[str]:
    row = found["new_formats"].row(by_predicate=pl.col("format") == name, named=True)
    return [
        *row["answer"].splitlines(),
        "What of it is data:",
        *(f"  {line}" for line in row["data"].splitlines()),
        "What is assumed:",
        *(f"  {line}" for line in row["assumed"].splitlines()),
        row["likeness"],
        "What would replace the assumption:",
        *(f"  {line}" for line in row["study"].splitlines()),
    ]
