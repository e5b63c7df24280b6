"""The page of one lot."""

from __future__ import annotations

import csv
import html
import json
import re
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboards import words
from dashboards.build import build, build_page
from dashboards.errors import FolderError
from dashboards.pages import lot
from dashboards.results import read_results

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

FILE = "lot-l0971-c6b5160d.html"


def text(page: Path) -> str:
    """Return the text of a page with single common spaces."""
    seen = re.sub(r"<script.*?</script>", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    return re.sub(r"\s+", " ", html.unescape(re.sub("<.*?>", " ", seen)))


@pytest.fixture
def said(pages: Path) -> str:
    """The text of the page of a lot that is to be shortened, filled into two formats."""
    return text(pages / FILE)


def test_the_sentence_of_the_shift_log_comes_first(said: str) -> None:
    """A part for each format, the answer under its heading, what to do below it."""
    can, keg = said.partition(" keg ")[0], said.partition(" keg ")[2]
    assert "can L0971, can: 211 ppb (170 to 263) from 8 packages." in can
    assert (
        "What to do, the best first: Shorten to 56 days, best before 19 May 2026. Taste its "
        "retained sample S0812. Measuring again tomorrow cannot clear this lot;"
    ) in can
    assert keg.startswith("L0971, keg: at least 44 ppb (7 late). What to do")
    assert "As of 6 Apr 2026." in keg


def test_the_line_it_comes_from_is_said(said: str) -> None:
    """Its limits with the lots behind them, or that there are none."""
    assert (
        "20 lots in this format on the line 'canning' give the limits: middle 60, from 30 to 120 "
        "ppb."
    ) in said.replace(words.NBSP, " ")
    assert "Its line and format have no limits yet" in said


def test_each_package_is_a_row_and_a_bound_stays_one(said: str) -> None:
    """Known, at least, at most, and one that tells nothing."""
    for row in (
        "24 Mar 2026, 10:00 180 0 shaken start M1",
        "24 Mar 2026, 10:28 at least 216 1 shaken, late middle M1",
        "24 Mar 2026, 10:35 at most 12 2 shaken middle M1",
        "24 Mar 2026, 10:42 234 – shaken middle M1",
        "24 Mar 2026, 10:49 – 1 tells no total middle M1",
    ):
        assert row in said.replace(words.NBSP, " ")


def test_the_chart_draws_packages_by_head_with_the_mean_and_the_limits(pages: Path) -> None:
    """Known ones as points, bounds as arrows that point where the package may lie."""
    page = (pages / FILE).read_text(encoding="utf-8")
    (found,) = re.findall(r'application/json">(.*?)</script>', page, flags=re.DOTALL)
    spec: dict[str, Any] = json.loads(found)
    held = [
        *spec.get("datasets", {}).values(),
        *(layer["data"]["values"] for layer in spec["layer"] if "values" in layer.get("data", {})),
    ]
    rows = [row for values in held for row in values]
    assert sorted(r["said"] for r in rows if "said" in r) == [
        *("180", "189", "198", "207", "234"),
        *("at least 216", "at most 12"),
    ]
    assert {r["row"] for r in rows if "row" in r} == {
        *("head 0", "head 1", "head 2", "no head", "this lot")
    }
    arrows = [m["mark"] for m in spec["layer"] if m["mark"].get("shape") == "arrow"]
    assert [mark["angle"] for mark in arrows] == [90, 270]
    assert "log scale" in json.dumps(spec)


def test_the_csv_holds_what_the_table_shows(pages: Path) -> None:
    """Every package with its bounds."""
    (name,) = re.findall(r'href="(data/lot-l0971-[^"]*)"', (pages / FILE).read_text("utf-8"))
    with (pages / name).open(newline="", encoding="utf-8") as file:
        packages = list(csv.DictReader(file))
    assert len(packages) == 8
    assert [p["upper_ppb"] for p in packages][4:6] == ["", "12.0"]


def test_no_statistics_before_the_fold(said: str) -> None:
    """Words of the trade first."""
    before, _, folded = said.partition("For the statistician")
    assert "maximum likelihood" in folded
    assert not {"significant", "p-value", "model", "likelihood"} & set(before.lower().split())


def test_one_page_is_written_among_those_that_stand(
    make_store: Callable[..., Path], brewery: str, tmp_path: Path
) -> None:
    """The others stay as they are, byte for byte, and no half-written file is left."""
    store = make_store(brewery)
    build(store, tmp_path / "pages")
    before = {path: path.read_bytes() for path in (tmp_path / "pages").rglob("*.*")}
    page = tmp_path / "pages" / FILE
    page.unlink()
    assert build_page(store, tmp_path / "pages", lambda found: lot.page(found, "L0971")) == page
    assert {path: path.read_bytes() for path in (tmp_path / "pages").rglob("*.*")} == before


def test_without_pages_all_of_them_are_written(
    make_store: Callable[..., Path], brewery: str, tmp_path: Path
) -> None:
    """A page alone would have no style and no links."""
    page = build_page(
        make_store(brewery), tmp_path / "pages", lambda found: lot.page(found, "L0971")
    )
    assert page.is_file()
    assert (tmp_path / "pages" / "index.html").is_file()


def test_a_folder_of_somebody_else_is_refused(
    make_store: Callable[..., Path], brewery: str, tmp_path: Path
) -> None:
    """Nothing is written into it."""
    (tmp_path / "index.html").write_text("mine", encoding="utf-8")
    with pytest.raises(FolderError, match="no pages of stalecurve"):
        build_page(make_store(brewery), tmp_path, lambda found: lot.page(found, "L0971"))
    assert [path.name for path in tmp_path.iterdir()] == ["index.html"]


@given(st.lists(st.text(min_size=1, max_size=64), min_size=2, max_size=6, unique=True))
def test_names_of_files_are_tame_and_never_shared(names: list[str]) -> None:
    """Letters and figures alone, a length any disk takes, and one lot a file, case or not."""
    files = [lot.file_of(name) for name in names]
    assert all(re.fullmatch(r"lot-[a-z0-9]+(-[a-z0-9]+)*\.html", file) for file in files)
    assert len(set(files)) == len(names)
    assert max(map(len, files)) < 100


@pytest.mark.parametrize("pair", [("A-1", "a-1"), ("a 1", "a/1"), ("a-1", "a_1"), ("", "..")])
def test_two_lots_that_would_share_a_tame_name_do_not(pair: tuple[str, str]) -> None:
    """The one that is written as the name keeps it; the other gets a digest."""
    assert len({lot.file_of(name) for name in pair}) == 2
    assert lot.file_of("26-031") == "lot-26-031.html"


def test_a_lot_without_readings_has_a_page_that_says_what_fills_it(
    make_store: Callable[..., Path], brewery: str
) -> None:
    """No chart, no empty table."""
    results = read_results(make_store(brewery))
    (part,) = lot.page(results, "H/9 b").context["parts"]
    assert part["chart"] is None
    assert part["packages"].rows == ()
    assert "the table oxygen fills this" in part["packages"].empty
