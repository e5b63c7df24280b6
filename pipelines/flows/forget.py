"""Take back the newest load of a file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipelines.errors import StoreError
from pipelines.flows.inbox import file_named
from pipelines.flows.ingest import now
from pipelines.flows.set_aside import write_set_aside
from pipelines.flows.version import code_version
from pipelines.readers.names import did_you_mean
from pipelines.store.connect import need_store, open_store
from pipelines.store.forgotten import forget_load, newest_loads
from pipelines.store.intake import Begun
from pipelines.store.migrate import migrate

if TYPE_CHECKING:
    from collections.abc import Callable

    from pipelines.config import Config

_WORDS = {
    "gone": "gone",
    "older": "as they were before",
    "back": "back that it had withdrawn",
    "stand": "standing all the same",
}


def forget(file: str, config: Config, say: Callable[[str], None]) -> None:
    """Take back what the newest load of a file said, and say what stands in its place.

    Nothing is deleted. The file is not taken in again until its content changes, or until it is
    confirmed.

    Args:
        file: Its path in the inbox, or a path from here; the file itself may be gone.
        config: The configuration.
        say: Takes each line.

    Raises:
        StoreError: No load of such a file is left to take back, or there is no store.
    """
    need_store(config.paths.database)
    started_at = now(config)
    with open_store(config.paths.database) as connection:
        migrate(connection)
        loads = newest_loads(connection)
        meant = file_named(file, loads, config)
        if meant is None:
            message = f"no load of {file} is left to take back{did_you_mean(file, loads)}"
            raise StoreError(message)
        file = meant
        begun = Begun(started_at, now(config), code_version())
        done = forget_load(connection, file, loads[file], begun)
        say(f"load {done.load_id}: what load {done.said_in} read of {file} is taken back")
        for row in done.tables.iter_rows(named=True):
            counts = [f"{row[became]} {words}" for became, words in _WORDS.items() if row[became]]
            say(f"{row['table_name']}: {', '.join(counts)}")
        if done.tables.is_empty():
            say("no stored row rests on it")
        quoted = f'"{file}"' if " " in file else file
        say(f"stalecurve load --confirm {quoted} takes it in again")
        write_set_aside(connection, config, say)
