"""The workers of a Dask cluster: looked at first, then given the parts of the work.

They speak to the scheduler alone. They must have this very code and as many BLAS threads as this
process, for else a last digit could differ and nobody would know.
"""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, TypeVar

from distributed import Client

from pipelines.errors import ComputeError
from pipelines.flows.prefect_home import start_prefect
from pipelines.flows.version import code_version

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from analysis.each import Each

    Part = TypeVar("Part")
    Result = TypeVar("Result")

_ANSWERS_WITHIN_SECONDS = 5


def each_on_cluster(scheduler: str, folder: Path, what: str) -> Each:
    """Give what sends every part of some work to the workers of a cluster.

    Args:
        scheduler: Its address, such as `tcp://10.0.0.5:8786`.
        folder: The brewery's folder, where Prefect keeps its history.
        what: What is worked on, for the names of runs.

    Raises:
        ComputeError: The scheduler does not answer, or its workers are missing or unfit.
        PipelineError: Prefect does not start.
    """
    _look_at(scheduler)
    if "prefect" not in sys.modules:  # within the nightly flow it has been started
        start_prefect(folder)
    from pipelines.flows.cluster_flow import send_out

    def each(work: Callable[[Part], Result], parts: Iterable[Part], /) -> list[Result]:
        sent = list(parts)
        return send_out(scheduler, what, work, sent) if sent else []

    return each


def _look_at(scheduler: str) -> None:
    try:
        with Client(  # type: ignore[no-untyped-call]
            scheduler, timeout=_ANSWERS_WITHIN_SECONDS, set_as_default=False
        ) as client:
            workers = client.run(fitness, on_error="return")
    except OSError as error:
        message = (
            f"the Dask scheduler {scheduler} does not answer: start it, mend its address under "
            '[compute], or set runner = "threads"'
        )
        raise ComputeError(message) from error
    if not workers:
        message = (
            f"the Dask scheduler {scheduler} has no workers: start some with "
            f"dask worker {scheduler} --nthreads 1"
        )
        raise ComputeError(message)
    code, blas_threads = fitness()
    for worker, found in workers.items():
        if not isinstance(found, tuple) or found[0] != code:
            message = (
                f"the Dask worker {worker} has another stalecurve than this machine, or none: "
                f"install {code} there, so that results are the same"
            )
            raise ComputeError(message)
        if found[1] != blas_threads:
            message = (
                f"the Dask worker {worker} was started with OPENBLAS_NUM_THREADS "
                f"{found[1] or 'not set'}: set it to {blas_threads} there, so that results are "
                "the same"
            )
            raise ComputeError(message)


def fitness() -> tuple[str, str | None]:
    """Say what must be the same everywhere: the code, and the threads of BLAS."""
    return code_version(), os.environ.get("OPENBLAS_NUM_THREADS")
