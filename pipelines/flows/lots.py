"""Judge lots by their oxygen: one that somebody asks about, and at publishing the newest ones."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import polars as pl

from analysis.dating.dose_lives import dose_lives_of
from analysis.dating.lot_today import Background, judge_lots
from analysis.dating.routes import routes_of
from analysis.line.meters import readings_in_doubt
from analysis.oxygen.dose import lot_oxygen
from analysis.oxygen.packages import package_oxygen
from pipelines.flows.lot_words import advice, answer, remark
from pipelines.flows.policy import policy_of
from pipelines.store.fetch import fetch
from pipelines.store.lots import asked_lots, known_lots, of_newest_run, samples_in_storage
from pipelines.store.week import replace_week

if TYPE_CHECKING:
    from datetime import date

    import duckdb

    from pipelines.config import Config

RECENT_DAYS = 90
"""Lots packaged, or asked about, within so many days are looked at with each publishing."""

_PACKAGE = (
    *("lot", "format", "measured_at", "reading", "head", "run_position", "meter", "basis"),
    *("lower_ppb", "upper_ppb", "late", "shaken", "below"),
)


def judged(
    connection: duckdb.DuckDBPyConnection,
    config: Config,
    wanted: pl.DataFrame,
    today: date,
) -> dict[str, pl.DataFrame]:
    """Judge lots by what the store holds now, readings newer than the newest run included.

    Args:
        connection: A migrated store.
        config: The configuration.
        wanted: Rows of `known_lots`.
        today: The day that it is.

    Returns:
        `lots`, one row a lot and format, with what is said of it, and `lot_packages`, the packages
        that were read; as the tables of `this_week`, but for asked_on.
    """
    every, formats = known_lots(connection), fetch(connection, "formats")
    tables = {name: fetch(connection, name) for name in ("oxygen", "meter_checks")}
    readings = tables["oxygen"]
    if config.meters.leave_out_suspect:
        readings = readings.filter(~readings_in_doubt(tables))
    shaken_c = config.oxygen.shaken_temperature_c
    packages = package_oxygen(
        readings,
        every,
        formats,
        shaken_temperature_c=shaken_c,
        late_after_minutes=config.oxygen.late_after_minutes,
    )
    behind = Background(
        dates=of_newest_run(connection, "dates"),
        lives=dose_lives_of(of_newest_run(connection, "dose_lives")),
        charts=of_newest_run(connection, "oxygen_charts"),
        routes=routes_of(fetch(connection, "routes"), fetch(connection, "route_stages")),
        limits=fetch(connection, "limits"),
        samples=samples_in_storage(connection, today),
        policy=policy_of(config),
    )
    oxygen = lot_oxygen(packages, every, formats, shaken_temperature_c=shaken_c)
    found = judge_lots(wanted.drop("packages"), oxygen, packages, behind)
    late_after = config.oxygen.late_after_minutes
    said = [
        {
            "answer": answer(lot),
            "advice": "\n".join(advice(lot, today, late_after)),
            "remark": remark(lot),
        }
        for lot in found.iter_rows(named=True)
    ]
    words = dict.fromkeys(("answer", "advice", "remark"), pl.String)
    return {
        "lots": found.hstack(pl.DataFrame(said, schema=words)).with_columns(judged_on=today),
        "lot_packages": packages.join(wanted, on=["lot", "format"], how="semi").select(_PACKAGE),
    }


def write_lots(connection: duckdb.DuckDBPyConnection, config: Config, today: date) -> None:
    """Judge the newest lots, and keep those that need a look or that somebody asked about.

    Args:
        connection: A migrated store opened for writing.
        config: The configuration.
        today: The day that it is.

    Raises:
        StoreError: The store cannot be written.
    """
    since = today - timedelta(days=RECENT_DAYS)
    asked = asked_lots(connection, since)
    wanted = known_lots(connection).filter(
        pl.col("packaged_on").is_between(since, today) | pl.col("lot").is_in(asked["lot"].to_list())
    )
    frames = judged(connection, config, wanted, today)
    kept = (
        frames["lots"]
        .join(asked, on="lot", how="left")
        .filter(flagged() | pl.col("asked_on").is_not_null())
    )
    packages = frames["lot_packages"].join(kept, on=["lot", "format"], how="semi")
    replace_week(connection, {"lots": kept, "lot_packages": packages})


def flagged() -> pl.Expr:
    """Tell which lots need a look: their date does not hold, or they are above their line."""
    return (pl.col("verdict") == "shorten") | pl.col("above_line").fill_null(value=False)
