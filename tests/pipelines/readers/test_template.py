"""A workbook to be filled in is read back as what was filled in, and as nothing else."""

from __future__ import annotations

import json
import re
from io import BytesIO
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET
from zipfile import ZipFile

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipelines.readers.check import Checked, Known, check_tables
from pipelines.readers.contract import TABLES
from pipelines.readers.examples import EXAMPLES
from pipelines.readers.files import FileContent, read_file
from pipelines.readers.site import Attribute, Site
from pipelines.readers.template import Form, headed_columns, write_forms, write_template

if TYPE_CHECKING:
    from pathlib import Path

    from pipelines.readers.columns import Column

SITE = Site(
    columns={"lots": {"Tank": "batch"}, "oxygen": {"O2 total": "total", "In": "filled_at"}},
    words={"accept": ("ok",)},
    attributes={"stale": Attribute(low=0, high=10, worse="high", cut_off=4)},
)
OWN = {"batch": "Tank", "total": "O2 total", "filled_at": "In"}
MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
FILLED = [Form(table, {}, [EXAMPLES[table.name]]) for table in TABLES.values()]


def template() -> BytesIO:
    """Write the template."""
    book = BytesIO()
    write_template(book, SITE, {("beers", "abv_pct"): "Alcohol, % by volume; required."})
    return book


def read(book: BytesIO, path: Path) -> FileContent:
    """Save a workbook and read it as one that lies in the inbox."""
    path.write_bytes(book.getvalue())
    return read_file(path, path.parent, SITE)


def check(content: FileContent) -> Checked:
    """Check what was read, by itself."""
    return check_tables(content.tables, Known(), SITE)


def sheet_of(book: BytesIO, table: str) -> ET.Element:
    """Give the description of a table's sheet."""
    place = list(TABLES).index(table) + 2  # after the one to be read
    with ZipFile(book) as package:
        return ET.fromstring(package.read(f"xl/worksheets/sheet{place}.xml"))  # noqa: S314 - ours


def test_the_untouched_template_is_nothing_to_speak_of(tmp_path: Path) -> None:
    """It loads no row, has no fault, and nothing is mentioned, not even the sheet to be read."""
    content = read(template(), tmp_path / "stalecurve template.xlsx")
    assert content.mentions == ()
    assert [table.table for table in content.tables] == list(TABLES)
    checked = check(content)
    assert checked.set_aside.is_empty()
    assert checked.mentions == ()
    assert all(rows.is_empty() for rows in checked.tables.values())


@pytest.mark.parametrize("name", TABLES)
def test_headings_are_those_of_the_contract(name: str, tmp_path: Path) -> None:
    """Each column has one, the site's own where it has one, and each is understood."""
    table = TABLES[name]
    expected = [*table.headings[:-1], *(["stale"] if name == "tastings" else []), "void"]
    headed = list(headed_columns(table, SITE))
    assert [column.name for _, column in headed] == expected
    assert {h for h, _ in headed} == {
        OWN.get(c, c) if OWN.get(c) in SITE.columns.get(name, {}) else c for c in expected
    }
    content = read(template(), tmp_path / "template.xlsx")
    (raw,) = (raw for raw in content.tables if raw.table == name)
    assert set(raw.cells.columns) == {*expected, "row_number"}


def test_filled_examples_have_no_fault(tmp_path: Path) -> None:
    """The row that shows how it is done is right in every table, and comes back as it was."""
    book = BytesIO()
    write_forms(book, FILLED, SITE, {})
    content = read(book, tmp_path / "filled.xlsx")
    checked = check(content)
    assert (content.mentions, checked.mentions) == ((), ())
    assert checked.set_aside.rows() == []
    for name, example in EXAMPLES.items():
        (row,) = checked.tables[name].to_dicts()
        given_ = {k: v == "yes" if v in {"yes", "no"} else v for k, v in example.items()}
        assert given_.items() <= row.items(), name


@pytest.mark.parametrize("name", TABLES)
def test_the_grey_row_is_never_loaded(name: str, tmp_path: Path) -> None:
    """It stays where it is when rows are filled in below it, and they alone come in."""
    book = BytesIO()
    form = Form(TABLES[name], EXAMPLES[name], [EXAMPLES[name]])
    write_forms(book, [form], SITE, {})
    (raw,) = read(book, tmp_path / "one.xlsx").tables
    assert raw.cells["row_number"].to_list() == [3]


def test_a_sheet_that_lost_its_rows_is_still_mentioned(tmp_path: Path) -> None:
    """Headings alone are no form: a remark above them, or none, changes nothing."""
    for text in ("beer,style,abv_pct\n", "# exported\nbeer,style,abv_pct\n"):
        (tmp_path / "beers.csv").write_text(text, encoding="utf-8")
        (mention,) = read_file(tmp_path / "beers.csv", tmp_path, SITE).mentions
        assert mention.text == "there are headings and no rows"


def every_list() -> list[tuple[str, Column]]:
    """Give each column that has a closed list."""
    return [
        (name, column)
        for name, table in TABLES.items()
        for column in table.columns
        if column.choices or column.kind == "yes/no"
    ]


