"""Whatever a file holds: no traceback, no silent change, every row stored or set aside.

A few files of each kind in every run of the tests; 5,000 with `--hypothesis-profile=endurance`.
"""

from __future__ import annotations

import csv
import io
import math
import zipfile
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING

import polars as pl
import pytest
import xlsxwriter
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from pipelines.errors import ReadError
from pipelines.readers.check import Known, check_tables
from pipelines.readers.contract import TABLES
from pipelines.readers.files import read_file
from pipelines.readers.site import Attribute, Limits, Site
from pipelines.readers.workbook import ERRORS

if TYPE_CHECKING:
    from pathlib import Path

    from hypothesis.strategies import DrawFn

    from pipelines.readers.files import FileContent

Rows = list[list[object]]

SOUND: dict[str, Rows] = {
    "beers": [
        ["beer", "style", "abv_pct", "pasteurised"],
        ["Glimmer", "ale", 4.8, "yes"],
        ["Dusk", "stout", 6, ""],
    ],
    "lots": [
        ["lot", "format", "beer", "packaged_on", "started_at", "packages"],
        ["026097", "can", "Glimmer", date(2026, 4, 7), datetime(2026, 4, 7, 6, 30), 1200],  # noqa: DTZ001
        ["026098", "keg", "Glimmer", "2026-04-08", "2026-04-08 07:00", 96],
    ],
    "oxygen": [
        ["lot", "format", "measured_at", "unit", "dissolved", "headspace", "reading", "note"],
        ["0015", "can", "2026-04-07 09:00", "ppb", 21.5, "<5", "R1", "µ-cell"],
        ["0015", "can", "2026-04-07 09:05", "ppb", "30,5", 44, "R2", ""],
    ],
    "samples": [
        ["sample", "lot", "storage_temp_c", "placed_on", "pulled_on", "place"],
        ["P2", "0015", 20, "2026-04-07", "2026-05-07", "warm cupboard"],
        ["P3", "0015", 4, date(2026, 4, 7), date(2026, 5, 7), "Kühlraum"],
    ],
    "tastings": [
        ["session", "tasted_on", "assessor", "sample", "code", "verdict", "stale", "note"],
        ["S1", "2026-05-08", "AB", "P1", "101", "ok", 2, "fine, but flat"],
        ["S1", "2026-05-08", "CD", "P1", "102", "reject", "7,5", "wet paper"],
    ],
    "changes": [
        ["changed_on", "what"],
        ["2026-04-07", "new crown"],
        ["2026-04-08", "seamer reset"],
    ],
}
ODD = (
    *("", " ", "0", "-0", "007", "1,234", "1.234,5", "1'234.5", "26097.0", "2.61E+04", "1e999"),
    *("nan", "inf", "<10", ">", "07.04.2026", "7/4/26", "2026-02-30", "2026-13-01", "0000-00-00"),
    *("2026-04-07T25:00", "9999-12-31", "=1+1", "formula =A1", "#N/A", "#DIV/0!", "#", "# x", "'1"),
    *("ok;", ";", ";;", "\u00a0", "\u200b", "\u202e", "é", "e\u0301", "ß", "µ", "μ", "−1", "١٢"),
    *("TRUE", "yes", "void", "null", "None", '"', '""', "a\nb", "a\r\nb", "a\tb", "\\", "{}", "[]"),
    *("x" * 65, "x" * 2_000, "*", "^.*$", "{0}", "%s", "\x7f", "\x85", "\u2028", "½", "🍺"),
    *("A, B; C", "0015", "P1", "Glimmer"),
)
# What Unicode calls a space; Python counts four control characters among them as well.
SPACES = "".join(filter(str.isspace, map(chr, range(0x3001)))).translate(
    dict.fromkeys(range(0x1C, 0x20))
)
VALUES = (0.1, -1, 1e20, 1e-9, 10**15, True, False, None, date(2026, 4, 7), date(1900, 1, 1))
TEXTS = st.one_of(
    st.sampled_from(ODD),
    st.text(st.characters(codec="utf-8", exclude_characters="\0\ufeff"), max_size=12),
)


