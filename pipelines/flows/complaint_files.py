"""The files of an answer: its page among the pages, and JSON, HTML and PDF beside the database."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from dashboards.answers import page_file
from dashboards.record_sheet import SIZES_PT
from pipelines.flows.record_sheets import FOLDER
from pipelines.flows.sheet_files import pdf_where_it_can_be, write_files

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
        DashboardError: There are no pages yet and none can be made.
    """
    folder, pages = config.paths.database.parent / FOLDER, config.paths.pages
    name = record["name"]
    # A folder with one page alone would pass for another's.
    if not (pages / "index.html").is_file():
        from dashboards.build import build  # its charts take half a second to load

        build(config.paths.database, pages)
    contents = {
        pages / page_file(name): sheet.encode(),
        folder / f"{name}.json": (json.dumps(record, ensure_ascii=False, indent=2) + "\n").encode(),
        folder / f"{name}.html": sheet.encode(),
        **pdf_where_it_can_be(folder / f"{name}.pdf", sheet, "the answer", say, SIZES_PT[:1]),
    }
    return write_files(contents, "the answer", "publish")
