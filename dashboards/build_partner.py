"""Write the pages of a partner for whom beers are brewed, with nothing of anybody else's."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboards.build import replace_whole, write_pages
from dashboards.page import Frame, frame, style_files
from dashboards.pages import partner
from dashboards.partner import restricted
from dashboards.results import read_results

if TYPE_CHECKING:
    from collections.abc import Collection
    from pathlib import Path


def build_partner(
    database: Path, pages: Path, owner: str, beers: Collection[str]
) -> tuple[Path, ...]:
    """Write the pages and files of some beers into a folder and return the files, sorted.

    Args:
        database: The store; opened read-only.
        pages: The folder; what was written there before is replaced whole.
        owner: For whom the beers are brewed.
        beers: Those beers.

    Raises:
        ResultsError: The store cannot be read.
        FolderError: The folder holds something that is no page of ours, or cannot be written.
    """
    results = restricted(read_results(database), beers)
    links = (
        ("index.html", "Dates"),
        ("stock.html", "Stock"),
        ("label.html", "What to print"),
        *((file, style.capitalize()) for style, file in style_files(results).items()),
    )
    whole = frame(results)
    around = Frame(whole.brewery, whole.run, whole.sheet, whole.question, links, data="", method="")
    return replace_whole(
        pages, lambda folder: write_pages(partner.pages(results, owner), around, folder, pages)
    )
