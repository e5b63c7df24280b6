"""Where the work of a fit is done; no result depends on it."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pipelines.config.section import Section

_SCHEDULER = re.compile(r"(tcp|tls)://[^\s/]+:\d+")


@dataclass(frozen=True)
class Compute:
    """How parts of the work that need not wait for each other are done.

    Attributes:
        runner: `here` (one after the other), `threads`, `processes` or `dask`.
        workers: threads or processes at once.
        scheduler: address of the Dask scheduler; empty where there is none.
    """

    runner: str
    workers: int
    scheduler: str


def compute_of(section: Section, default_runner: str) -> Compute:
    """Read and check `[compute]`."""
    compute = Compute(
        runner=section.choice("runner", default_runner, ("here", "threads", "processes", "dask")),
        workers=section.whole("workers", os.cpu_count() or 1, 1, 256),
        scheduler=str(
            section.checked(
                "scheduler",
                "",
                'the address of a Dask scheduler such as "tcp://10.0.0.5:8786"',
                lambda v: isinstance(v, str) and _SCHEDULER.fullmatch(v) is not None,
            )
        ),
    )
    section.close()
    if compute.runner == "dask" and "scheduler" not in section.values:
        section.faults.append(
            f"{section.where('scheduler')} is missing, expected the address of the Dask scheduler"
        )
    return compute
