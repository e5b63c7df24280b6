"""The nightly and the quarterly job at their times, under a Prefect server of their own."""

from __future__ import annotations

import asyncio
import signal
from contextlib import ExitStack
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from pipelines.errors import PipelineError
from pipelines.flows.lock import acquired, holder_of, leave_word
from pipelines.flows.prefect_home import HOME, prefect_environment, settle
from pipelines.flows.progress import say, step
from pipelines.flows.server import HOST, free_port, running_server

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from prefect.client.schemas.objects import State
    from prefect.deployments.runner import RunnerDeployment

    from pipelines.config import Config
    from pipelines.config.schedule import Schedule


def serve_schedule(config: Config, config_file: Path) -> None:
    """Run the jobs at their times until the process is told to stop.

    The server has a home of its own beside that of `stalecurve run`, for two on one record may
    break each other. The writer's lock is left to the jobs: nothing is held while none is due.

    Raises:
        PipelineError: The schedule is at work already, or the server does not start.
    """
    home = config.folder / HOME / "schedule"
    place = home / "schedule.lock"
    lock = acquired(place, "stalecurve schedule")
    if lock is None:
        message = f"one schedule is enough for a brewery, and there is {holder_of(place)}"
        raise PipelineError(message)
    try:
        port = free_port(config.schedule.port)
        address = f"http://{HOST}:{port}"
        settle(_environment(home, address))
        with ExitStack() as stack:
            with step("starting Prefect"):
                stack.enter_context(running_server(port))
            leave_word(place, f"stalecurve schedule, its run history at {address}")
            asyncio.run(_serve(config.schedule, str(config_file.resolve()), address))
    finally:
        lock.release()


def quarterly_rule(time_of_day: str) -> str:
    """Give the rule for working day 8 of January, April, July and October; a holiday counts."""
    hour, minute = time_of_day.split(":")
    return (
        "FREQ=MONTHLY;BYMONTH=1,4,7,10;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=8;"
        f"BYHOUR={int(hour)};BYMINUTE={int(minute)};BYSECOND=0"
    )


def _environment(home: Path, address: str) -> dict[str, str]:
    return prefect_environment(home) | {
        "PREFECT_API_URL": f"{address}/api",
        "PREFECT_UI_API_URL": f"{address}/api",
        "PREFECT_SERVER_UI_API_URL": f"{address}/api",
        "PREFECT_SERVER_UI_STATIC_DIRECTORY": str(home / "ui"),
        # What a run says is kept with it; the terminal has it already.
        "PREFECT_LOGGING_LEVEL": "INFO",
        "PREFECT_LOGGING_HANDLERS_CONSOLE_LEVEL": "CRITICAL",
        # A folder of the brewery's named as one of our packages must not hide it from a run.
        "PYTHONSAFEPATH": "1",
    }


async def _serve(when: Schedule, config_file: str, address: str) -> None:
    from prefect import aserve
    from prefect.schedules import Cron, RRule
    from prefect.types.entrypoint import EntrypointType

    from pipelines.flows.nightly import nightly, quarterly

    rule = quarterly_rule(when.quarterly_at)
    jobs = [
        await job.ato_deployment(
            name=name,
            schedule=schedule,
            parameters={"config_file": config_file},
            entrypoint_type=EntrypointType.MODULE_PATH,  # found from any folder
        )
        for job, name, schedule in (
            (nightly, "every night", Cron(when.nightly, timezone=when.timezone)),
            (quarterly, "every quarter", RRule(rule, timezone=when.timezone)),
        )
    ]
    await _catch_up(jobs)
    _end_alike()
    say(f"nightly: {when.nightly} by the clock of {when.timezone}")
    say(f"quarterly: working day 8 of January, April, July and October at {when.quarterly_at}")
    say(f"run history: {address}")
    await aserve(*jobs, limit=1, pause_on_shutdown=False, print_starting_message=False)


def _end_alike() -> None:
    """Let Ctrl-C, and Ctrl-Break on Windows, end the runs as orderly as Prefect does on SIGTERM."""
    for key in ("SIGINT", "SIGBREAK"):
        if hasattr(signal, key):
            signal.signal(getattr(signal, key), lambda *_: signal.raise_signal(signal.SIGTERM))


async def _catch_up(jobs: Sequence[RunnerDeployment]) -> None:
    """Run a job once, now, that was due or at work while the machine or the schedule was off."""
    from prefect.client.orchestration import get_client
    from prefect.client.schemas.filters import FlowRunFilter
    from prefect.client.schemas.objects import TERMINAL_STATES
    from prefect.states import Cancelled, Crashed

    open_and_past = FlowRunFilter.model_validate(
        {
            "state": {"type": {"not_any_": TERMINAL_STATES}},
            "expected_start_time": {"before_": datetime.now(UTC)},
        }
    )
    async with get_client() as client:
        left = await client.read_flow_runs(flow_run_filter=open_and_past)
        for run in left:
            if run.start_time is None:
                await client.set_flow_run_name(run.id, "missed")
                state: State[None] = Cancelled(name="Missed", message="the schedule was off")
            else:
                state = Crashed(message="the schedule ended before it did")
            await client.set_flow_run_state(run.id, state, force=True)
        for job in jobs:
            identity = await job.aapply()
            if any(run.deployment_id == identity for run in left):
                await client.create_flow_run_from_deployment(identity)
