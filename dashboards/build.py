"""Write all pages and files anew from the newest run.

They are made in a folder beside and take the old one's place whole, so that a reader never meets
half of a run. The same store gives the same bytes.
"""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl
import vl_convert

from dashboards import theme, words
from dashboards.errors import FolderError
from dashboards.page import environment, frame, write_csv
from dashboards.pages import back_test, data, dates, method, style
from dashboards.results import read_results

if TYPE_CHECKING:
    from dashboards.page import Page
    from dashboards.results import Results

ASSETS = Path(__file__).parent / "assets"
LENGTHS = pl.col(
    "^(shelf_life_days.*|oldest_tasted_days|total_oxygen_ppb|activation_energy_kj_mol)$"
)
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
    made = pages.with_name(f".{pages.name}.{os.getpid()}")
    try:
        _check_ours(pages)
        pages.parent.mkdir(parents=True, exist_ok=True)
        shutil.rmtree(made, ignore_errors=True)
        made.mkdir()
        _write(results, made)
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
        *style.pages(results),
        back_test.page(results),
        data.page(results),
        method.page(results),
    )


def _write(results: Results, folder: Path) -> None:
    templates = environment()
    templates.globals.update(
        frame=frame(results), flavour_date=words.FLAVOUR_DATE, no_validation=words.NO_VALIDATION
    )
    for page in all_pages(results):
        html = templates.get_template(page.template).render(page=page, **page.context)
        (folder / page.file).write_text(html, encoding="utf-8", newline="\n")
        for table in page.tables:
            write_csv(table.frame, folder / table.file)
    write_csv(results.best_before.with_columns(LENGTHS.round(1)), folder / "data/best_before.csv")
    write_csv(results.shelf_life.with_columns(LENGTHS.round(1)), folder / "data/shelf_life.csv")
    sheet = theme.scheme_css() + (ASSETS / "style.css").read_text(encoding="utf-8")
    (folder / "style.css").write_text(sheet, encoding="utf-8", newline="\n")
    shutil.copyfile(ASSETS / "charts.js", folder / "charts.js")
    bundle = vl_convert.javascript_bundle("window.vegaEmbed = vegaEmbed;")
    (folder / "vega.js").write_text(
        f"(() => {{\n{bundle}\n}})();\n", encoding="utf-8", newline="\n"
    )


def _check_ours(pages: Path) -> None:
    """Refuse a folder whose content we did not write, because it would be replaced whole."""
    if not pages.exists() or (pages.is_dir() and not any(pages.iterdir())):
        return
    first = pages / "index.html"
    if not first.is_file() or MARK not in first.read_text(encoding="utf-8", errors="replace"):
        message = f"{pages.name} holds files that are no pages of stalecurve: name another folder"
        raise FolderError(message)


def _swap(made: Path, pages: Path) -> None:
    """Put the new folder in the old one's place."""
    old = pages.with_name(f".{pages.name}.{os.getpid()}.old")
    shutil.rmtree(old, ignore_errors=True)
    if pages.exists():
        pages.rename(old)
    try:
        made.rename(pages)
    except OSError:
        if old.exists():
            old.rename(pages)
        raise
    shutil.rmtree(old, ignore_errors=True)
