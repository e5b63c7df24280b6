"""The report on a quarter as files: HTML among the pages, PDF and JSON beside the database."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboards.errors import PdfError
from dashboards.record_sheet import pdf_of
from dashboards.review import FOLDER, SIZES_PT, file_of
from pipelines.errors import StoreError
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
    contents = {"json": kept["record"].encode()}
    try:
        contents["pdf"] = pdf_of(kept["sheet"], SIZES_PT)
    except PdfError as error:
        say(f"{error}. The report is there as HTML and JSON all the same")
    folder = config.paths.database.parent / FOLDER
    written = [config.paths.pages / file_of(str(quarter), "html")]
    try:
        folder.mkdir(exist_ok=True)
        for ending, content in contents.items():
            path = folder / f"{quarter}.{ending}"
            half = path.with_name(f".{path.name}.new")
            half.write_bytes(content)
            half.replace(path)
            written.append(path)
    except OSError as error:
        message = (
            f"the review is kept, but its report cannot be written to {folder}: {error.strerror}. "
            f"stalecurve review {quarter} tries again"
        )
        raise StoreError(message) from error
    return tuple(written)
