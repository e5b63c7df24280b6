"""The pages of answers to complaints, as they were recorded, among the other pages."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from dashboards.results import Results

FOLDER = "complaints"
"""Where they are among the pages."""


def page_file(name: str) -> str:
    """Return where the page of an answer is, from the folder of the pages."""
    return f"{FOLDER}/{name}.html"


def write_answers(results: Results, folder: Path) -> None:
    """Write the newest answer to each complaint, to the bit as it was recorded."""
    for row in results.answers.rows(named=True):
        path = folder / page_file(row["name"])
        path.parent.mkdir(exist_ok=True)
        path.write_text(row["sheet"], encoding="utf-8", newline="\n")
