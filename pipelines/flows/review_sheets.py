"""The report on a quarter as files: HTML among the pages, PDF and JSON beside the database."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboards.review import FOLDER, SIZES_PT, file_of
from pipelines.flows.sheet_files import pdf_where_it_can_be, write_files
from pipelines.store.connect import open_store
from pipelines.store.reviews import newest_review

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from analysis.cases.quarter import Quarter
    from pipelines.config import Config


def write_sheets(quarter: Quarter, config: Config, say: Callable[[str], None]) -> tuple[Path, ...]:
    """Write the newest review of a quarter as PDF and JSON, and return all files of it.

    The HTML is written with the pages.

    Raises:
        StoreError: The files cannot be written, or the store cannot be read.
    """
    with open_store(config.paths.database, read_only=True) as connection:
        kept = newest_review(connection, str(quarter))
    assert kept is not None  # noqa: S101 - it was kept a moment ago
    beside = config.paths.database.parent / FOLDER / str(quarter)
    contents = {
        beside.with_suffix(".json"): kept["record"].encode(),
        **pdf_where_it_can_be(
            beside.with_suffix(".pdf"), kept["sheet"], "the report", say, SIZES_PT
        ),
    }
    written = write_files(contents, "the review", f"review {quarter}")
    return (config.paths.pages / file_of(str(quarter), "html"), *written)
