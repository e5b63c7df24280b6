"""Writing the folder of pages."""

from __future__ import annotations

import re
import sys
from concurrent.futures import ThreadPoolExecutor
from hashlib import sha256
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import polars as pl
import pytest

from dashboards.build import build, write_pages
from dashboards.errors import FolderError
from dashboards.page import Frame

if TYPE_CHECKING:
    from pathlib import Path

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data:; connect-src 'none'"
)


class Links(HTMLParser):
    """Gathers the policy, what a page refers to, and its own places."""

    def __init__(self, page: Path) -> None:
        """Read a page."""
        super().__init__()
        self.policy: list[str | None] = []
        self.targets: list[str] = []
        self.places: list[str] = []
        self.feed(page.read_text(encoding="utf-8"))

    def handle_starttag(self, _tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note what this element refers to."""
        values = dict(attrs)
        if values.get("http-equiv") == "Content-Security-Policy":
            self.policy.append(values.get("content"))
        self.targets += [v for k, v in attrs if k in {"href", "src"} and v]
        self.places += [v for k, v in attrs if k == "id" and v]


def test_all_pages_and_files_are_written(store: Path, tmp_path: Path) -> None:
    """The files named in the answer are the files of the folder, and nothing lies beside it."""
    written = build(store, tmp_path / "pages")
    names = {path.relative_to(tmp_path / "pages").as_posix() for path in written}
    assert names >= {
        "index.html",
        "this-week.html",
        "stock.html",
        "complaints.html",
        "lot-l0971-c6b5160d.html",
        "lot-h-9-b-87e2485e.html",
        "oxygen.html",
        "style-pale-lager.html",
        "style-hazy-ale.html",
        "style-wheat.html",
        "decisions.html",
        "records/decision-0001.html",
        "records/decision-0005.json",
        "data/decisions.csv",
        "data/decisions-history.csv",
        "back-test.html",
        "data.html",
        "method.html",
        "vega.js",
        "charts.js",
        "written.js",
        "style.css",
        "data/best_before.csv",
        "data/shelf_life.csv",
        "data/set_aside.csv",
        "data/oxygen-lines.csv",
        "data/oxygen-signals.csv",
        "data/oxygen-lots.csv",
        "data/oxygen-limits-moved.csv",
        "data/week-pulls.csv",
        "data/week-tastings.csv",
        "data/week-meter-checks.csv",
        "data/week-retained.csv",
        "data/week-late-files.csv",
        "data/week-dates.csv",
        "data/stock-lots.csv",
        "data/stock-in-house.csv",
        "data/stock-customers.csv",
        "data/stock-shipped.csv",
        "data/trade-inquiries.csv",
        "data/back-test-lots.csv",
        "data/back-test-bands.csv",
        "data/style-pale-lager-oxygen-costs.csv",
        "data/style-pale-lager-trials.csv",
        "data/style-pale-lager-scores.csv",
        "data/style-pale-lager-scores-left-out.csv",
        "data/style-pale-lager-readings.csv",
    }
    assert [path.name for path in tmp_path.iterdir()] == ["pages"]


def test_the_same_store_gives_the_same_bytes(store: Path, tmp_path: Path) -> None:
    """Pages hold no clock, no counter and no chance."""
    first = {path.name: path.read_bytes() for path in build(store, tmp_path / "one")}
    second = {path.name: path.read_bytes() for path in build(store, tmp_path / "two")}
    assert first == second


def test_a_second_build_replaces_the_first_whole(store: Path, tmp_path: Path) -> None:
    """A page of a style that is no more does not stay behind."""
    build(store, tmp_path / "pages")
    (tmp_path / "pages/style-gone.html").write_text("old")
    build(store, tmp_path / "pages")
    assert not (tmp_path / "pages/style-gone.html").exists()


def test_scripts_are_made_anew_only_where_they_must_be(tmp_path: Path) -> None:
    """Whole ones of the same version stay; others, and those of another version, do not."""
    script = tmp_path / "vega.js"

    def written() -> bytes:
        write_pages((), Frame("", "", "", ""), tmp_path, tmp_path)
        return script.read_bytes()

    made = written()
    assert b"vegaEmbed" in made
    mark = made.splitlines()[0]
    sound = b"kept();"
    kept = mark.replace(mark.split()[-1], sha256(sound).hexdigest().encode()) + b"\n" + sound
    script.write_bytes(kept)
    assert written() == kept
    for other in (made[:-1], made.replace(b"vl-convert ", b"vl-convert 0", 1)):
        script.write_bytes(other)
        assert written() == made


def test_what_a_cut_build_left_is_tidied(store: Path, tmp_path: Path) -> None:
    """Old pages that a kill left moved aside are pages again, and half-made ones go."""
    build(store, tmp_path / "pages")
    (tmp_path / "pages").rename(tmp_path / ".pages.old")
    (tmp_path / ".pages.new").mkdir()
    build(store, tmp_path / "pages")
    assert [path.name for path in tmp_path.iterdir()] == ["pages"]


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux exchanges folders in one step")
def test_a_reader_never_meets_a_missing_page(store: Path, tmp_path: Path) -> None:
    """While pages are written anew the first page is there at every look."""
    page = tmp_path / "pages" / "index.html"
    build(store, tmp_path / "pages")
    with ThreadPoolExecutor(1) as pool:
        building = pool.submit(lambda: [build(store, tmp_path / "pages") for _ in range(3)])
        looks = []
        while not building.done():
            looks.append(page.is_file())
    assert len(looks) > 1000
    assert all(looks)


def test_a_folder_of_other_things_is_left_alone(store: Path, tmp_path: Path) -> None:
    """Only a folder that holds our pages is replaced."""
    (tmp_path / "letter.txt").write_text("mine")
    with pytest.raises(FolderError, match="name another folder"):
        build(store, tmp_path)
    assert (tmp_path / "letter.txt").read_text() == "mine"


def test_a_place_that_cannot_be_written_is_a_plain_message(store: Path, tmp_path: Path) -> None:
    """The message names the folder, and nothing half-made stays."""
    (tmp_path / "letter.txt").write_text("mine")
    with pytest.raises(FolderError, match=r"cannot be written to .*letter\.txt/pages"):
        build(store, tmp_path / "letter.txt" / "pages")
    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]


def test_every_page_forbids_all_but_its_own_folder(pages: Path, empty_pages: Path) -> None:
    """Each page has the policy, once and exactly, and refers to no place elsewhere."""
    for page in (*pages.glob("*.html"), *empty_pages.glob("*.html")):
        links = Links(page)
        assert links.policy == [POLICY], page.name
        assert not [t for t in links.targets if re.match(r"[a-z]+:|//", t)], page.name


def test_every_link_leads_somewhere(pages: Path, empty_pages: Path) -> None:
    """A file that a page refers to exists, and so does the place within it."""
    for folder in (pages, empty_pages):
        for page in folder.glob("*.html"):
            for target in Links(page).targets:
                file, _, place = target.partition("#")
                assert (folder / (file or page.name)).is_file(), target
                assert not place or place in Links(folder / (file or page.name)).places, target


def test_every_id_of_a_page_is_there_once(pages: Path) -> None:
    """A label that names another element finds the right one."""
    for page in pages.glob("*.html"):
        places = Links(page).places
        assert len(places) == len(set(places)), page.name


def test_lengths_have_one_decimal_in_the_two_main_files(pages: Path) -> None:
    """Days to one decimal, nothing where there is no number, shares untouched."""
    dates = pl.read_csv(pages / "data/best_before.csv", infer_schema=False)
    bottle = dates.filter(style="pale lager", format="bottle", route="ambient").row(0, named=True)
    assert bottle["shelf_life_days"] == "128.4"
    assert bottle["oldest_tasted_days"] == "120.0"
    assert bottle["share_rejected"] == "0.25"
    assert dates.filter(style="wheat")["shelf_life_days"].to_list() == [None]
    lives = pl.read_csv(pages / "data/shelf_life.csv", infer_schema=False)
    assert lives["shelf_life_days"].drop_nulls().str.contains(r"^\d+\.\d$").all()
    assert lives.height == 36
