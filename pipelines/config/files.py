"""How a site lays out its files: title rows, wide sheets, constants, the order of a date."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from pipelines.config.section import Section, is_texts
from pipelines.readers.contract import TABLES
from pipelines.readers.names import did_you_mean
from pipelines.readers.site import Layout, Limits

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

# The column that the cells under spread headings belong to, where nothing else is said.
_VALUES = {"tastings": "verdict", "oxygen": "value", "lot_results": "value"}


def layouts_of(section: Section, attributes: Collection[str]) -> tuple[Layout, ...]:
    """Read and check `[files."…"]`, each a table or, for several sheets, an array of tables.

    Args:
        section: The table `files`, its keys being patterns of files.
        attributes: The scored attributes of the configuration.

    Returns:
        The layouts in the order of the file.
    """
    return tuple(
        _layout(pattern, own, attributes)
        for pattern in section.values
        for own in _declared(section, pattern)
    )


def limits_of(section: Section) -> Limits:
    """Read and check `[intake]`: how large a file may be."""
    usual = Limits()
    limits = Limits(
        largest_file_mb=section.number("largest_file_mb", usual.largest_file_mb, 0.001, 10_000),
        most_cells=section.whole("most_cells", usual.most_cells, 100, 1_000_000_000),
    )
    section.close()
    return limits


def day_first_of(section: Section) -> bool | None:
    """Read and check `day_first`; None where it is not said."""
    found = section.checked(
        "day_first", None, "true or false", lambda value: isinstance(value, bool)
    )
    return None if found is None else bool(found)


def _declared(section: Section, pattern: str) -> Iterator[Section]:
    """Every table that stands under a pattern."""
    where = section.where(pattern)
    expected = f"a table [{where}], or several [[{where}]]"
    found = section.checked(pattern, [], expected, _are_tables)
    several = isinstance(found, list)
    for number, values in enumerate(found if several else [found], start=1):
        yield Section(f"{where}[{number}]" if several else where, values, section.faults)


def _are_tables(value: object) -> bool:
    return isinstance(value, dict) or (
        isinstance(value, list) and all(isinstance(item, dict) for item in value)
    )


def _layout(pattern: str, own: Section, attributes: Collection[str]) -> Layout:
    table = own.checked(
        "table", "", f"a table{did_you_mean(str(own.values.get('table')), TABLES)}", _is_a_table
    )
    columns = [column.name for column in TABLES[table].columns] if table else []
    across = _column(own, "across", table, columns)
    usual = _VALUES.get(table, "") if across else ""
    scored = attributes if table == "tastings" else ()
    layout = Layout(
        files=pattern,
        sheet=own.text("sheet", "*"),
        table=table,
        first_row=own.whole("first_row", 1, 1, 10_000),
        across=across,
        value=_column(own, "value", table, [*columns, *scored]) or usual,
        aside=own.checked("aside", [], "a list of texts", is_texts),
        fill=_fill(own.section("fill"), table, columns),
        day_first=day_first_of(own),
    )
    own.close()
    if not own.values:
        own.faults.append(f"{own.path} says nothing, expected table, first_row or day_first")
    if across and not layout.value:
        own.faults.append(f"{own.path}.value is missing, expected the column of the cells")
    if across and layout.value == across:
        own.fault("across", "another column than value")
    own.faults.extend(
        f"{own.where(key)} stands without across, which it belongs to"
        for key in ("value", "aside")
        if key in own.values and "across" not in own.values
    )
    return layout


def _is_a_table(value: object) -> bool:
    return isinstance(value, str) and value in TABLES


def _column(own: Section, key: str, table: str, columns: Collection[str]) -> str:
    """A key that names a column of the table."""
    near = did_you_mean(str(own.values.get(key)), columns)
    expected = f"a column of {table}{near}" if table else "a key table beside it"
    return str(own.checked(key, "", expected, lambda value: value in columns))


def _fill(section: Section, table: str, columns: Collection[str]) -> dict[str, str]:
    """What stands in every row, as the text that a file would have."""
    fill: dict[str, str] = {}
    for column in section.values:
        if column not in columns:
            section.unknown(column, columns, f"column of {table}" if table else "column: say table")
            continue
        value = section.checked(column, "", "a text, a number or a day", _is_constant)
        fill[column] = value.isoformat(" ") if isinstance(value, datetime) else str(value)
    return fill


def _is_constant(value: object) -> bool:
    return isinstance(value, str | int | float | date) and str(value) not in {"", "True", "False"}
