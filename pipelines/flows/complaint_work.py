"""A complaint worked out in a process of its own.

The libraries behind the statistics take long to load. So they load in one process while this one
looks through the inbox and sets a sheet for practice.
"""

from __future__ import annotations

import gc
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from functools import partial
from importlib import import_module
from multiprocessing import active_children, get_context
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

    from pipelines.config import Config
    from pipelines.flows.complaint_asked import Asked

    Record = dict[str, Any]
    Work = Callable[[Asked | str, int, datetime, Config], Callable[[], Record]]

_SELDOM = 100_000  # objects made between two looks for rubbish; the usual number is 700


@contextmanager
def beside() -> Iterator[Work]:
    """Give what works an answer out in another process, as `work_out` does.

    It returns at once, with what waits for the record. An error ends the other process too.
    """
    with _little_looking_for_rubbish(), ProcessPoolExecutor(1, get_context("spawn")) as pool:
        pool.submit(_load)

        def work(
            asked: Asked | str, number: int, at: datetime, config: Config
        ) -> Callable[[], Record]:
            here = at_hand(asked, number, at, config)
            try:
                found = pool.submit(work_out, asked, number, at, config)
            except BrokenProcessPool:  # for want of memory, perhaps
                return here

            def wait() -> Record:
                try:
                    record = found.result()
                except BrokenProcessPool:
                    record = here()
                pool.shutdown(wait=False)  # it may end while the PDF is set
                return record

            return wait

        try:
            yield work
        except BaseException:
            for child in active_children():  # nobody waits for what it loads
                child.terminate()
            raise


@contextmanager
def _little_looking_for_rubbish() -> Iterator[None]:
    """Spare the tenth of the time that it takes: an answer is too short for much of it."""
    usual = gc.get_threshold()
    gc.set_threshold(_SELDOM)
    try:
        yield
    finally:
        gc.set_threshold(*usual)


def at_hand(asked: Asked | str, number: int, at: datetime, config: Config) -> Callable[[], Record]:
    """Work an answer out in this process, when its record is waited for."""
    return partial(work_out, asked, number, at, config)


def work_out(asked: Asked | str, number: int, at: datetime, config: Config) -> Record:
    """Work an answer out from what the store holds.

    Args:
        asked: The complaint as it was typed in, or its name in the table complaints.
        number: The number that the answer will have.
        at: When it is given, by the brewery's clock.
        config: The configuration.

    Returns:
        The record, which holds nothing but texts, numbers, lists and objects.

    Raises:
        StoreError: There is no such complaint, beer or format.
    """
    from pipelines.flows.complaint_asked import from_table
    from pipelines.flows.complaint_record import At, record_of
    from pipelines.flows.week import day_of_brewery
    from pipelines.store.connect import open_store
    from pipelines.store.fetch import fetch

    with open_store(config.paths.database, read_only=True) as connection:
        if isinstance(asked, str):
            asked = from_table(asked, fetch(connection, "complaints"))
        today = config.as_of or day_of_brewery(config)
        return record_of(asked, At(number, at, today), connection, config)


def _load() -> None:
    """Load all that will be needed, also what would load when it is first used."""
    gc.set_threshold(_SELDOM)
    for name in ("pipelines.flows.complaint_record", "pyarrow"):
        import_module(name)
