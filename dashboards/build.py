"""Write all pages and files anew from the newest run.

They are made in a folder beside and take the old one's place whole, so that a reader never meets
half of a run. The same store gives the same bytes.
"""

from __future__ import annotations

import ctypes
import os
import shutil
import sys
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl
import vl_convert

from dashboards import theme, words
from dashboards.answers import page_file
from dashboards.errors import FolderError
from dashboards.page import environment, frame, write_csv
from dashboards.pages import (
    assessors,
    back_test,
    before_after,
    complaints,
    data,
    dates,
    decisions,
    difference_tests,
    formats,
    heads,
    label,
    lot,
    meters,
    method,
    moves,
    new_format,
    oxygen,
    panel,
    reviews,
    routes,
    stock,
    style,
    this_week,
)
from dashboards.results import read_results
from dashboards.review import file_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    import jinja2

    from dashboards.page import Frame, Page
    from dashboards.results import Results

VEGA = "vega.js"
ASSETS = Path(__file__).parent / "assets"
LENGTHS = pl.col(
    "^(shelf_life_days.*|oldest_tasted_days|total_oxygen_ppb|activation_energy_kj_mol)$"
)
_EXCHANGE = 2  # RENAME_EXCHANGE of linux/fs.h
MARK = '<meta name="generator" content="stalecurve">'


def build(database: Path, pages: Path) -> tuple[Path, ...]:
    """Write the pages of the newest run into a folder and return the files, sorted.

    Args:
        database: The store; opened read-only.
        pages: The folder; what an earlier run wrote there is replaced whole.

    Raises:
        ResultsError: The store cannot be read.
        FolderError: The folder holds something that is no page of ours, or cannot be written.
    """
    results = read_results(database)
    return replace_whole(pages, lambda folder: _write(results, folder, pages))


def build_page(database: Path, pages: Path, make: Callable[[Results], Page]) -> Path:
    """Write one page anew among the pages that stand, and return it.

    Args:
        database: The store; opened read-only.
        pages: The folder of the pages; where there are none yet, all of them are written.
        make: Makes the page of these results; it is one of all pages.

    Raises:
        ResultsError: The store cannot be read.
        FolderError: The folder holds something that is no page of ours, or cannot be written.
    """
    results = read_results(database)
    page = make(results)
    if not (pages / "index.html").is_file():
        build(database, pages)
        return pages / page.file
    _check_ours(pages)
    try:
        _write_page(page, _templates(frame(results)), pages)
    except OSError as error:
        message = f"the page cannot be written to {pages}: {error.strerror}"
        raise FolderError(message) from error
    return pages / page.file


def replace_whole(pages: Path, write: Callable[[Path], None]) -> tuple[Path, ...]:
    """Let pages be written into a new folder, put it in the old one's place, and list its files.

    Raises:
        FolderError: The folder holds something that is no page of ours, or cannot be written.
    """
    made = pages.with_name(f".{pages.name}.new")
    try:
        _bring_back(pages)
        _check_ours(pages)
        pages.parent.mkdir(parents=True, exist_ok=True)
        shutil.rmtree(made, ignore_errors=True)
        made.mkdir()
        write(made)
        _swap(made, pages)
    except OSError as error:
        message = f"the pages cannot be written to {pages}: {error.strerror}"
        raise FolderError(message) from error
    finally:
        shutil.rmtree(made, ignore_errors=True)
    return tuple(sorted(path for path in pages.rglob("*") if path.is_file()))


def all_pages(results: Results) -> tuple[Page, ...]:
    """Return every page of these results, in the order of the list at their top."""
    return (
        dates.page(results),
        this_week.page(results),
        stock.page(results),
        complaints.page(results),
        label.page(results),
        decisions.page(results),
        reviews.page(results),
        oxygen.page(results),
        *style.pages(results),
        moves.page(results),
        routes.page(results),
        formats.page(results),
        heads.page(results),
        meters.page(results),
        panel.page(results),
        assessors.page(results),
        difference_tests.page(results),
        before_after.page(results),
        back_test.page(results),
        data.page(results),
        method.page(results),
        *lot.pages(results),
        *new_format.pages(results),
    )


def _write(results: Results, folder: Path, before: Path) -> None:
    write_pages(all_pages(results), frame(results), folder, before)
    for file, content in _recorded(results):
        path = folder / file
        path.parent.mkdir(exist_ok=True)
        path.write_text(content, encoding="utf-8", newline="\n")
    write_csv(results.best_before.with_columns(LENGTHS.round(1)), folder / "data/best_before.csv")
    write_csv(results.shelf_life.with_columns(LENGTHS.round(1)), folder / "data/shelf_life.csv")


