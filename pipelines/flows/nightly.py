"""The nightly job as a Prefect flow: take files in, fit, publish.

The work itself is in plain functions that know no Prefect; this adds names, retries and a record
of each night. Import it after `start_prefect` alone: Prefect reads its environment on import.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from prefect import flow, task
from prefect.cache_policies import NO_CACHE

from pipelines.config import load_config
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.flows.progress import say, step
from pipelines.flows.publish import publish
from pipelines.flows.standing import standing_run

if TYPE_CHECKING:
    from prefect import Task
    from prefect.client.schemas.objects import State, TaskRun


def _out_of_reach(_task: Task[..., Any], _run: TaskRun, state: State[Any]) -> bool:
    """A shared folder that went away may come back; a fault in a file will not mend itself."""
    return isinstance(state.result(raise_on_failure=False), OSError)


@task(
    name="load",
    task_run_name="take new files in",
    retries=2,
    retry_delay_seconds=10,
    retry_condition_fn=_out_of_reach,
    cache_policy=NO_CACHE,
)
def load_task(config_file: str) -> None:
    """Take new files in."""
    with step("taking files in"):
        ingest(load_config(Path(config_file)), say)


@task(name="fit", task_run_name="fit and date", cache_policy=NO_CACHE)
def fit_task(config_file: str) -> None:
    """Fit, unless the newest run saw the same data, settings and code."""
    config = load_config(Path(config_file))
    standing = standing_run(config)
    if standing is not None:
        say(f"nothing new: the dates of run {standing} stand")
        return
    with step("fitting"):
        fit(config, say)


@task(name="publish", task_run_name="write the pages", cache_policy=NO_CACHE)
def publish_task(config_file: str) -> None:
    """Write the pages."""
    with step("writing the pages"):
        publish(load_config(Path(config_file)), say)


def _night() -> str:
    from prefect.runtime import flow_run

    config = load_config(Path(flow_run.parameters["config_file"]))
    now = datetime.now(ZoneInfo(config.brewery.timezone))
    return f"{config.brewery.name}, {now.day} {now:%b %Y, %H:%M}"


@flow(name="nightly", flow_run_name=_night)
def nightly(config_file: str) -> None:
    """Take new files in, fit when something changed, write the pages.

    Args:
        config_file: Path of the brewery's configuration: text, so that Prefect can keep it.

    Raises:
        PipelineError: From any step, as it was raised.
        AnalysisError: From the fit, as it was raised.
    """
    load_task(config_file)
    fit_task(config_file)
    publish_task(config_file)
