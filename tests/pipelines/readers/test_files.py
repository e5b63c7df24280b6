"""Files of every kind to tables of text."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import polars as pl
import pytest

from pipelines.errors import ReadError
from pipelines.readers.files import inbox_files

if TYPE_CHECKING:
    from conftest import Inbox


def cells(inbox: Inbox, name: str) -> list[dict[str, object]]:
    """Give the rows of a file's only table."""
    (table,) = inbox.read(name).tables
    return table.cells.to_dicts()


@pytest.mark.parametrize(
    ("content", "encoding"),
    [
        ("lot,quantity,unit\n0012,haze,µg/L\n", "utf-8"),
        ("lot;quantity;unit\n0012;haze;µg/L\n", "utf-8-sig"),
        ("lot\tquantity\tunit\r\n0012\thaze\tµg/L\r\n", "cp1252"),
        ('"LOT","Quantity ","u n_i t"\n" 0012","haze","µg/L"', "utf-8"),
        ("lot\tquantity\tunit\n0012\thaze\tµg/L\n", "utf-16"),
    ],
)
def test_text_in_any_dress(inbox: Inbox, content: str, encoding: str) -> None:
    """Delimiter, encoding, case and spaces of the headings do not matter; leading zeros stay."""
    inbox.text("lot_results.csv", content, encoding)
    expected = {"row_number": 2, "lot": "0012", "quantity": "haze", "unit": "µg/L"}
    assert cells(inbox, "lot_results.csv") == [expected]


def test_row_numbers_of_text(inbox: Inbox) -> None:
    """A row's number is its first line, whatever empty lines, comments and long cells precede."""
    inbox.text(
        "changes.csv",
        '# kept by hand\n\nchanged_on,what\n2026-01-01,"new\ncrown"\n , \n#x,y\n2026-01-02,reset\n',
    )
    assert [(row["row_number"], row["what"]) for row in cells(inbox, "changes.csv")] == [
        (4, "new\ncrown"),
        (8, "reset"),
    ]


def test_workbook_cells(inbox: Inbox) -> None:
    """Whole numbers, zeros, days and the numbers of rows come out of a workbook as written."""
    inbox.workbook(
        "cellar.xlsx",
        {
            "Lots 2026": [
                [],
                ["Lot", "packaged on", "packages"],
                [26097.0, datetime(2026, 1, 2), 0.5],  # noqa: DTZ001 - a workbook has no zone
                [],
                ["0012", "2026-01-03", True],
            ],
            "notes": [["call the cooper"]],
            "Tabelle3": [],
        },
    )
    content = inbox.read("cellar.xlsx")
    assert content.tables[0].sheet == "Lots 2026"
    assert content.tables[0].cells.rows() == [
        (3, "26097", "2026-01-02", "0.5"),
        (5, "0012", "2026-01-03", "true"),
    ]
    assert [mention.sheet for mention in content.mentions] == ["notes"]


def test_workbook_named_as_its_table(inbox: Inbox) -> None:
    """A workbook with one filled sheet may say by its own name which table it is."""
    inbox.workbook("beers.xlsx", {"Sheet1": [["beer"], ["Glimmer"]], "Sheet2": []})
    content = inbox.read("beers.xlsx")
    assert [(table.table, table.sheet) for table in content.tables] == [("beers", "Sheet1")]
    assert content.mentions == ()


def test_parquet_cells(inbox: Inbox) -> None:
    """Every type of a Parquet file comes out as text, its first row being row 2."""
    frame = pl.DataFrame(
        {
            "lot": [26097.0, None],
            "measured at": [datetime(2026, 1, 2, 3, 4), None],  # noqa: DTZ001 - local time
            "quantity": ["haze", "ph"],
            "remark": [[1, 2], None],
        }
    )
    inbox.parquet("lot_results.parquet", frame)
    first, second = cells(inbox, "lot_results.parquet")
    assert first["lot"] == "26097"
    assert first["measured_at"] == "2026-01-02 03:04:00.000000"
    assert first["remark"] == '{"remark":[1,2]}'
    assert (second["row_number"], second["lot"]) == (3, None)


@pytest.mark.parametrize(
    ("name", "table"),
    [
        ("oxygen.csv", "oxygen"),
        ("oxygen-2026-w14.csv", "oxygen"),
        ("Oxygen_may.csv", "oxygen"),
        ("route stages.csv", "route_stages"),
        ("ROUTES 2.csv", "routes"),
        ("lot_results.csv", "lot_results"),
        ("lotsize.csv", None),
        ("tasting.csv", None),
    ],
)
def test_which_table(inbox: Inbox, name: str, table: str | None) -> None:
    """A file's name begins with the table's, as a word of its own."""
    inbox.text(name, "a,b\n1,2\n")
    content = inbox.read(name)
    assert [found.table for found in content.tables] == ([table] if table else [])