@pytest.mark.parametrize(("name", "column"), every_list(), ids=lambda v: getattr(v, "name", v))
def test_every_closed_list_is_offered(name: str, column: Column) -> None:
    """With all of its words, for every row that may be filled in."""
    headings = [c.name for _, c in headed_columns(TABLES[name], SITE)]
    letter = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[headings.index(column.name)]
    lists = {
        rule.attrib["sqref"]: rule.findtext(f"{MAIN}formula1")
        for rule in sheet_of(template(), name).iter(f"{MAIN}dataValidation")
        if rule.attrib.get("type") == "list"
    }
    words = ",".join(column.choices or ("yes", "no"))
    assert lists[f"{letter}2:{letter}1048576"] == f'"{words}"'


def test_no_validation_stops_a_person() -> None:
    """Each can be passed over, since the site's own words and a bound are read too."""
    book = template()
    for name in TABLES:
        rules = list(sheet_of(book, name).iter(f"{MAIN}dataValidation"))
        asked = [c for _, c in headed_columns(TABLES[name], SITE) if c.kind != "text"]
        assert len(rules) >= len({c.kind for c in asked})
        covered = " ".join(rule.attrib["sqref"] for rule in rules).split()
        assert len(covered) == len(asked)
        assert {rule.attrib["errorStyle"] for rule in rules} <= {"warning", "information"}


def test_notes_say_what_is_expected() -> None:
    """The column's sentence, what a cell may hold, and whether it must."""
    with ZipFile(template()) as package:
        notes = package.read("xl/comments1.xml").decode()
    assert "Alcohol, % by volume.\nHere: a number from 0 up to 70. Must be filled." in notes


@given(
    names=st.lists(
        st.from_regex(re.compile(r"[0-9][0-9A-Za-z.,+-]{0,20}", re.ASCII), fullmatch=True),
        min_size=1,
        max_size=5,
        unique=True,
    )
)
def test_codes_come_back_as_they_were_written(
    tmp_path_factory: pytest.TempPathFactory, names: list[str]
) -> None:
    """Zeros in front, what looks like a date or a number with an exponent: all stay text."""
    book = BytesIO()
    rows = [{"beer": name, "style": "ale", "abv_pct": 5} for name in names]
    write_forms(book, [Form(TABLES["beers"], {}, rows)], SITE, {})
    checked = check(read(book, tmp_path_factory.mktemp("codes") / "beers.xlsx"))
    assert checked.set_aside.is_empty()
    assert checked.tables["beers"]["beer"].to_list() == names


def test_columns_of_codes_are_text() -> None:
    """What a person types there stays as typed: 0042 is not 42."""
    book = template()
    with ZipFile(book) as package:
        styles = ET.fromstring(package.read("xl/styles.xml"))  # noqa: S314 - ours
    formats = [xf.attrib["numFmtId"] for xf in styles.iterfind(f"{MAIN}cellXfs/{MAIN}xf")]
    for name, table in TABLES.items():
        shown: dict[int, str] = {}
        for column in sheet_of(book, name).iter(f"{MAIN}col"):
            for place in range(int(column.attrib["min"]), int(column.attrib["max"]) + 1):
                shown[place] = formats[int(column.attrib.get("style", 0))]
        for place, (_, column) in enumerate(headed_columns(table, SITE), start=1):
            assert (shown[place] == "49") == (column.kind in {"identifier", "text"}), column.name


def test_attributes_are_columns_of_tastings(tmp_path: Path) -> None:
    """A score that is filled in is a score."""
    book = BytesIO()
    write_forms(
        book,
        [Form(f.table, {}, [{**f.rows[0], "stale": 3.5}]) for f in FILLED],
        SITE,
        {},
    )
    checked = check(read(book, tmp_path / "filled.xlsx"))
    (scores,) = checked.tables["tastings"]["scores"]
    assert json.loads(scores) == {"stale": 3.5}


def test_a_heading_that_the_site_gave_away_is_left_out() -> None:
    """Where `format` means the kind, no heading can mean the format by that name."""
    site = Site(columns={"formats": {"format": "kind", "Pack": "format"}, "lots": {"beer": "lot"}})
    formats = {c.name: h for h, c in headed_columns(TABLES["formats"], site)}
    assert (formats["kind"], formats["format"]) == ("format", "Pack")
    lots = {c.name: h for h, c in headed_columns(TABLES["lots"], site)}
    assert lots["lot"] == "beer"
    assert "beer" not in lots


def test_examples_are_of_every_table() -> None:
    """None is forgotten, and none names a column that is not there."""
    assert EXAMPLES.keys() == TABLES.keys()
    for name, example in EXAMPLES.items():
        assert example.keys() <= {column.name for column in TABLES[name].columns}
        required = {column.name for column in TABLES[name].columns if column.required}
        assert required <= example.keys()
    assert pl.DataFrame([EXAMPLES["lots"]])["lot"].item().startswith("0")
