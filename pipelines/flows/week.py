"""Work out what is due this week, for the pages."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import polars as pl

from analysis.week.files import late_files
from analysis.week.meters import due_meter_checks
from analysis.week.pulls import Tolerance, due_pulls
from analysis.week.retained import samples_to_go
from analysis.week.tastings import due_tastings
from pipelines.flows.policy import policy_of
from pipelines.store.week import known_for_week, replace_week

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    import duckdb

    from pipelines.config import Config


def day_of_brewery(config: Config) -> date:
    """Give the day that it is where the brewery's clocks stand."""
    return datetime.now(ZoneInfo(config.brewery.timezone)).date()


def write_week(connection: duckdb.DuckDBPyConnection, config: Config, clock: date) -> None:
    """Work out the lists of the week and put them in the place of the last ones.

    Args:
        connection: A migrated store opened for writing.
        config: The configuration; its `as_of`, where there is one, is taken for today.
        clock: The day that it is.

    Raises:
        StoreError: The store cannot be written.
    """
    today = config.as_of or clock
    known = known_for_week(connection)
    samples, tasted, lots = known["samples"], known["tasted"], known["lots"]
    plan = _plan(config, lots["style"].unique().sort())
    missed_after = config.pulls.missed_after_days
    named = lots.select("lot", "format", "beer", "style")
    pulls = due_pulls(
        samples,
        tasted,
        named,
        plan,
        Tolerance(config.pulls.tolerance_days, config.pulls.tolerance_share, missed_after),
        today,
    )
    tastings = due_tastings(
        samples,
        tasted,
        named,
        within_days=config.panel.taste_within_days,
        missed_after_days=missed_after,
        today=today,
    )
    meters = due_meter_checks(
        known["meters"],
        every_days=config.meters.check_every_days,
        at_rest_after_days=missed_after,
        today=today,
    )
    policy = policy_of(config)
    caps = [
        policy.of(style, beer=beer, format_=format_).cap_days
        for style, beer, format_ in lots.select("style", "beer", "format").iter_rows()
    ]
    retained = samples_to_go(
        samples,
        tasted,
        lots.with_columns(cap_days=pl.Series(caps, dtype=pl.Int32)),
        keep_days=config.retained.keep_days_past_date,
        today=today,
    )
    summary = {
        "today": today,
        "written_on": clock,
        "samples": samples.height,
        "planned": plan.height,
        "meters": known["meters"].height,
        "expected": len(config.expected),
        "pulls_missed": pulls.missed,
        "tastings_missed": tastings.missed,
        "meters_at_rest": meters.missed,
        "taste_within_days": config.panel.taste_within_days,
        "check_every_days": config.meters.check_every_days,
        "keep_days_past_date": config.retained.keep_days_past_date,
        "missed_after_days": missed_after,
    }
    replace_week(
        connection,
        {
            "summary": pl.DataFrame([summary]),
            "pulls": pulls.rows,
            "tastings": tastings.rows,
            "meter_checks": meters.rows,
            "retained": retained,
            "late_files": late_files(known["came"], config.expected, today),
        },
    )


def _plan(config: Config, styles: Iterable[str]) -> pl.DataFrame:
    rows = [
        (style, temperature, age)
        for style in styles
        for temperature, ages in config.pulls.of_style(style).items()
        for age in ages
    ]
    schema = {"style": pl.String, "plan_temp_c": pl.Float64, "age_days": pl.Int32}
    return pl.DataFrame(rows, schema=schema, orient="row")
