"""What pages are made of: names of files, scripts' data, and CSV."""

from __future__ import annotations

import csv
import json
from typing import TYPE_CHECKING

import polars as pl
import pytest

from dashboards.page import script_json, style_files, write_csv
from dashboards.results import read_results

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx"])
def test_no_text_cell_of_a_csv_starts_a_formula(tmp_path: Path, text: str) -> None:
    """A text that a spreadsheet would run gets an apostrophe in front."""
    write_csv(pl.DataFrame({"lot": [text]}), tmp_path / "data/lots.csv")
    with (tmp_path / "data/lots.csv").open(newline="") as file:
        assert list(csv.reader(file)) == [["lot"], [f"'{text}"]]


def test_numbers_and_plain_text_of_a_csv_stay_as_they_are(tmp_path: Path) -> None:
    """A negative number is a number, and a lot keeps its leading zeros; nothing is empty."""
    frame = pl.DataFrame({"lot": ["0042", None], "days": [-3.5, None]})
    write_csv(frame, tmp_path / "lots.csv")
    assert (tmp_path / "lots.csv").read_text() == "lot,days\n0042,-3.5\n,\n"


def test_data_of_a_script_cannot_end_its_element() -> None:
    """Every sign that HTML or a script would act on is written as a number, and reads back."""
    hostile = {"lot": "</script><!--<script>&amp;\u2028\u2029"}
    text = str(script_json(hostile))
    assert not set("<>&\u2028\u2029") & set(text)
    assert json.loads(text) == hostile


def test_styles_of_like_names_have_files_of_their_own(make_store: Callable[..., Path]) -> None:
    """Names that differ in signs alone are numbered; one of no letters has a name too."""
    names = ("Pale Ale", "pale-ale", "pale ale!", "§")
    rows = ", ".join(f"(1, '{n}', 0,0,0,0,0,0,0,0,0,0, NULL, NULL, 'none')" for n in names)
    run = (
        "INSERT INTO results.runs VALUES (1, now(), now(), '0', 1, '{}', NULL, 'b', 'q', 0.25, "
        "0.9, 'day', 'not estimated', 'no lots', NULL, NULL, NULL, 0, 0, 0, 0)"
    )
    store = make_store(run, f"INSERT INTO results.styles VALUES {rows}")
    assert style_files(read_results(store)) == {
        "Pale Ale": "style-pale-ale.html",
        "pale ale!": "style-pale-ale-2.html",
        "pale-ale": "style-pale-ale-3.html",
        "§": "style-unnamed.html",
    }
