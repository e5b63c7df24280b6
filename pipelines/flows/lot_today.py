"""Answer whether one lot may carry its usual date: newest files first, a line, and a page."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from dashboards.build import build_page
from dashboards.pages import lot as lot_page
from pipelines.errors import StoreError
from pipelines.flows.ingest import ingest
from pipelines.flows.lock import writers_lock
from pipelines.flows.lot_words import line_of
from pipelines.flows.lots import judged
from pipelines.flows.week import day_of_brewery
from pipelines.readers.names import did_you_mean
from pipelines.store.connect import open_store
from pipelines.store.lots import known_lots, replace_lot
from pipelines.store.migrate import refuse_other_shapes

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date
    from pathlib import Path

    from pipelines.config import Config

PATIENCE_SECONDS = 20.0
"""How long somebody at the line waits for a night at work before the inbox is left alone."""


def answer_lot(
    lot: str,
    format_: str | None,
    config: Config,
    say: Callable[[str], None],
    remark: Callable[[str], None],
) -> Path | None:
    """Take the newest files in and answer, a line for each format of the lot.

    While another command is at work on the store, its work is not waited for longer than a moment:
    the answer then rests on what was taken in before, and there is no page.

    Args:
        lot: The lot.
        format_: One of its formats; None for all of them.
        config: The configuration.
        say: Takes each line of the answer.
        remark: Takes what happened on the way.

    Returns:
        The page; None where none was written.

    Raises:
        StoreError: There is no such lot, or it was not filled into that format, or there is no
            store; the message gives the nearest.
        ReadError: There is no inbox.
    """
    try:
        with writers_lock(config.paths.database, "lot", wait_seconds=PATIENCE_SECONDS):
            ingest(config, remark)
    except StoreError as error:
        if not config.paths.database.exists():
            raise
        remark(f"{error}. The inbox is not read: this rests on what was taken in before.")
        _answered(lot, format_, config, say)
        return None
    frames = _answered(lot, format_, config, say)
    with writers_lock(config.paths.database, "lot"):
        with open_store(config.paths.database) as connection:
            replace_lot(connection, lot, frames)
        return build_page(
            config.paths.database, config.paths.pages, lambda found: lot_page.page(found, lot)
        )


def _answered(
    lot: str, format_: str | None, config: Config, say: Callable[[str], None]
) -> dict[str, pl.DataFrame]:
    today = config.as_of or day_of_brewery(config)
    with open_store(config.paths.database, read_only=True) as connection:
        refuse_other_shapes(connection)
        every = known_lots(connection)
        wanted = wanted_lots(lot, format_, every)
        frames = judged(connection, config, wanted, today)
    for found in frames["lots"].iter_rows(named=True):
        if format_ in {None, found["format"]}:
            say(line_of(found, today, config.oxygen.late_after_minutes))
    return {**frames, "lots": frames["lots"].with_columns(asked_on=_day(today))}


def wanted_lots(lot: str, format_: str | None, every: pl.DataFrame) -> pl.DataFrame:
    """Return the rows of a lot, all its formats, for its page shows them all."""
    wanted = every.filter(pl.col("lot") == lot)
    if wanted.is_empty():
        message = f"there is no lot {lot}{did_you_mean(lot, every['lot'].unique().sort())}"
        raise StoreError(message)
    formats = wanted["format"].to_list()
    if format_ is not None and format_ not in formats:
        message = (
            f"lot {lot} was not filled into {format_}: it is {', '.join(formats)}"
            f"{did_you_mean(format_, formats)}"
        )
        raise StoreError(message)
    return wanted


def _day(today: date) -> pl.Expr:
    return pl.lit(today, dtype=pl.Date)
