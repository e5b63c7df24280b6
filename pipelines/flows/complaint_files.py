"""The files of an answer: its page among the pages, and JSON, HTML and PDF beside the database."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from dashboards.answers import page_file
from dashboards.errors import PdfError
from dashboards.record_sheet import SIZES_PT, pdf_of
from pipelines.errors import StoreError
from pipelines.flows.record_sheets import FOLDER

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.config import Config

Cells = dict[str, Any]


def write_answer(
    record: Cells, sheet: str, config: Config, say: Callable[[str], None]
) -> tuple[Path, ...]:
    """Write the files of an answer.

    Args:
        record: Its record.
        sheet: Its page.
        config: The configuration.
        say: Takes a line where no PDF can be made.

    Returns:
        The page, then JSON, HTML and PDF.

    Raises:
        StoreError: They cannot be written; the answer is kept all the same.
    """
    folder = config.paths.database.parent / FOLDER
    name = record["name"]
    contents = {
        config.paths.pages / page_file(name): sheet.encode(),
        folder / f"{name}.json": (json.dumps(record, ensure_ascii=False, indent=2) + "\n").encode(),
        folder / f"{name}.html": sheet.encode(),
    }
    try:
        contents[folder / f"{name}.pdf"] = pdf_of(sheet, SIZES_PT[:1])
    except PdfError as error:
        say(f"{error}. The answer is there as HTML and JSON all the same")
    try:
        for path, content in contents.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            half = path.with_name(f".{path.name}.new")
            half.write_bytes(content)
            half.replace(path)
    except OSError as error:
        message = (
            f"the answer is kept, but its files cannot be written: {error.strerror}. "
            "stalecurve publish writes its page again"
        )
        raise StoreError(message) from error
    return tuple(contents)
