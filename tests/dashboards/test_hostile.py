"""Names from files that mean harm: nothing on a page or in a CSV acts on them."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

FORMULA = "=1+1"
MARKUP = "<img src=x onerror=alert(1)>"


def test_no_markup_of_a_name_reaches_a_page(hostile_pages: Path) -> None:
    """Every sign of markup is written so that it is shown."""
    for page in hostile_pages.glob("*.html"):
        html = page.read_text(encoding="utf-8")
        assert "<img" not in html, page.name
        assert "<script>" not in html, page.name
        assert "&lt;img src=x onerror=alert(1)&gt;" in html, page.name


def test_no_cell_of_any_csv_starts_a_formula(hostile_pages: Path) -> None:
    """Each cell of each CSV that a spreadsheet would run is neutral; numbers stay numbers."""
    neutral = 0
    for path in (hostile_pages / "data").glob("*.csv"):
        with path.open(newline="", encoding="utf-8") as file:
            for cell in (cell for row in csv.reader(file) for cell in row):
                if cell.startswith(("=", "+", "-", "@", "\t", "\r")):
                    assert float(cell) < 0
                neutral += cell in {"'=1+1", "'@SUM(A1)"}
    assert neutral > 10


@pytest.mark.parametrize(
    ("style", "file"),
    [(FORMULA, "style-1-1.html"), (MARKUP, "style-img-src-x-onerror-alert-1.html")],
)
def test_a_hostile_style_has_a_page_with_a_tame_name(
    make_pages: Callable[..., Path], style: str, file: str
) -> None:
    """The name of its file keeps letters and figures alone, and links lead to it."""
    pages = make_pages(
        "INSERT INTO results.runs VALUES (1, '2026-04-06', '2026-04-06', '0', 1, '{}', NULL, 'b', "
        "'q', 0.25, 0.9, 'day', 'not estimated', 'no verdicts', NULL, NULL, NULL, 0, 0, 0, 0)",
        f"INSERT INTO results.styles VALUES (1, '{style}', 1,1,0,0,0,0,0,0,0,0,NULL,NULL,'none')",
    )
    assert f'href="{file}"' in (pages / "index.html").read_text(encoding="utf-8")
    assert "<img" not in (pages / file).read_text(encoding="utf-8")
