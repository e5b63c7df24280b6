"""Workbooks to be filled in: headings, drop-downs and formats as the contract has them.

Everything in them that is no row of a table stands behind a `#`, so that the reader passes over it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, BinaryIO

import xlsxwriter
from xlsxwriter.utility import xl_rowcol_to_cell

from pipelines.readers.columns import IDENTIFIER_LENGTH, VOID, Column, Table
from pipelines.readers.contract import TABLES
from pipelines.readers.convert import YEARS
from pipelines.readers.examples import EXAMPLES
from pipelines.readers.headings import known_headings
from pipelines.readers.names import fold

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

    from pipelines.readers.site import Site

_LAST_ROW = 1_048_575
_MOST_OF_A_NUMBER = 1e12
_GREY = "#808080"
_TEXT = 49  # the format of that name which every workbook has
_FORMATS: dict[str, object] = {
    "identifier": _TEXT,
    "text": _TEXT,
    "date": "yyyy-mm-dd",
    "time": "yyyy-mm-dd hh:mm",
}
READ_ME = """
Each sheet of this workbook is a table that stalecurve reads; its name says which. Fill in what you
have, and leave the other sheets as they are or delete them.

Begin with beers, formats and lots: the other tables name them. Dates come out once there are
samples, tastings, routes and route_stages too; oxygen makes them sharper.

A bold heading must be filled in every row. Point at a heading to see what it expects, and in which
unit. Do not change headings; a column that you do not need may go.

The grey row is an example. A row whose first cell begins with # is never loaded, so it may stay.

Cells with an arrow offer the words that are known. Where several may stand, part them with ;

Days are written 2026-04-07, or as a date of your spreadsheet. Codes of lots, samples and people are
text: zeros in front of them stay.

An empty cell means not known, never zero. <10 means below 10.

A row that came in once is corrected by giving it again with the same key, and withdrawn by a yes
under void.

