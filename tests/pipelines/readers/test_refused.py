"""Files that are refused whole, in words, and those that only look as if they should be."""

from __future__ import annotations

import struct
import zipfile
from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl
import pytest
import xlsxwriter

from pipelines.errors import ReadError
from pipelines.readers.site import Limits

if TYPE_CHECKING:
    from pathlib import Path

    from conftest import Inbox

BEERS = [["beer", "style", "abv_pct"], ["Dusk", "stout", 6]]
SHEET = "xl/worksheets/sheet1.xml"


def limited(inbox: Inbox, limits: Limits) -> Inbox:
    """Give the inbox of a site that takes small files only."""
    return replace(inbox, site=replace(inbox.site, limits=limits))


def padded(path: Path, size: int) -> None:
    """Let the first sheet of a workbook unpack to a size, in spaces that take no room packed."""
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    parts[SHEET] += b" " * (size - len(parts[SHEET]))
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in parts.items():
            package.writestr(name, content)


def test_a_file_that_is_too_large(inbox: Inbox) -> None:
    """A file that is larger than a table ever is says so, and which setting allows it."""
    inbox = limited(inbox, Limits(largest_file_mb=1))
    inbox.text("beers.csv", "x" * 1_500_000)
    with pytest.raises(
        ReadError, match=r"^beers.csv has 2 MB, more than the 1 MB .*largest_file_mb"
    ):
        inbox.read("beers.csv")


def test_too_many_cells(inbox: Inbox) -> None:
    """A file that is small on the disk and large in the memory is refused before it is read."""
    inbox = limited(inbox, Limits(most_cells=1000))
    inbox.parquet("beers.parquet", pl.DataFrame({"beer": ["Dusk"] * 501, "style": ["stout"] * 501}))
    inbox.text("beers.csv", "," * 500 + "\n" + "x\n" * 2)
    for name in ("beers.parquet", "beers.csv"):
        with pytest.raises(ReadError, match=rf"^{name} has \d+ rows of \d+ cells, .*most_cells"):
            inbox.read(name)


def test_an_archive_bomb(inbox: Inbox) -> None:
    """A workbook that unpacks to more than ten times the largest file is not opened."""
    inbox = limited(inbox, Limits(largest_file_mb=0.1))
    path = inbox.workbook("beers.xlsx", {"beers": BEERS})
    padded(path, 900_000)
    assert inbox.read("beers.xlsx").tables[0].cells.height == 1
    padded(path, 1_100_000)
    assert path.stat().st_size < 20_000
    with pytest.raises(
        ReadError, match=r"^beers.xlsx unpacks to more than 1 MB: .*largest_file_mb"
    ):
        inbox.read("beers.xlsx")


def test_a_bomb_that_lies_about_its_size(inbox: Inbox) -> None:
    """What counts is how much comes out, not what the archive's directory says."""
    inbox = limited(inbox, Limits(largest_file_mb=0.1))
    path = inbox.workbook("beers.xlsx", {"beers": BEERS})
    padded(path, 1_100_000)
    honest, small = struct.pack("<I", 1_100_000), struct.pack("<I", 1_000)
    content = path.read_bytes()
    assert content.count(honest) == 2
    path.write_bytes(content.replace(honest, small))
    with pytest.raises(ReadError, match="unpacks to more than 1 MB"):
        inbox.read("beers.xlsx")


@pytest.mark.parametrize(
    ("row", "column", "said"),
    [
        (1_048_575, 16_383, "sheet beers, has a cell in row 1048576 and one in column XFD: delete"),
        (1_048_575, 26, "sheet beers, has a cell in row 1048576 and one in column AA: delete"),
    ],
)
def test_a_cell_far_away(inbox: Inbox, row: int, column: int, said: str) -> None:
    """A stray cell at the far end of a sheet would take the memory of all between."""
    with xlsxwriter.Workbook(inbox.path / "beers.xlsx") as book:
        sheet = book.add_worksheet("beers")
        for number, cells in enumerate(BEERS):
            sheet.write_row(number, 0, cells)
        sheet.write(row, column, "x")
    with pytest.raises(ReadError, match=f"^beers.xlsx, {said}"):
        inbox.read("beers.xlsx")


