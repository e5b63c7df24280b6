"""Plan the next study of a style in a format: simulate it, and write down its pulls."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.dating.assessment import assess
from analysis.dating.neighbours import additions, neighbours
from analysis.dating.plan import plan
from analysis.line.meters import readings_in_doubt
from analysis.staling.foresight import foresee
from pipelines.flows.calendar import refuse_taken, write_calendar
from pipelines.flows.compute import computing
from pipelines.flows.fit import TABLES
from pipelines.flows.plan_words import plan_lines
from pipelines.flows.policy import assumptions_of, policy_of
from pipelines.flows.progress import step
from pipelines.flows.study import checked, package_of, panel_of, storages, study_of, target_of
from pipelines.flows.week import day_of_brewery
from pipelines.store.connect import need_store, open_store
from pipelines.store.fetch import fetch
from pipelines.store.migrate import refuse_other_shapes

if TYPE_CHECKING:
    from collections.abc import Callable

    import polars as pl

    from pipelines.config import Config
    from pipelines.flows.study import Asked


def make_plan(config: Config, asked: Asked, say: Callable[[str], None]) -> None:
    """Simulate a study, say what it would bring, and write its pulls into a workbook.

    Args:
        config: The configuration.
        asked: The study.
        say: Takes each line of the answer.

    Raises:
        StoreError: There is no store, or it has no such style, format, route or lot; the message
            gives the nearest. Or its beer has too little alcohol for a date.
        ReadError: The workbook is there already, is named as none, or cannot be written.
        ComputeError: The workers of the configuration cannot be reached or used.
        AnalysisError: The study makes no sense, or no simulated one settled.
    """
    if asked.calendar is not None:
        refuse_taken(asked.calendar)
    tables, today = _tables(config), config.as_of or day_of_brewery(config)
    checked(asked, tables, policy_of(config))
    package = package_of(asked, tables)
    stored = storages(asked, config, package)
    with computing(config.compute, config.folder, config.brewery.name) as each:
        with step("fitting what the store holds"):
            found = assess(tables, policy_of(config), assumptions_of(config), each)
        target = target_of(asked, found, tables, policy_of(config))
        panel = panel_of(tables, found.evidence, today)
        study, spare = study_of(asked, config, stored, panel, tables, today)
        before = foresee(found.model, study.style, study.format, (*study.assessors, *spare))
        with step(f"simulating {asked.studies} studies"):
            outlook = plan(study, before, target, asked.studies, each)
        offered = storages(asked, config, package, more=True)
        added = list(
            additions(
                study,
                target.route.last_temp_c,
                {arm.temp_c: arm.pulls for arm, at in offered if at.left_out is None},
                spare,
            )
        )
        with step(f"simulating {len(added)} larger ones, each {asked.studies} times"):
            larger = neighbours(outlook, added, before, target, each)
    places = [at for _, at in stored]
    for line in plan_lines(outlook, larger, target, places, package, found.reason, asked.wish_days):
        say(line)
    if asked.calendar is not None:
        write_calendar(asked.calendar, study, asked.named, tables["samples"], config, say)


def _tables(config: Config) -> dict[str, pl.DataFrame]:
    """What the store holds, without the readings that a run of this configuration leaves out."""
    need_store(config.paths.database)
    with open_store(config.paths.database, read_only=True) as connection:
        refuse_other_shapes(connection)
        tables = {name: fetch(connection, name) for name in TABLES}
    if config.meters.leave_out_suspect:
        doubtful = readings_in_doubt(tables)
        tables["oxygen"] = tables["oxygen"].filter(~doubtful)
    return tables
