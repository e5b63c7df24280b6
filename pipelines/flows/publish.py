"""Write the pages of the newest run, with what is due on the day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboards.build import build
from pipelines.flows.field import write_field
from pipelines.flows.labels import write_labels
from pipelines.flows.lots import write_lots
from pipelines.flows.new_format import write_new_formats
from pipelines.flows.stock import write_stock
from pipelines.flows.week import day_of_brewery, write_week
from pipelines.store.answers import allow_notes
from pipelines.store.connect import need_store, open_store
from pipelines.store.migrate import migrate

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.config import Config


def publish(config: Config, say: Callable[[str], None]) -> tuple[Path, ...]:
    """Write every page and file anew and return them.

    Raises:
        StoreError: There is no database yet, or it cannot be opened.
        DashboardError: The folder for the pages holds something else.
    """
    prepare(config, say)
    written = build(config.paths.database, config.paths.pages)
    say(f"{len(written)} files of pages written")
    return written


def prepare(config: Config, say: Callable[[str], None]) -> None:
    """Work out what the pages say as of today: week, lots, stock, labels, new formats, field.

    Raises:
        StoreError: There is no database yet, or it cannot be opened.
    """
    need_store(config.paths.database)
    with open_store(config.paths.database) as connection:
        migrate(connection)  # what the pages may read follows the code
        clock = day_of_brewery(config)
        write_week(connection, config, clock)
        write_lots(connection, config, config.as_of or clock)
        write_stock(connection, config, config.as_of or clock, say)
        write_labels(connection, config, config.as_of or clock, say)
        write_new_formats(connection, config)
        allow_notes(connection, shown=config.complaints.show_notes)
        write_field(connection, config, config.as_of or clock)
