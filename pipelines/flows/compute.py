"""Where the work of a fit is done: in this thread, on this machine's cores, or on a Dask cluster.

`computing` gives the `each` that `analysis` asks for. Results are the same to the last digit: parts
are pure, come back in their order, and every worker calculates with as many BLAS threads as this
process.
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from importlib.util import find_spec
from multiprocessing import get_context
from typing import TYPE_CHECKING

from pipelines.errors import ComputeError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from analysis.each import Each
    from pipelines.config.compute import Compute


@contextmanager
def computing(compute: Compute, folder: Path, what: str) -> Iterator[Each]:
    """Give what applies a function to every part of some work, for as long as the block lasts.

    Args:
        compute: How the configuration wants it done.
        folder: The brewery's folder, where Prefect keeps its history.
        what: What is worked on, for the names of runs: the brewery.

    Raises:
        ComputeError: The cluster cannot be reached or used, or a worker process ended.
    """
    match compute.runner:
        case "here":
            yield map
        case "threads":
            with ThreadPoolExecutor(compute.workers) as pool:
                yield pool.map
        case "processes":
            # Spawned on every system: a forked process would inherit locks that threads hold.
            with ProcessPoolExecutor(compute.workers, get_context("spawn")) as pool:
                try:
                    yield pool.map
                except BrokenProcessPool as error:
                    message = (
                        "a worker process ended in the middle of its work, for want of memory "
                        'perhaps: set fewer workers under [compute], or runner = "threads"'
                    )
                    raise ComputeError(message) from error
        case _:
            if find_spec("prefect_dask") is None:
                message = (
                    'runner = "dask" needs the extra dask, which is not installed: '
                    "install the project with .[dask], or set another runner"
                )
                raise ComputeError(message)
            from pipelines.flows.cluster import each_on_cluster

            yield each_on_cluster(compute.scheduler, folder, what)
