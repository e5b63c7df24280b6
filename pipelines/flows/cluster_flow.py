"""Parts of the work sent out by Prefect's Dask task runner, each with a name in the run history.

The task that bears a part's name runs here and waits for the part, so that workers on other
machines need not reach Prefect's server, which listens to this machine alone. A part whose worker
goes away is given to another by the scheduler. Import it after `start_prefect` alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar
from uuid import uuid4

from distributed import CancelledError, KilledWorker
from prefect import flow, task
from prefect.cache_policies import NO_CACHE
from prefect.context import get_run_context
from prefect.utilities.annotations import quote
from prefect_dask.task_runners import DaskTaskRunner

from pipelines.errors import ComputeError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from distributed import Client

    Part = TypeVar("Part")
    Result = TypeVar("Result")

_LOOKS_EVERY_SECONDS = 30


def send_out(
    scheduler: str, what: str, work: Callable[[Part], Result], parts: Sequence[Part]
) -> list[Result]:
    """Apply a function to every part on the workers of a cluster.

    Args:
        scheduler: Its address.
        what: What is worked on, for the name of the flow's run.
        work: A function of a module that the workers have.
        parts: What it is applied to, one or more; their `str` names the tasks.

    Returns:
        The results, in the order of the parts.

    Raises:
        ComputeError: The cluster went away, or one part ended worker after worker.
    """

    @flow(
        name="send out",
        flow_run_name=f"{what}: {parts[0]} and {len(parts) - 1} more",
        task_runner=DaskTaskRunner(address=scheduler),  # type: ignore[arg-type]
    )
    def sent_out() -> list[Result]:
        client: Client = get_run_context().task_runner.client  # type: ignore[union-attr]
        futures = [client.submit(work, part, key=f"{part}, {uuid4()}") for part in parts]
        results: list[Any] = [
            wait_for.with_options(task_run_name=str(part))(quote(future))
            for part, future in zip(parts, futures, strict=True)
        ]
        return results

    return sent_out()


@task(name="wait for a part", cache_policy=NO_CACHE, persist_result=False)
def wait_for(future: Any) -> object:  # noqa: ANN401 - Dask's future has no one type
    """Give the result of a part once a worker has it.

    Raises:
        ComputeError: No worker is left, or the scheduler is gone.
    """
    while True:
        try:
            return future.result(timeout=_LOOKS_EVERY_SECONDS)
        except TimeoutError as error:
            if not future.client.scheduler_info()["workers"]:
                message = "no Dask worker is left that could go on: start some, and then again"
                raise ComputeError(message) from error
        except (CancelledError, KilledWorker, OSError) as error:
            message = f"the Dask cluster went away in the middle of the work: {error}"
            raise ComputeError(message) from error
