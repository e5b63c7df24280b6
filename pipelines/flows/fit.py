"""Fit the staling model to what the store holds, and keep what it says."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import polars as pl

from analysis.dating.assessment import Assessment, Assumptions, assess
from analysis.dating.doubt import effect_in_days
from analysis.dating.explanation import explain
from analysis.dating.oxygen_days import change_days
from analysis.dating.policy import Policy
from analysis.line.changes import change_report
from analysis.line.heads import head_report
from analysis.line.meters import meter_report, readings_in_doubt
from analysis.line.sources import source_report
from analysis.staling.evidence import AGED
from analysis.staling.model import SEED
from pipelines.errors import StoreError
from pipelines.flows.compute import computing
from pipelines.flows.version import code_version
from pipelines.readers.names import did_you_mean
from pipelines.store.connect import open_store
from pipelines.store.fetch import fetch
from pipelines.store.migrate import migrate
from pipelines.store.results import record_run

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from analysis.each import Each
    from pipelines.config import Config

TABLES = (
    "beers",
    "formats",
    "lots",
    "oxygen",
    "meter_checks",
    "samples",
    "tastings",
    "routes",
    "route_stages",
    "limits",
    "changes",
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
    if not config.paths.database.exists():
        message = f"there is no {config.paths.database.name} yet: run stalecurve load first"
        raise StoreError(message)
    started_at = _now(config)
    with open_store(config.paths.database) as connection:
        migrate(connection)
        tables = {name: fetch(connection, name) for name in TABLES}
        ((load_id,),) = connection.sql("SELECT max(load_id) FROM intake.loads").fetchall()
    for line in _misspelt(config, tables["beers"]):
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
    config, tables, policy = gathered.config, gathered.tables, _policy(gathered.config)
    assumptions = Assumptions(
        before_placing_c=config.storage.before_placing_c,
        shaken_temperature_c=config.oxygen.shaken_temperature_c,
        late_after_minutes=config.oxygen.late_after_minutes,
        asked_since=config.panel.asked_since,
    )
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
    frames |= _sources(assessment, tables, policy)
    if assessment.model is not None:
        frames |= explain(assessment.model, tables, policy, config.site.attributes, each)
    run = _run_row(config, assessment, gathered.load_id)
    return {"runs": run.with_columns(started_at=gathered.started_at), **frames}


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
            assessment.model, assessment.cells, assessment.routes, policy, changed
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


def _policy(config: Config) -> Policy:
    return Policy(
        share_rejected=config.policy.share_rejected,
        confidence=config.policy.confidence,
        rounding=config.policy.rounding,
        cap_days=config.policy.cap_days,
        cap_days_by_style={style: own.cap_days for style, own in config.policy.styles.items()},
        cap_at_oldest_tasted=config.policy.cap_at_oldest_tasted,
        validated=frozenset(config.safety.validated),
    )


def _misspelt(config: Config, beers: pl.DataFrame) -> list[str]:
    """Say which names of the configuration no beer has: a policy for nobody is a typing error."""
    named = (
        ("policy.styles", "style", config.policy.styles),
        ("pulls.styles", "style", config.pulls.styles),
        ("safety.validated", "beer", config.safety.validated),
    )
    return [
        f"the configuration names {name} under {key}, but the table beers has no such {column}"
        f"{did_you_mean(name, beers[column].unique().sort())}"
        for key, column, names in named
        for name in names
        if name not in beers[column]
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