def _recorded(results: Results) -> Iterator[tuple[str, str]]:
    """Yield the files of decisions, answers and reviews, to the bit as they were recorded."""
    for row in results.decisions.rows(named=True):
        yield decisions.sheet_file(row["decision_id"], "html"), row["sheet"]
        yield decisions.sheet_file(row["decision_id"], "json"), row["record"]
    for row in results.answers.rows(named=True):
        yield page_file(row["name"]), row["sheet"]
    for row in results.reviews.rows(named=True):
        yield file_of(row["quarter"], "html"), row["sheet"]
        yield file_of(row["quarter"], "json"), row["record"]


def write_pages(pages: Iterable[Page], around: Frame, folder: Path, before: Path) -> None:
    """Write pages with their tables as CSV, and what they need to be shown, into a folder.

    Args:
        pages: The pages.
        around: Their frame.
        folder: An empty folder.
        before: The folder whose place it takes, there or not.
    """
    templates = _templates(around)
    for page in pages:
        _write_page(page, templates, folder)
    sheet = theme.scheme_css() + (ASSETS / "style.css").read_text(encoding="utf-8")
    (folder / "style.css").write_text(sheet, encoding="utf-8", newline="\n")
    for script in ("charts.js", "written.js"):
        shutil.copyfile(ASSETS / script, folder / script)
    (folder / VEGA).write_bytes(_vega(before / VEGA))


def _templates(around: Frame) -> jinja2.Environment:
    templates = environment()
    templates.globals.update(
        frame=around, flavour_date=words.FLAVOUR_DATE, no_validation=words.NO_VALIDATION
    )
    return templates


def _write_page(page: Page, templates: jinja2.Environment, folder: Path) -> None:
    for table in page.tables:
        write_csv(table.frame, folder / table.file)
    html = templates.get_template(page.template).render(page=page, **page.context)
    half = folder / f".{page.file}.new"  # a reader never meets half a page
    half.write_text(html, encoding="utf-8", newline="\n")
    half.replace(folder / page.file)


def _vega(before: Path) -> bytes:
    """Give the scripts that draw charts: those of last time, if they are whole and still the same.

    Making them takes as long as all pages together.
    """
    if before.is_file():
        content = before.read_bytes()
        _, _, scripts = content.partition(b"\n")
        if content == _marked(scripts):
            return content
    bundle = vl_convert.javascript_bundle("window.vegaEmbed = vegaEmbed;")
    return _marked(f"(() => {{\n{bundle}\n}})();\n".encode())


def _marked(scripts: bytes) -> bytes:
    """Put the version and a checksum before the scripts."""
    mark = f"// vl-convert {version('vl-convert-python')} {sha256(scripts).hexdigest()}\n"
    return mark.encode() + scripts


def _check_ours(pages: Path) -> None:
    """Refuse a folder whose content we did not write, because it would be replaced whole."""
    if not pages.exists() or (pages.is_dir() and not any(pages.iterdir())):
        return
    first = pages / "index.html"
    if not first.is_file() or MARK not in first.read_text(encoding="utf-8", errors="replace"):
        message = f"{pages.name} holds files that are no pages of stalecurve: name another folder"
        raise FolderError(message)


def _swap(made: Path, pages: Path) -> None:
    """Put the new folder in the old one's place, in one step where the system has one."""
    if not pages.exists():
        made.rename(pages)
    elif not _exchanged(made, pages):
        old = _old(pages)
        pages.rename(old)
        try:
            made.rename(pages)
        except OSError:
            old.rename(pages)
            raise
        shutil.rmtree(old, ignore_errors=True)


def _exchanged(made: Path, pages: Path) -> bool:
    """Exchange two folders in one step: Linux can, Python has no call for it."""
    if sys.platform != "linux":
        return False
    renameat2 = getattr(ctypes.CDLL(None), "renameat2", None)
    new, old = (os.fsencode(path.absolute()) for path in (made, pages))
    return renameat2 is not None and renameat2(0, new, 0, old, _EXCHANGE) == 0


def _bring_back(pages: Path) -> None:
    """Undo a swap in two steps that was cut between them."""
    old = _old(pages)
    if old.exists() and not pages.exists():
        old.rename(pages)
    shutil.rmtree(old, ignore_errors=True)


def _old(pages: Path) -> Path:
    return pages.with_name(f".{pages.name}.old")