def test_nearest_table(inbox: Inbox) -> None:
    """A name that is nearly a table's is told so."""
    inbox.text("tasting 2026.csv", "a\n1\n")
    (mention,) = inbox.read("tasting 2026.csv").mentions
    assert "did you mean tastings?" in mention.text


def test_unknown_heading(inbox: Inbox) -> None:
    """An unknown heading is told once with the nearest known one, and keeps its cells."""
    inbox.text("lots.csv", "lott,packaged on,,hop\n1,2026-01-01,x,red\n2,,,\n")
    content = inbox.read("lots.csv")
    assert [mention.text for mention in content.mentions] == [
        "the heading lott is not known: did you mean lot? (cells kept aside)",
        "column 3 has no heading (cells kept aside)",
        "the heading hop is not known (cells kept aside)",
    ]
    assert content.tables[0].cells.row(0) == (2, "1", "2026-01-01", "x", "red")


def test_headings_of_the_site(inbox: Inbox) -> None:
    """A site's own heading stands for the contract's column; headspace is not headspace_ml."""
    inbox.text("oxygen.csv", "O2_TOTAL,headspace,Headspace ml\n1,2,3\n")
    assert cells(inbox, "oxygen.csv") == [
        {"row_number": 2, "total": "1", "headspace": "2", "headspace_ml": "3"}
    ]


def test_headings_that_say_the_same(inbox: Inbox) -> None:
    """Two headings for one column are both kept, and the table says which column it is."""
    inbox.text("oxygen.csv", "lot,total,O2 total,lot,row_number\na,1,2,b,9\n")
    (table,) = inbox.read("oxygen.csv").tables
    assert table.doubled == ("total", "lot")
    assert table.cells.row(0) == (2, "a", "1", "2", "b", "9")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("", "there is nothing in it"),
        ("\n # x\n", "there is nothing in it"),
        ("beer,style,abv_pct\n", "there are headings and no rows"),
    ],
)
def test_empty_files(inbox: Inbox, content: str, said: str) -> None:
    """A file without rows is a table without rows, and is mentioned."""
    inbox.text("beers.csv", content)
    read = inbox.read("beers.csv")
    assert read.tables[0].cells.height == 0
    assert [mention.text for mention in read.mentions] == [said]


@pytest.mark.parametrize(
    ("name", "content", "advice"),
    [
        ("lots.xlsx", b"PK\x03\x04 torn", "save it again as .xlsx"),
        ("lots.parquet", b"no parquet", "write it again"),
        ("lots.csv", b"lot\n\x81\x8d\n", "save it as CSV UTF-8"),
        ("lots.csv", b'lot,format\nA,can\n"B,can\nC,can\n', "from row 3 on"),
    ],
)
def test_unreadable_files(inbox: Inbox, name: str, content: bytes, advice: str) -> None:
    """A file that cannot be read is named, with what to do."""
    (inbox.path / name).write_bytes(content)
    with pytest.raises(ReadError, match=advice) as error:
        inbox.read(name)
    assert str(error.value).startswith(name)


def test_other_kinds_of_file(inbox: Inbox) -> None:
    """A file of a kind that holds no tables is mentioned and not read."""
    inbox.text("lots.docx", "")
    content = inbox.read("lots.docx")
    assert content.tables == ()
    assert content.mentions[0].text.startswith("no CSV, workbook or Parquet file")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("lots.csv", "there is no file lots.csv"),
        ("beers", "beers is a folder: name the files in it"),
    ],
)
def test_what_is_no_file(inbox: Inbox, name: str, said: str) -> None:
    """A file that is not there, and a folder, are called that."""
    (inbox.path / "beers").mkdir()
    with pytest.raises(ReadError, match=f"^{said}$"):
        inbox.read(name)


def test_what_lies_in_the_inbox(inbox: Inbox) -> None:
    """Folders are looked through; hidden files and a workbook's lock file are no files."""
    for name in ("b.csv", "2026/a.csv", ".hidden.csv", "~$b.xlsx", ".git/c.csv"):
        inbox.text(name, "")
    found = [path.relative_to(inbox.path).as_posix() for path in inbox_files(inbox.path)]
    assert found == ["2026/a.csv", "b.csv"]
    assert inbox.read("2026/a.csv").file == "2026/a.csv"
    with pytest.raises(ReadError, match="there is no inbox"):
        inbox_files(inbox.path / "none")