@st.composite
def changed_rows(draw: DrawFn, *, texts_only: bool = False) -> tuple[str, Rows]:
    """Draw a table with some of its cells, headings, rows and columns changed."""
    name = draw(st.sampled_from(list(SOUND)))
    rows = [list(row) for row in SOUND[name]]
    cells = TEXTS if texts_only else st.one_of(TEXTS, st.sampled_from(VALUES))
    for _ in range(draw(st.integers(0, 4))):
        row = draw(st.integers(0, len(rows) - 1))
        column = draw(st.integers(0, len(rows[0]) - 1))
        match draw(st.sampled_from(["cell", "cell", "cell", "again", "column", "swap"])):
            case "cell" if column < len(rows[row]):
                rows[row][column] = draw(TEXTS if row == 0 else cells)
            case "again":
                rows.insert(len(rows), list(rows[row]))
            case "column" if len(rows[0]) > 1:
                rows = [cell[:column] + cell[column + 1 :] for cell in rows]
            case _:
                rows = [[*reversed(cell)] for cell in rows]
    return name, rows


@st.composite
def text_files(draw: DrawFn) -> tuple[str, bytes, list[list[str]]]:
    """Draw a text file in any dress: the table's name, its bytes, and the rows that it shows."""
    name, rows = draw(changed_rows(texts_only=True))
    shown = [["" if cell is None else str(cell) for cell in row] for row in rows]
    # A carriage return alone ends a line, and a heading may hold what parts it: both need quotes.
    bare = not any(set(heading) & set(",;\t") for heading in shown[0])
    bare = bare and not any("\r" in cell for row in shown for cell in row)
    quoting = [csv.QUOTE_ALL, *([csv.QUOTE_MINIMAL] if bare else [])]
    text = io.StringIO(newline="")
    csv.writer(
        text,
        delimiter=draw(st.sampled_from(",;\t")),
        quoting=draw(st.sampled_from(quoting)),
        lineterminator=draw(st.sampled_from(["\n", "\r\n"])),
    ).writerows(shown)
    encodings = ["utf-8", "utf-8-sig", "utf-16"]
    content = text.getvalue()
    if is_western(content):
        encodings.append("cp1252")
    return name, content.encode(draw(st.sampled_from(encodings))), shown


def is_western(content: str) -> bool:
    """Whether a text can be told to be Windows-1252 once it is written so."""
    try:
        written = content.encode("cp1252")
        return written.isascii() or "\ufffd" in written.decode(errors="replace")
    except UnicodeEncodeError:
        return False


@st.composite
def changed_bytes(draw: DrawFn, content: bytes) -> bytes:
    """Draw bytes with a few of them changed, added, taken out, or the end torn off."""
    changed = bytearray(content)
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, max(len(changed) - 1, 0)))
        match draw(st.sampled_from(["change", "change", "add", "take", "tear"])):
            case "change" if changed:
                changed[place] = draw(st.integers(0, 255))
            case "add":
                changed[place:place] = draw(st.binary(min_size=1, max_size=6))
            case "take":
                del changed[place : place + draw(st.integers(1, 20))]
            case "tear":
                del changed[place:]
    return bytes(changed)


def workbook(name: str, rows: Rows) -> bytes:
    """Write a workbook of one sheet; a text that begins with = is a formula without a value."""
    content = io.BytesIO()
    options = {"in_memory": True, "default_date_format": "yyyy-mm-dd hh:mm"}
    with xlsxwriter.Workbook(content, options) as book:
        book.set_properties({"created": datetime(2026, 1, 1)})  # noqa: DTZ001 - not by the clock
        sheet = book.add_worksheet(name)
        for number, row in enumerate(rows):
            for place, cell in enumerate(row):
                if isinstance(cell, str) and not cell.startswith("=") and len(cell) < 32_767:
                    sheet.write_string(number, place, cell)
                elif cell is not None:
                    sheet.write(number, place, cell)
    return content.getvalue()


