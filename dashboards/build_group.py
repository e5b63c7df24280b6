"""Write the page that compares the breweries of a group, from the store of each."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from dashboards import words
from dashboards.build import replace_whole, write_pages
from dashboards.errors import ResultsError
from dashboards.page import Frame
from dashboards.pages import group
from dashboards.pages.group import Brewery
from dashboards.results import read_results

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True)
class Store:
    """Where one brewery of a group keeps what it knows.

    Attributes:
        name: as the group calls it.
        database: its store; None where that is not known.
        pages: its own pages; likewise.
        problem: why it could not be brought up to date; empty where it could.
    """

    name: str
    database: Path | None
    pages: Path | None
    problem: str = ""


def build_group(name: str, stores: Sequence[Store], pages: Path) -> tuple[Path, ...]:
    """Write the page of a group into a folder and return the files, sorted.

    A store that cannot be read is a sentence on the page.

    Args:
        name: The group's.
        stores: Its breweries; each is opened read-only.
        pages: The folder; what an earlier run wrote there is replaced whole.

    Raises:
        FolderError: The folder holds something that is no page of ours, or cannot be written.
    """
    breweries = [_read(store, pages) for store in sorted(stores, key=lambda s: s.name)]
    page = group.page(breweries)
    links = (("index.html", page.title), *((b.home, b.name) for b in breweries if b.home))
    runs = [run for b in breweries if b.results is not None and (run := b.results.newest_run)]
    newest = max((run["finished_at"] for run in runs), default=None)
    day = f", newest run of {words.day(newest)}" if newest else ""
    whole = f"{group.counted(len(breweries))} side by side{day}"
    around = Frame(name, whole, whole.replace(words.NBSP, " "), "", links, data="", method="")
    return replace_whole(pages, lambda folder: write_pages([page], around, folder))


def _read(store: Store, pages: Path) -> Brewery:
    results, problem = None, store.problem
    if store.database is not None:
        try:
            results = read_results(store.database)
        except ResultsError as error:
            problem = problem or str(error)
    return Brewery(store.name, results, problem, _home(store.pages, pages))


def _home(own: Path | None, pages: Path) -> str:
    """Give the way from the group's folder to a brewery's first page, where there is one."""
    if own is None or not (own / "index.html").is_file():
        return ""
    try:
        return Path(os.path.relpath(own / "index.html", pages)).as_posix()
    except ValueError:  # on another drive of Windows
        return ""
