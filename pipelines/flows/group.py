"""All breweries of a group at once, and the page that compares them.

Each keeps its own store and its own pages. What goes wrong with one is said on the page, and the
others go on.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.errors import AnalysisError
from dashboards.build_group import Store, build_group
from dashboards.errors import DashboardError
from pipelines.config import load_config
from pipelines.errors import ComputeError, ConfigError, PipelineError
from pipelines.flows.compute import computing
from pipelines.flows.fit import gather, record, work_out
from pipelines.flows.ingest import ingest
from pipelines.flows.lock import writers_lock
from pipelines.flows.publish import publish
from pipelines.flows.standing import standing_run

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    import polars as pl

    from pipelines.config import Config
    from pipelines.config.group import Group
    from pipelines.flows.fit import Gathered

FORESEEN = (PipelineError, AnalysisError, DashboardError)


@dataclass
class _Brewery:
    """One brewery on its way through the night."""

    name: str
    say: Callable[[str], None]
    config: Config | None = None
    gathered: Gathered | None = None
    frames: Mapping[str, pl.DataFrame] | None = None
    problem: str = ""


@dataclass(frozen=True)
class NotWorkedOut:
    """Why there are no results of a brewery."""

    reason: str


def run_group(group: Group, say: Callable[[str], None]) -> dict[str, str]:
    """Take in, fit and publish every brewery, then write the page that compares them.

    Args:
        group: The group.
        say: Takes each line for the person who waits.

    Returns:
        What went wrong, by brewery; empty where all went well.

    Raises:
        ConfigError: Two of them would write the same place.
        DashboardError: The group's page cannot be written.
    """
    breweries = [_configured(name, file, say) for name, file in group.breweries.items()]
    _refuse_shared(group, breweries)
    with ThreadPoolExecutor(len(breweries)) as pool:
        list(pool.map(_taken_in, breweries))
        _fitted(group, [b for b in breweries if b.gathered is not None])
        list(pool.map(_published, breweries))
    stores = [
        Store(
            b.name,
            None if b.config is None else b.config.paths.database,
            None if b.config is None else b.config.paths.pages,
            b.problem,
        )
        for b in breweries
    ]
    build_group(group.name, stores, group.pages)
    return {b.name: b.problem for b in breweries if b.problem}


def _configured(name: str, file: Path, say: Callable[[str], None]) -> _Brewery:
    brewery = _Brewery(name, lambda line: say(f"{name}: {line}"))
    try:
        brewery.config = load_config(file)
    except ConfigError as error:
        brewery.problem = str(error)
    return brewery


def _refuse_shared(group: Group, breweries: list[_Brewery]) -> None:
    """Refuse folders and stores that one would take from another."""
    taken = {group.pages.resolve(): "the group"}
    for brewery in breweries:
        if brewery.config is not None:
            paths = brewery.config.paths
            for path in (paths.pages.resolve(), paths.database.resolve()):
                if path in taken:
                    message = (
                        f"{brewery.name} and {taken[path]} would both write {path}: "
                        "give each its own under [paths]"
                    )
                    raise ConfigError(message)
                taken[path] = brewery.name


def _taken_in(brewery: _Brewery) -> None:
    """Take new files in, and what a fit needs out, if anything is new."""
    config = brewery.config
    if config is None:
        return
    try:
        with writers_lock(config.paths.database, "group"):
            ingest(config, brewery.say)
            standing = standing_run(config)
            if standing is None:
                brewery.gathered = gather(config, brewery.say)
            else:
                brewery.say(f"nothing new: the dates of run {standing} stand")
    except FORESEEN as error:
        brewery.problem = str(error)


def _fitted(group: Group, breweries: list[_Brewery]) -> None:
    gathered = [b.gathered for b in breweries if b.gathered is not None]
    try:
        with computing(group.compute, group.folder, group.name) as each:
            outcomes = list(each(try_work_out, gathered))
    except ComputeError as error:
        outcomes = [NotWorkedOut(str(error))] * len(breweries)
    for brewery, outcome in zip(breweries, outcomes, strict=True):
        if isinstance(outcome, NotWorkedOut):
            brewery.problem = outcome.reason
        else:
            brewery.frames = outcome


def try_work_out(gathered: Gathered) -> dict[str, pl.DataFrame] | NotWorkedOut:
    """Work out one brewery's dates, or say why not."""
    try:
        return work_out(gathered)
    except AnalysisError as error:
        return NotWorkedOut(str(error))
    except Exception as error:  # noqa: BLE001 - a bug met by one brewery must not stop the others
        return NotWorkedOut(f"{error!r}: stalecurve fit in its folder shows where this comes from")


def _published(brewery: _Brewery) -> None:
    """Record the run and write the brewery's own pages."""
    if brewery.config is None:
        return
    try:
        with writers_lock(brewery.config.paths.database, "group"):
            if brewery.frames is not None:
                record(brewery.config, brewery.frames, brewery.say)
            publish(brewery.config, brewery.say)
    except FORESEEN as error:
        brewery.problem = brewery.problem or str(error)