@st.composite
def broken_workbooks(draw: DrawFn) -> tuple[str, bytes]:
    """Draw a workbook with bytes changed, of the whole package or within one of its parts."""
    name, rows = draw(changed_rows())
    whole = workbook(name, rows)
    if draw(st.booleans()):
        return name, draw(changed_bytes(whole))
    with zipfile.ZipFile(io.BytesIO(whole)) as package:
        parts = {part: package.read(part) for part in package.namelist()}
    part = draw(st.sampled_from(sorted(parts)))
    parts[part] = draw(changed_bytes(parts[part]))
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as package:
        for written, inner in parts.items():
            package.writestr(written, inner)
    return name, content.getvalue()


@st.composite
def parquet_files(draw: DrawFn) -> tuple[str, bytes, pl.DataFrame]:
    """Draw a Parquet file: the table's name, its bytes, and its frame of texts."""
    name, rows = draw(changed_rows(texts_only=True))
    headings = [str(heading) or "unnamed" for heading in rows[0]]
    frame = pl.DataFrame(
        {
            heading: [None if row[place] is None else str(row[place]) for row in rows[1:]]
            for place, heading in enumerate(headings)
        },
        schema=dict.fromkeys(headings, pl.String),
    )
    content = io.BytesIO()
    frame.write_parquet(content)
    return name, content.getvalue(), frame


