"""A workbook as the zip package that it is, looked through before it is opened as a workbook.

It is unpacked once to see how large it is really, whether it is whole, how far its cells reach, and
which formulas have no stored value: what reads the cells later shows such a formula as an empty
cell, and would take memory for everything between A1 and the last one.
"""

from __future__ import annotations

import posixpath
import re
import sys
import zipfile
import zlib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from xml.parsers import expat

from pipelines.errors import ReadError

if TYPE_CHECKING:
    from pathlib import Path

    from pipelines.readers.site import Limits

PACKAGES = (".xlsx", ".xlsm", ".xlsb", ".ods")
MEGABYTE = 1_000_000
_UNPACKED = 10  # times the largest file; the sheets of a brewery unpack to five to ten times
_FORMULA = re.compile(rb"<(?:\w+:)?f[\s/>]")
# How many columns there may be, by the longest name of one; A to Z where none of these is found.
_WIDE = (
    (re.compile(rb' r="[A-Z]{3}\d'), 16_384),
    (re.compile(rb' r="[B-Z][A-Z]\d'), 702),
    (re.compile(rb' r="A[A-Z]\d'), 52),
)
_ROW = re.compile(rb'<row [^>]*?\br="(\d{1,7})"')
_REFERENCE = re.compile(r"([A-Z]{1,3})(\d{1,7})")
_CALCULATED_TEXT = "str"  # of a formula whose value may be an empty text


@dataclass(frozen=True)
class Formula:
    """A formula without a stored value.

    Attributes:
        row: Its row, counted from 0.
        column: Its column, counted from 0.
        text: What it says, without the equals sign.
    """

    row: int
    column: int
    text: str


def uncalculated(path: Path, file: str, limits: Limits) -> dict[str, list[Formula]]:
    """Look through a package.

    Args:
        path: The workbook.
        file: Its name in messages.
        limits: How large it may be.

    Returns:
        By the name of the sheet, the formulas without a stored value; of .xlsx and .xlsm only.

    Raises:
        ReadError: It unpacks to more than it may, reaches too far, or is not whole.
    """
    try:
        with zipfile.ZipFile(path) as package:
            parts = _unpacked(package, file, limits)
            if path.suffix.lower() not in {".xlsx", ".xlsm"}:
                return {}
            names, never_calculated = _sheets(parts)
            return {
                name: _formulas(
                    parts[part],
                    f"{file}, sheet {name}",
                    limits,
                    never_calculated=never_calculated,
                )
                for name, part in names.items()
                if part in parts
            }
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, expat.ExpatError) as bad:
        message = (
            f"{file} cannot be read as a workbook: it is broken; open it, save it again as .xlsx "
            "and put it back"
        )
        raise ReadError(message) from bad
    except RuntimeError as locked:  # what zipfile says where a part asks for a password
        message = f"{file} is protected by a password: save it without one and put it back"
        raise ReadError(message) from locked


def _unpacked(package: zipfile.ZipFile, file: str, limits: Limits) -> dict[str, bytes]:
    """Unpack every part, which checks it too; what a part says of its own size is not believed."""
    most = int(limits.largest_file_mb * MEGABYTE * _UNPACKED)
    parts, left = {}, most
    for part in package.infolist():
        part.file_size = sys.maxsize
        with package.open(part) as opened:
            content = opened.read(left + 1)
        left -= len(content)
        if left < 0:
            message = (
                f"{file} unpacks to more than {most / MEGABYTE:g} MB: copy the table alone into a "
                "new workbook, or raise largest_file_mb under [intake] in the configuration"
            )
            raise ReadError(message)
        if part.filename.endswith((".xml", ".rels")):
            parts[part.filename] = content
    return parts


def _sheets(parts: dict[str, bytes]) -> tuple[dict[str, str], bool]:
    """Each sheet's name with its part, and whether whoever wrote the formulas left them undone."""
    targets = {
        found["Id"]: posixpath.normpath(posixpath.join("/xl", found["Target"])).lstrip("/")
        for name, found in _elements(parts.get("xl/_rels/workbook.xml.rels", b""))
        if name == "Relationship" and {"Id", "Target"} <= found.keys()
    }
    sheets, never_calculated = {}, False
    for name, found in _elements(parts.get("xl/workbook.xml", b"")):
        if name == "sheet" and "name" in found:
            sheets[found["name"]] = targets.get(found.get("id", ""), "")
        elif name == "calcPr":
            never_calculated = found.get("fullCalcOnLoad") in {"1", "true"}
    return sheets, never_calculated


