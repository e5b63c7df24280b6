"""Fit the staling model to what the store holds, and keep what it says."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import polars as pl

from analysis.dating.assessment import Assessment, assess
from analysis.dating.assessor_days import assessor_days
from analysis.dating.doubt import effect_in_days
from analysis.dating.explanation import explain
from analysis.dating.gap import format_gaps
from analysis.dating.levers import bad_head_factor, levers
from analysis.dating.oxygen_days import change_days
from analysis.line.changes import change_report
from analysis.line.charts import ChartPlan, Period, oxygen_charts
from analysis.line.formats import format_ratios
from analysis.line.heads import head_report, surely_bad
from analysis.line.meters import meter_report, readings_in_doubt
from analysis.line.sources import source_report
from analysis.oxygen.ingress import ingress_table
from analysis.panel.names import alike_names, known_names
from analysis.staling.evidence import AGED
from analysis.staling.model import SEED
from pipelines.flows.assessors import alike_lines
from pipelines.flows.compute import computing
from pipelines.flows.panel import panel_report
from pipelines.flows.policy import assumptions_of, policy_of
from pipelines.flows.routes import route_report
from pipelines.flows.version import code_version
from pipelines.readers.names import did_you_mean
from pipelines.store.connect import need_store, open_store
from pipelines.store.fetch import fetch
from pipelines.store.migrate import migrate
from pipelines.store.results import record_run

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from analysis.dating.policy import Policy
    from analysis.each import Each
    from pipelines.config import Config
    from pipelines.config.charts import LimitsPeriod

TABLES = (
    "beers",
    "formats",
    "lots",
    "oxygen",
    "meter_checks",
    "assessors",
    "samples",
    "tastings",
    "difference_tests",
    "routes",
    "route_stages",
    "limits",
    "changes",
    "temperature_log",
)


@dataclass(frozen=True)
class FitSummary:
    """A run that was recorded: its number, `estimated` or `not estimated`, and why not."""

    run_id: int
    outcome: str
    reason: str | None


@dataclass(frozen=True)
class Gathered:
    """What a fit needs of a brewery, taken out of its store; can be sent to another process.

    Attributes:
        config: the configuration.
        tables: the input tables by name.
        load_id: the newest load that is in them; None before the first.
        started_at: when the run began, by the brewery's clock.
    """

    config: Config
    tables: Mapping[str, pl.DataFrame]
    load_id: int | None
    started_at: datetime

    def __str__(self) -> str:
        """Name the brewery, for a person who sees where it is worked on."""
        return f"brewery {self.config.brewery.name}"


def fit(config: Config, say: Callable[[str], None]) -> FitSummary:
    """Fit, date, and record the run; data that give no estimate are a run with a reason.

    Raises:
        StoreError: there is no database yet, or it cannot be read or written.
        ComputeError: the workers of the configuration cannot be reached or used.
        AnalysisError: the stored tables break their contract.
    """
    gathered = gather(config, say)
    with computing(config.compute, config.folder, config.brewery.name) as each:
        frames = work_out(gathered, each)
    return record(config, frames, say)


def gather(config: Config, say: Callable[[str], None]) -> Gathered:
    """Take out of the store what a fit needs.

    Raises:
        StoreError: there is no database yet, or it cannot be read.
    """
    need_store(config.paths.database)
    started_at = _now(config)
    with open_store(config.paths.database) as connection:
        migrate(connection)
        tables = {name: fetch(connection, name) for name in TABLES}
        ((load_id,),) = connection.sql("SELECT max(load_id) FROM intake.loads").fetchall()
    tables["tastings"] = known_names(tables["tastings"], tables["assessors"])
    alike = alike_names(tables["tastings"], tables["assessors"])
    for line in (*_misspelt(config, tables), *alike_lines(alike)):
        say(line)
    return Gathered(config, tables, load_id, started_at)


def work_out(gathered: Gathered, each: Each = map) -> dict[str, pl.DataFrame]:
    """Fit and date without a store; the same on every machine.

    Args:
        gathered: what the store held.
        each: spreads the parts of the work.

    Returns:
        The result tables by name; `runs` has one row.

    Raises:
        AnalysisError: the tables break their contract.
    """
    config, tables, policy = gathered.config, gathered.tables, policy_of(gathered.config)
    assumptions = assumptions_of(config)
    read = [tables]
    if (doubtful := readings_in_doubt(tables)).any():
        read.append({**tables, "oxygen": tables["oxygen"].filter(~doubtful)})
    with_them, *without = (assess(part, policy, assumptions, each) for part in read)
    assessment = without[0] if without and config.meters.leave_out_suspect else with_them
    frames = {**assessment.frames, **meter_report(tables, with_them.packages)}
    if without:
        frames["doubt_effects"] = effect_in_days(
            with_them.frames["dates"], without[0].frames["dates"]
        )
    targets = _targets(config, tables["formats"])
    frames |= oxygen_charts(assessment.packages, tables["lots"], targets, _chart_plan(config))
    frames |= _sources(assessment, tables, policy)
    frames |= _formats(assessment, tables, policy, frames["head_findings"])
    frames |= panel_report(tables, config)
    frames |= route_report(assessment, tables, policy, config)
    if assessment.model is not None:
        frames |= explain(assessment.model, tables, policy, config.site.attributes, each)
        frames["assessor_days"] = assessor_days(
            assessment.model, tables, assessment.routes, policy, each
        )
    run = _run_row(config, assessment, gathered.load_id)
    return {"runs": run.with_columns(started_at=gathered.started_at), **frames}


def _formats(
    assessment: Assessment,
    tables: Mapping[str, pl.DataFrame],
    policy: Policy,
    heads: pl.DataFrame,
) -> dict[str, pl.DataFrame]:
    """Set the formats side by side: their oxygen, and with a fit their days and what moves them."""
    oxygen = assessment.frames["lot_oxygen"]
    frames = {
        "ingress": ingress_table(oxygen, tables["lots"], tables["formats"]),
        "format_ratios": format_ratios(oxygen, tables["lots"]),
    }
    if assessment.model is not None:
        fitted = (assessment.model, assessment.cells, assessment.routes, policy)
        frames["format_gaps"] = format_gaps(*fitted)
        bad = surely_bad(heads).iter_rows()
        mended = {line: bad_head_factor(ratio, number) for line, ratio, number in bad}
        frames["levers"] = levers(*fitted, mended=mended)
    return frames


def _sources(
    assessment: Assessment, tables: Mapping[str, pl.DataFrame], policy: Policy
) -> dict[str, pl.DataFrame]:
    """Tell where the oxygen comes from and what changes did to it, in days where there is a fit."""
    changed = change_report(assessment.frames["lot_oxygen"], tables["lots"], tables["changes"])
    frames = {
        **source_report(assessment.packages),
        **head_report(assessment.packages, tables["changes"]),
        "change_oxygen": changed,
    }
    if assessment.model is not None:
        frames["change_days"] = change_days(
            assessment.model,
            assessment.cells,
            assessment.routes,
            assessment.frames["dose_lives"],
            policy,
            changed,
        )
    return frames


def record(
    config: Config, frames: Mapping[str, pl.DataFrame], say: Callable[[str], None]
) -> FitSummary:
    """Keep the result tables as a run.

    Raises:
        StoreError: the database cannot be written.
    """
    row = frames["runs"].with_columns(finished_at=_now(config))
    with open_store(config.paths.database) as connection:
        run_id = record_run(connection, {**frames, "runs": row})
    run = row.row(0, named=True)
    if run["reason"] is not None:
        say(f"run {run_id}: not estimated, because {run['reason']}")
    else:
        say(
            f"run {run_id}: {_count(run['verdicts'], 'verdict')} on {_count(run['lots'], 'lot')}, "
            f"{_count(frames['dates']['best_before_days'].count(), 'date')}"
        )
    return FitSummary(run_id, run["outcome"], run["reason"])


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"


def _now(config: Config) -> datetime:
    return datetime.now(ZoneInfo(config.brewery.timezone)).replace(tzinfo=None)


def _chart_plan(config: Config) -> ChartPlan:
    charts = config.charts

    def period(stated: LimitsPeriod) -> Period:
        return Period(stated.limits_from, stated.limits_until)

    return ChartPlan(
        period=period(charts.period),
        lines={line: period(own) for line, own in charts.lines.items()},
        formats={name: period(own) for name, own in charts.formats.items()},
        rules=charts.rules,
    )


def _targets(config: Config, formats: pl.DataFrame) -> pl.DataFrame:
    rows = [
        (name, kind, *config.targets.of(name, kind))
        for name, kind in formats.select("format", "kind").iter_rows()
    ]
    schema = {
        "format": pl.String,
        "kind": pl.String,
        "target_ppb": pl.Float64,
        "target_assumed": pl.Boolean,
    }
    return pl.DataFrame(rows, schema=schema, orient="row")


def _misspelt(config: Config, tables: Mapping[str, pl.DataFrame]) -> list[str]:
    """Say which names of the configuration no row has: a policy for nobody is a typing error."""
    named = (
        ("policy.beers", "beers", "beer", config.policy.beers),
        ("policy.styles", "beers", "style", config.policy.styles),
        ("policy.formats", "formats", "format", config.policy.formats),
        ("policy.markets", "routes", "market", config.policy.markets),
        ("pulls.styles", "beers", "style", config.pulls.styles),
        ("safety.validated", "beers", "beer", config.safety.validated),
        ("charts.lines", "lots", "line", config.charts.lines),
        ("charts.formats", "formats", "format", config.charts.formats),
        ("targets.formats", "formats", "format", config.targets.formats),
    )
    return [
        f"the configuration names {name} under {key}, but the table {table} has no such {column}"
        f"{did_you_mean(name, tables[table][column].drop_nulls().unique().sort())}"
        for key, table, column, names in named
        for name in names
        if name not in tables[table][column]
    ]


def _run_row(config: Config, assessment: Assessment, load_id: int | None) -> pl.DataFrame:
    model = assessment.model
    used = assessment.evidence.servings.filter(AGED)
    return pl.DataFrame(
        {
            "code_version": code_version(),
            "seed": SEED,
            "settings": json.dumps(config.settings(), sort_keys=True, ensure_ascii=False),
            "load_id": load_id,
            "brewery": config.brewery.name,
            "question": config.panel.question,
            "share_rejected": config.policy.share_rejected,
            "confidence": config.policy.confidence,
            "rounding": config.policy.rounding,
            "outcome": "not estimated" if model is None else "estimated",
            "reason": assessment.reason,
            "distribution": None if model is None else model.law.name,
            "activation_energy_kj_mol": (
                None if model is None else float(model.best.mode.effects[model.layout.energy])
            ),
            "oxygen_exponent": (
                None if model is None else float(model.best.mode.effects[model.layout.exponent])
            ),
            "verdicts": used.height,
            "rejected": used.filter(pl.col("verdict") == "reject").height,
            "lots": used.select("lot", "format").n_unique(),
            "assessors": used["assessor"].n_unique(),
        }
    )