Save the workbook in the inbox, as often as you like: what is known already is not taken in twice.
The command stalecurve check says every fault beforehand.
"""


@dataclass(frozen=True)
class Form:
    """One sheet to be filled in.

    Attributes:
        table: The table.
        remark: The grey row under the headings, never loaded: cells by the contract's column.
        rows: Rows that stand there already, likewise.
    """

    table: Table
    remark: Mapping[str, object]
    rows: Sequence[Mapping[str, object]] = ()


def write_template(file: BinaryIO, site: Site, notes: Mapping[tuple[str, str], str]) -> None:
    """Write the workbook with a sheet for each table, in the order of the contract.

    Args:
        file: Where it is written.
        site: The site's own headings and attributes.
        notes: What a column holds, in a sentence, by table and column.
    """
    forms = [Form(table, EXAMPLES[table.name]) for table in TABLES.values()]
    write_forms(file, forms, site, notes, READ_ME)


def write_forms(
    file: BinaryIO,
    forms: Sequence[Form],
    site: Site,
    notes: Mapping[tuple[str, str], str],
    read_me: str = "",
) -> None:
    """Write a workbook of forms.

    Args:
        file: Where it is written.
        forms: Its sheets.
        site: The site's own headings and attributes.
        notes: What a column holds, in a sentence, by table and column.
        read_me: The text of a first sheet, paragraphs parted by empty lines; empty for none.
    """
    with xlsxwriter.Workbook(file, {"in_memory": True}) as book:
        if read_me:
            _write_read_me(book, read_me)
        for form in forms:
            _write_form(book, form, site, notes)


def _write_read_me(book: Workbook, words: str) -> None:
    sheet = book.add_worksheet("Read me")
    grey, text = book.add_format({"font_color": _GREY}), book.add_format({"text_wrap": True})
    sheet.set_column(0, 0, 2)
    sheet.set_column(1, 1, 90, text)
    sheet.hide_gridlines(2)
    for number, paragraph in enumerate(words.strip().split("\n\n")):
        sheet.write_string(2 * number, 0, "#", grey)
        sheet.write_string(2 * number, 1, " ".join(paragraph.split()), text)


def headed_columns(table: Table, site: Site) -> Iterator[tuple[str, Column]]:
    """Give the headings of a table's form with their columns: the site's own heading if it has one.

    A column that a site's heading for another one hides has no heading, and is left out.
    """
    known = known_headings(table, site)
    own = site.columns.get(table.name, {})
    for column in _columns(table, site):
        written = [heading for heading, name in own.items() if name == column.name]
        for heading in (*written, column.name):
            if known.get(fold(heading)) == column.name:
                yield heading, column
                break


def _columns(table: Table, site: Site) -> Iterator[Column]:
    yield from table.columns
    values = [column for column in table.columns if column.name == "value"]
    for name in table.wide:
        yield replace(values[0], name=name, required=False)
    if "scores" in table.derived:
        for name, attribute in site.attributes.items():
            yield Column(name, "number", minimum=attribute.low, maximum=attribute.high)
    yield VOID


def _write_form(
    book: Workbook, form: Form, site: Site, notes: Mapping[tuple[str, str], str]
) -> None:
    table, sheet = form.table, book.add_worksheet(form.table.name)
    for place, (heading, column) in enumerate(headed_columns(table, site)):
        shown = {"num_format": _FORMATS.get(column.kind, "General")}
        plain = book.add_format(shown)
        grey = book.add_format({**shown, "font_color": _GREY, "italic": True})
        bold = book.add_format({"bold": column.required, "bottom": 1, "bg_color": "#EEEEEE"})
        sheet.set_column(place, place, max(12, len(heading) + 3), plain)
        sheet.write_string(0, place, heading, bold)
        sheet.write_comment(
            0, place, _note(table, column, site, notes), {"author": "", "x_scale": 2}
        )
        if column.kind != "text":
            sheet.data_validation(1, place, _LAST_ROW, place, _validation(column, place, site))
        _write_cell(sheet, 1, place, _remark(form.remark.get(column.name), place), grey)
        for number, row in enumerate(form.rows, start=2):
            _write_cell(sheet, number, place, row.get(column.name), plain)
    sheet.freeze_panes(1, 0)
    sheet.ignore_errors({"number_stored_as_text": f"A1:XFD{_LAST_ROW + 1}"})


def _write_cell(sheet: Worksheet, row: int, place: int, value: object, style: Format) -> None:
    match value:
        case None:
            pass
        case str():
            sheet.write_string(row, place, value, style)
        case date():
            sheet.write_datetime(row, place, value, style)
        case _:
            sheet.write_number(row, place, value, style)


def _remark(value: object, place: int) -> object:
    """A cell of the grey row, whose first one says that it is a remark."""
    if place:
        return value
    return f"# {'' if value is None else value}"


def _note(table: Table, column: Column, site: Site, notes: Mapping[tuple[str, str], str]) -> str:
    held = notes.get((table.name, column.name), "").replace("; required.", ".")
    if column.name == VOID.name:
        held = "yes withdraws the row with this key."
    elif column.name in table.wide:
        held = "A reading, where quantity and value are left empty."
    elif column.name in site.attributes:
        worse = site.attributes[column.name].worse
        held = f"The score of this glass; the {worse} end of the scale is the worse one."
    must = " Must be filled." if column.required else ""
    return f"{held}\nHere: {column.expected}.{must}".strip()


def _validation(column: Column, place: int, site: Site) -> dict[str, Any]:
    """What a cell may hold, so that a slip is asked about; it can be kept all the same."""
    cell = xl_rowcol_to_cell(1, place)
    # A word of the site's own, or several words, are read too, so that these are no slips.
    lenient = column.kind == "choices" or bool(set(column.choices) & site.words.keys())
    asked: dict[str, Any] = {
        "error_type": "information" if lenient else "warning",
        "error_title": column.name[:32],
        "error_message": f"Expected here: {column.expected}."[:255],
    }
    words = column.choices or (("yes", "no") if column.kind == "yes/no" else ())
    if words:
        return {"validate": "list", "source": list(words), **asked}
    if column.bounded:
        bound = f'=OR(ISNUMBER({cell}),LEFT({cell},1)="<",LEFT({cell},1)=">")'
        return {"validate": "custom", "value": bound, **asked}
    first, last = (datetime(year, 1, 1) for year in (YEARS[0], YEARS[1] + 1))  # noqa: DTZ001
    match column.kind:
        case "number" | "integer":
            validate = "integer" if column.kind == "integer" else "decimal"
            least = column.above if column.minimum is None else column.minimum
            smallest = -_MOST_OF_A_NUMBER if least is None else least
            largest = _MOST_OF_A_NUMBER if column.maximum is None else column.maximum
            return {
                "validate": validate,
                "criteria": "between",
                "minimum": smallest,
                "maximum": largest,
                **asked,
            }
        case "date" | "time":
            return {
                "validate": "date",
                "criteria": "between",
                "minimum": first,
                "maximum": last,
                **asked,
            }
        case _:
            length = {"validate": "length", "criteria": "<=", "value": IDENTIFIER_LENGTH}
            return {**length, **asked}