def _elements(xml: bytes) -> list[tuple[str, dict[str, str]]]:
    """Every element of a small part with its attributes, names without their prefixes."""
    found: list[tuple[str, dict[str, str]]] = []
    if xml:
        parser = expat.ParserCreate()
        parser.StartElementHandler = lambda name, attributes: found.append(
            (_local(name), {_local(key): value for key, value in attributes.items()})
        )
        parser.Parse(xml, True)  # noqa: FBT003 - expat names no arguments
    return found


def _local(name: str) -> str:
    return name.rpartition(":")[2]


def _formulas(xml: bytes, where: str, limits: Limits, *, never_calculated: bool) -> list[Formula]:
    """The formulas of a sheet without a stored value, if it reaches no further than it may.

    Most sheets have no formula and reach nowhere near too far: that is seen without reading them
    cell by cell.
    """
    if not _FORMULA.search(xml) and _most_cells(xml) <= limits.most_cells:
        return []
    cells = _Cells(never_calculated=never_calculated)
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = cells.start
    parser.CharacterDataHandler = cells.text
    parser.EndElementHandler = cells.end
    parser.Parse(xml, True)  # noqa: FBT003 - expat names no arguments
    if (cells.last_row + 1) * (cells.last_column + 1) > limits.most_cells:
        message = (
            f"{where}, has a cell in row {cells.last_row + 1} and one in column "
            f"{_letters(cells.last_column)}: delete what stands far outside of the table "
            "(Ctrl+End goes there), or raise most_cells under [intake] in the configuration"
        )
        raise ReadError(message)
    return cells.found


def _most_cells(xml: bytes) -> float:
    """How many cells a sheet has at most, by its last row and the longest name of a column."""
    last = _ROW.match(xml, max(xml.rfind(b"<row "), 0))
    if last is None:
        return float("inf") if b":row" in xml or b"<row" in xml else 0
    width = next((width for pattern, width in _WIDE if pattern.search(xml)), 26)
    return int(last[1]) * width


def _letters(column: int) -> str:
    """The name that a column has in a workbook: A, B, … Z, AA."""
    letters, left = "", column + 1
    while left:
        left, letter = divmod(left - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return letters


@dataclass
class _Cells:
    """Listens to a sheet's elements, and keeps how far its cells reach and what is not calculated.

    Attributes:
        never_calculated: Whether a formula's 0 only holds the place of its value.
    """

    never_calculated: bool
    last_row: int = -1
    last_column: int = -1
    found: list[Formula] = field(default_factory=list)
    _row: int = -1
    _column: int = -1
    _kind: str = ""
    _within: str = ""
    _formula: str | None = None
    _value: str = ""

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Begin a row, a cell or a part of it; what has no reference follows the one before."""
        name = _local(name)
        if name == "row":
            self._row = int(attributes.get("r", self._row + 2)) - 1
            self._column = -1
        elif name == "c":
            self._column += 1
            place = _REFERENCE.fullmatch(attributes.get("r", ""))
            if place:
                self._row = int(place[2]) - 1
                self._column = _number(place[1])
            self._kind = attributes.get("t", "")
            self._formula, self._value = None, ""
        elif name == "f":
            self._formula, self._within = "", "f"
        elif name in {"v", "t"}:
            self._within = "v"

    def text(self, text: str) -> None:
        """Take in the text of a formula or of a value."""
        if self._within == "f":
            self._formula = (self._formula or "") + text
        elif self._within == "v":
            self._value += text

    def end(self, name: str) -> None:
        """End a part of a cell, or the cell."""
        name = _local(name)
        if name in {"f", "v", "t"}:
            self._within = ""
        elif name == "c":
            self._judge()

    def _judge(self) -> None:
        undone = not self._value or (self._value == "0" and self.never_calculated)
        if self._formula is not None and undone and self._kind != _CALCULATED_TEXT:
            self.found.append(Formula(self._row, self._column, self._formula))
        if self._formula is not None or self._value:
            self.last_row = max(self.last_row, self._row)
            self.last_column = max(self.last_column, self._column)


def _number(letters: str) -> int:
    """A column's number, counted from 0."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number - 1