SITE = Site(
    words={"accept": ("ok",)},
    attributes={"stale": Attribute(0, 10, "high", 4)},
    limits=Limits(largest_file_mb=2, most_cells=200_000),
)
KNOWN = Known(
    beers=frozenset({"Glimmer"}),
    formats=frozenset({"can", "keg"}),
    lots=frozenset({("0015", "can")}),
    samples=frozenset({"P1"}),
    assessors=frozenset({"AB", "CD"}),
)
some_files = settings(
    max_examples=settings().max_examples // 5,
    deadline=None,  # a busy machine is no fault
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give one folder for all the files."""
    return tmp_path_factory.mktemp("mutated")


def taken_in(folder: Path, name: str, content: bytes) -> FileContent | None:
    """Read and check a file, see that each of its rows is accounted for; None if it was refused."""
    path = folder / name
    path.write_bytes(content)
    try:
        read = read_file(path, folder, SITE)
    except ReadError as error:
        refusal = str(error)
    else:
        refusal = ""
    if refusal:
        assert refusal.startswith(name)
        event("refused")
        return None
    checked = check_tables(read.tables, KNOWN, SITE)
    for raw in read.tables:
        good = checked.tables[raw.table]
        stored = set(good["row_number"])
        aside = set(checked.set_aside.filter(table_name=raw.table)["row_number"])
        assert not stored & aside
        again = sum(
            int(mention.text.rpartition(": ")[2])
            for mention in checked.mentions
            if mention.text.startswith("rows that say again")
        )
        assert raw.cells.height - len(stored | aside) <= again
        assert stored | aside <= set(raw.cells["row_number"])
        assert_says_the_same(raw.table, good, raw.cells)
        event("stored" if stored else "set aside" if aside else "empty")
    return read


def assert_says_the_same(table: str, good: pl.DataFrame, cells: pl.DataFrame) -> None:
    """Every value that is stored is what its text says, by another way of reading it."""
    texts = {row["row_number"]: row for row in cells.iter_rows(named=True)}
    columns = [column for column in TABLES[table].columns if column.name in cells.columns]
    for row in good.iter_rows(named=True):
        for column in columns:
            text, value = texts[row["row_number"]][column.name], row[column.name]
            if column.name == "format" and text is None:
                continue  # filled in where the lot says which
            assert (text is None) == (value is None) or column.default
            match column.kind:
                case "identifier" | "text":
                    assert value == text
                case "number" | "integer" if text:
                    said = float(text.lstrip("<> ").replace(",", ".").replace("−", "-"))
                    assert math.isclose(value, said, rel_tol=1e-15)
                case "date" if text:
                    assert value == date.fromisoformat(text[:10])
                case "time" if text:
                    assert value == datetime.fromisoformat(text)
                case _:
                    pass


def shown_rows(rows: list[list[str | None]]) -> list[dict[int, str]]:
    """What a person sees of rows: filled cells by their place, without outer spaces."""
    stripped = [
        {place: cell.strip(SPACES) for place, cell in enumerate(row) if cell and cell.strip(SPACES)}
        for row in rows
    ]
    return [row for row in stripped if row and not is_remark(row)]


def is_remark(row: dict[int, str]) -> bool:
    """Whether a row is a comment."""
    return row.get(0, "").startswith("#") and row.get(0) not in ERRORS


def assert_nothing_lost(read: FileContent, shown: list[dict[int, str]]) -> None:
    """Every filled cell below the headings is among the cells of its row, and no other is."""
    (raw,) = read.tables
    found = [
        sorted(value for name, value in row.items() if name != "row_number" and value is not None)
        for row in raw.cells.iter_rows(named=True)
    ]
    beyond = any("beyond" in name for name in raw.cells.columns)
    assert len(found) == len(shown[1:])
    if not beyond:
        assert found == [sorted(row.values()) for row in shown[1:]]


@some_files
@given(text_files())
def test_text_with_odd_cells(folder: Path, file: tuple[str, bytes, list[list[str]]]) -> None:
    """A text file of any dress shows its cells to the letter, or is refused."""
    name, content, shown = file
    read = taken_in(folder, f"{name}.csv", content)
    if read:
        assert_nothing_lost(read, shown_rows([list(row) for row in shown]))


@some_files
@given(text_files(), st.data())
def test_text_with_broken_bytes(
    folder: Path, file: tuple[str, bytes, list[list[str]]], data: st.DataObject
) -> None:
    """A text file with bytes changed is read or refused in words."""
    name, content, _ = file
    taken_in(folder, f"{name}.csv", data.draw(changed_bytes(content)))


@some_files
@given(changed_rows())
def test_workbooks_with_odd_cells(folder: Path, table: tuple[str, Rows]) -> None:
    """A workbook shows every cell as a person sees it: numbers, days, errors and formulas too."""
    name, rows = table
    read = taken_in(folder, f"{name}.xlsx", workbook(name, rows))
    if read:
        assert_nothing_lost(read, shown_rows([[as_shown(cell) for cell in row] for row in rows]))


def as_shown(cell: object) -> str | None:
    """The text of a workbook's cell."""
    if cell is None or isinstance(cell, str):
        return f"formula {cell}" if cell and cell.startswith("=") else cell
    if isinstance(cell, date):
        return str(cell)
    # Numbers stand without an exponent, as polars writes them too.
    return str(cell).lower() if isinstance(cell, bool) else format(Decimal(repr(cell)), "f")


@some_files
@given(broken_workbooks())
def test_workbooks_with_broken_bytes(folder: Path, file: tuple[str, bytes]) -> None:
    """A workbook with bytes changed, of the package or of a part, is read or refused in words."""
    name, content = file
    taken_in(folder, f"{name}.xlsx", content)


@some_files
@given(parquet_files(), st.data())
def test_parquet(folder: Path, file: tuple[str, bytes, pl.DataFrame], data: st.DataObject) -> None:
    """A Parquet file shows its cells to the letter; with bytes changed it is read or refused."""
    name, content, frame = file
    read = taken_in(folder, f"{name}.parquet", content)
    if read:
        assert_nothing_lost(
            read, shown_rows([[*frame.columns], *(list(row) for row in frame.rows())])
        )
    taken_in(folder, f"{name}.parquet", data.draw(changed_bytes(content)))