def test_formats_far_away_are_no_cells(inbox: Inbox) -> None:
    """A column that is coloured down to the last row takes nothing."""
    with xlsxwriter.Workbook(inbox.path / "beers.xlsx") as book:
        sheet = book.add_worksheet("beers")
        for number, cells in enumerate(BEERS):
            sheet.write_row(number, 0, cells)
        sheet.write_blank(1_048_575, 16_383, None, book.add_format({"bg_color": "yellow"}))
    assert inbox.check().tables["beers"]["beer"].to_list() == ["Dusk"]


COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(1000)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("lots.xlsx", b"", "is empty (0 bytes): save it again"),
        ("lots.ods", b"", "is empty (0 bytes): save it again"),
        ("lots.parquet", b"", "is empty (0 bytes): save it again"),
        (
            "lots.xlsx",
            COMPOUND + "EncryptedPackage".encode("utf-16-le"),
            "is protected by a password: save it without one",
        ),
        ("lots.xlsx", COMPOUND, "cannot be read as a workbook: it is only named .xlsx"),
        ("lots.xlsx", b"lot,format\n", "cannot be read as a workbook: it is only named .xlsx"),
        ("lots.xlsx", b"PK\x03\x04 torn", "cannot be read as a workbook: it is broken; open it"),
        ("lots.xls", b"lot,format\n", "cannot be read as a workbook"),
        ("lots.csv", "lot\nä\n".encode("utf-16-le"), "as its row 1 shows: save it as CSV UTF-8"),
        ("lots.csv", "lot\nä\n".encode() + b"\xe4\n", "as its row 3 shows: save it as CSV UTF-8"),
        ("lots.csv", b"\xef\xbb\xbflot\n\xe4\n", "as its row 2 shows: save it as CSV UTF-8"),
        ("lots.csv", b"\xff\xfel\0o\0t", "as its row 1 shows: save it as CSV UTF-8"),
    ],
)
def test_what_is_no_table(inbox: Inbox, name: str, content: bytes, said: str) -> None:
    """What is wrong with a file as a whole is told apart, each with what to do."""
    (inbox.path / name).write_bytes(content)
    with pytest.raises(ReadError) as error:
        inbox.read(name)
    assert str(error.value).startswith(name)
    assert said in str(error.value)


def test_a_part_that_asks_for_a_password(inbox: Inbox) -> None:
    """An archive whose parts are locked is called that."""
    path = inbox.workbook("beers.xlsx", {"beers": BEERS})
    content = bytearray(path.read_bytes())
    for signature, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        place = content.find(signature)
        while place >= 0:
            content[place + flags] |= 1
            place = content.find(signature, place + 1)
    path.write_bytes(content)
    with pytest.raises(ReadError, match=r"^beers.xlsx is protected by a password"):
        inbox.read("beers.xlsx")


def test_a_damaged_workbook(inbox: Inbox) -> None:
    """A byte that changed on the way is found by the archive's own checksum."""
    path = inbox.workbook("beers.xlsx", {"beers": BEERS})
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    with zipfile.ZipFile(path, "w") as package:
        for name, content in parts.items():
            package.writestr(name, content)
    content = path.read_bytes()
    assert content.count(b"<v>6</v>") == 1
    path.write_bytes(content.replace(b"<v>6</v>", b"<v>9</v>"))
    with pytest.raises(ReadError, match=r"^beers.xlsx cannot be read as a workbook: it is broken"):
        inbox.read("beers.xlsx")


@pytest.mark.parametrize("lock", ["~$beers.xlsx", ".~lock.beers.xlsx#"])
def test_a_workbook_that_is_still_open(inbox: Inbox, lock: str) -> None:
    """It is read as it was last saved, and that is said."""
    inbox.workbook("beers.xlsx", {"beers": BEERS})
    inbox.text(lock, "AB")
    content = inbox.read("beers.xlsx")
    assert content.tables[0].cells["beer"].to_list() == ["Dusk"]
    assert [mention.text for mention in content.mentions] == [
        "open in a program: read as it was last saved, what is saved later comes in then"
    ]


def test_one_refused_file_stops_no_other(inbox: Inbox) -> None:
    """A broken file stands beside a sound one, and the sound one comes in."""
    inbox.text("broken.xlsx", "no workbook")
    inbox.text("beers.csv", "beer,style,abv_pct\nDusk,stout,6\n")
    with pytest.raises(ReadError):
        inbox.read("broken.xlsx")
    assert inbox.read("beers.csv").tables[0].cells.height == 1
