"""The nightly and the quarterly job as Prefect flows: take files in, fit, publish, review.

The work itself is in plain functions that know no Prefect; this adds names, retries, the writer's
lock and a record of each run. Import it once Prefect's environment is set: it is read on import.
"""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from prefect import flow, get_run_logger, task
from prefect.cache_policies import NO_CACHE

from pipelines.config import default_config, load_config
from pipelines.errors import AnswerError, ConfigError
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.flows.lock import writers_lock
from pipelines.flows.progress import say, step
from pipelines.flows.publish import publish
from pipelines.flows.review import review
from pipelines.flows.standing import standing_run

if TYPE_CHECKING:
    from prefect import Flow, Task
    from prefect.client.schemas.objects import FlowRun, State, TaskRun


def _say_and_record(line: str) -> None:
    """Say a line to whoever is at the terminal, and keep it with the run for later."""
    say(line)
    get_run_logger().info(line)


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
        ingest(load_config(Path(config_file)), _say_and_record)


@task(name="fit", task_run_name="fit and date", cache_policy=NO_CACHE)
def fit_task(config_file: str, *, anew: bool) -> None:
    """Fit, unless the newest run saw the same data, settings and code and none is asked anew."""
    config = load_config(Path(config_file))
    standing = None if anew else standing_run(config)
    if standing is not None:
        _say_and_record(f"nothing new: the dates of run {standing} stand")
        return
    with step("fitting"):
        fit(config, _say_and_record)


@task(name="publish", task_run_name="write the pages", cache_policy=NO_CACHE)
def publish_task(config_file: str) -> None:
    """Write the pages."""
    with step("writing the pages"):
        publish(load_config(Path(config_file)), _say_and_record)


@task(name="review", task_run_name="review the quarter", cache_policy=NO_CACHE)
def review_task(config_file: str) -> None:
    """Make the review of the quarter that has ended; one without data is no failure."""
    try:
        review(None, load_config(Path(config_file)), _say_and_record)
    except AnswerError as error:
        _say_and_record(f"no review: {error}")


def _name_of_run() -> str:
    from prefect.runtime import flow_run

    file = Path(flow_run.parameters["config_file"])
    try:
        config = load_config(file)
    except ConfigError:  # the run itself fails for it and says why
        config = default_config(file.parent)
    now = datetime.now(ZoneInfo(config.brewery.timezone))
    quarter = "quarter, " if flow_run.flow_name == "quarterly" else ""
    return f"{config.brewery.name or file.parent.name}, {quarter}{now.day} {now:%b %Y, %H:%M}"


def _say_why(flow: Flow[..., Any], flow_run: FlowRun, state: State[Any]) -> None:  # noqa: ARG001
    """Say why a run failed that was started by the schedule: nobody else catches its error."""
    if flow_run.deployment_id is not None:
        say(f"{flow_run.name} failed: {state.result(raise_on_failure=False)}")


@flow(name="nightly", flow_run_name=_name_of_run, on_failure=[_say_why])
def nightly(config_file: str) -> None:
    """Take new files in, fit when something changed, write the pages.

    Args:
        config_file: Path of the brewery's configuration: text, so that Prefect can keep it.

    Raises:
        PipelineError: From any step, as it was raised.
        AnalysisError: From the fit, as it was raised.
    """
    _whole_job(config_file, "nightly run", anew=False)


@flow(name="quarterly", flow_run_name=_name_of_run, on_failure=[_say_why])
def quarterly(config_file: str) -> None:
    """Take new files in, fit anew whether or not something changed, write the pages, review.

    Args:
        config_file: As for the nightly job.

    Raises:
        PipelineError: From any step, as it was raised.
        AnalysisError: From the fit, as it was raised.
    """
    _whole_job(config_file, "quarterly run", anew=True)
    review_task(config_file)


def _whole_job(config_file: str, purpose: str, *, anew: bool) -> None:
    with writers_lock(load_config(Path(config_file)).paths.database, purpose):
        try:
            load_task(config_file)
            fit_task(config_file, anew=anew)
        except Exception:
            # What is known is shown all the same, and the week as of today.
            with suppress(Exception):
                publish_task(config_file)
            raise
        publish_task(config_file)
