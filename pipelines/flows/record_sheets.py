"""Record sheets: written beside the database from what was stored, the same bytes each time."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import polars as pl

from pipelines.errors import StoreError
from pipelines.flows.decision_words import line_of, lines_of
from pipelines.flows.sheet_files import pdf_where_it_can_be, write_files
from pipelines.store.connect import open_store
from pipelines.store.decisions import all_decisions
from pipelines.store.migrate import refuse_other_shapes

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.config import Config

FOLDER = "records"
"""Where the sheets are, in the folder of the database."""


def list_decisions(config: Config, say: Callable[[str], None]) -> None:
    """Say every decision in a line, the newest first.

    Raises:
        StoreError: There is no store, or it has another shape.
    """
    decisions = _all(config)
    if decisions.is_empty():
        say("Nothing has been decided yet: stalecurve decide does, and keeps it.")
    for row in decisions.rows(named=True):
        say(line_of(row))


def show_record(number: int, config: Config, say: Callable[[str], None]) -> tuple[Path, ...]:
    """Say a decision as it was recorded, and write its sheet again.

    Args:
        number: The decision's.
        config: The configuration.
        say: Takes each line.

    Returns:
        The files: JSON, HTML, and PDF where it can be made.

    Raises:
        StoreError: There is no such decision or no store, or the files cannot be written.
    """
    row = _decision(number, config)
    for line in lines_of(json.loads(row["record"])):
        say(line)
    if row["superseded_by"] is not None:
        say(f"Decision {row['superseded_by']} took its place.")
    return write_sheet(number, config, say)


def write_sheet(number: int, config: Config, say: Callable[[str], None]) -> tuple[Path, ...]:
    """Write the record sheet of a decision, and return its files.

    Args:
        number: The decision's.
        config: The configuration.
        say: Takes a line where no PDF can be made.

    Raises:
        StoreError: There is no such decision or no store, or the files cannot be written.
    """
    row = _decision(number, config)
    beside = config.paths.database.parent / FOLDER / f"decision-{number:04}"
    contents = {
        beside.with_suffix(".json"): row["record"].encode(),
        beside.with_suffix(".html"): row["sheet"].encode(),
        **pdf_where_it_can_be(beside.with_suffix(".pdf"), row["sheet"], "the sheet", say),
    }
    return write_files(contents, "the decision", f"record {number}")


def _all(config: Config) -> pl.DataFrame:
    with open_store(config.paths.database, read_only=True) as connection:
        refuse_other_shapes(connection)
        return all_decisions(connection)


def _decision(number: int, config: Config) -> dict[str, Any]:
    decisions = _all(config)
    found = decisions.filter(pl.col("decision_id") == number)
    if found.is_empty():
        known = decisions["decision_id"].to_list()
        there = f"the newest is {known[0]}" if known else "nothing has been decided yet"
        message = f"there is no decision {number}: {there}"
        raise StoreError(message)
    return found.row(0, named=True)
