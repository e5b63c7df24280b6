"""Text to values, column by column: text that is there and gives no value is a fault.

Plain polars expressions are all it takes, and they keep the row, the column and the text as
written beside each fault.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

import polars as pl

from pipelines.readers.columns import IDENTIFIER_LENGTH, VOID, Column, Table
from pipelines.readers.dates import is_day_or_month_first, with_year_first
from pipelines.readers.faults import all_faults, faults_where
from pipelines.readers.json_text import json_object
from pipelines.readers.names import fold
from pipelines.readers.workbook import ERRORS, UNCALCULATED

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from pipelines.readers.site import Site

TYPES: dict[str, pl.DataType] = {
    "identifier": pl.String(),
    "text": pl.String(),
    "choice": pl.String(),
    "choices": pl.String(),
    "number": pl.Float64(),
    "integer": pl.Int32(),
    "date": pl.Date(),
    "time": pl.Datetime("us"),
    "yes/no": pl.Boolean(),
}

SCORE = "score: "  # before an attribute's name, which may be that of any column
# What the text carries beside its columns; no heading begins with a space.
WRITTEN_IN = " written in"  # the heading that a wide value stood under
WRITTEN_FOR = " written for"  # the column that it is the value of
DAY_FIRST = " day first"  # whether its dates begin with the day; null where nobody said

_NUMBER = r"^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$"
_COMMA = r"^([+-]?\d+),(\d+)$"
# 1,234 may be one thousand or a little more than one: nobody but the brewery can say.
_THOUSANDS = r"^[+-]?[1-9]\d{0,2},\d{3}$"
# So may 1.200 packages: nobody counts in thousandths, but half of Europe writes 1200 so.
_POINTS = r"^[+-]?[1-9]\d{0,2}(\.\d{3})+$"
# 1.234,5 and 1,234.5 are written where the other one is read as a mistake.
_PARTED = r"^[+-]?\d{1,3}(?:[.,'\x{2019}\s]\d{3})+(?:[.,]\d+)?$"
_BOUND = r"^[<>]\s*"
# What a workbook makes of a long number in a column that is not formatted as text.
_SCIENTIFIC = r"(?i)^\d(?:[.,]\d+)?E\+\d+$|^\d[.,]\d+E\d+$"
_TIME = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}(?:[T ][0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]+)?)?)?$"
_DAY, _MINUTE, _SECOND = "2026-04-07", "2026-04-07 14:30", "2026-04-07 14:30:00"
_FORMS = (
    (_DAY, "%Y-%m-%d"),
    (_MINUTE, "%Y-%m-%d %H:%M"),
    (_SECOND, "%Y-%m-%d %H:%M:%S"),
    ("", "%Y-%m-%d %H:%M:%S%.f"),
)
YEARS = (1980, 2100)
_YES_NO = {"yes": ("yes", "y", "true", "1"), "no": ("no", "n", "false", "0")}
_NUMBERS = ("number", "integer")
_DAYS = ("date", "time")
_UNCLEAR = "a comma that may part thousands or decimals"
_UNCLEAR_POINT = "a point that may part thousands or decimals"
_WITHOUT_MARKS = ", without marks between the thousands: 1234.5"
_NOT_A = {
    "number": "not a number",
    "integer": "not a whole number",
    "date": "not a date",
    "time": "not a date and time",
    "yes/no": "neither yes nor no",
    "choice": "not one of the words known here",
    "choices": "not one of the words known here",
}


def stored_types(table: Table) -> dict[str, pl.DataType]:
    """The type of every column that a table's own values are stored in, in order."""
    own = {column.name: TYPES[column.kind] for column in table.columns}
    return own | dict.fromkeys(table.derived, pl.String())


def convert(table: Table, text: pl.DataFrame, site: Site) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Turn text into values.

    Args:
        table: The contract.
        text: Text under every column of the contract and `void`, beside `row` and what else the
            row carries.
        site: The site's words, and the scales of the attributes.

    Returns:
        The same rows typed, with the derived columns, and a fault frame. A faulty cell is null.
    """
    columns = (*table.columns, VOID)
    scores = [
        Column(
            name,
            "number",
            minimum=site.attributes[name[len(SCORE) :]].low,
            maximum=site.attributes[name[len(SCORE) :]].high,
        )
        for name in text.columns
        if name.startswith(SCORE)
    ]
    derived = {}
    if "bound" in table.derived:
        sign = pl.col("value").str.head(1)
        derived["bound"] = sign.replace_strict({"<": "below", ">": "above"}, default="").fill_null(
            ""
        )
    dated = _days_with_year_first(text, columns)
    with ThreadPoolExecutor() as pool:  # columns do not know of each other
        values = pool.map(lambda column: _values(column, dated, site), (*columns, *scores))
        typed = text.with_columns(*values, **derived)
    found = [fault for column in (*columns, *scores) for fault in _faults(column, text, typed)]
    if "scores" in table.derived:
        by_name = {column.name[len(SCORE) :]: pl.col(column.name) for column in scores}
        typed = typed.with_columns(scores=json_object(by_name)).drop(
            column.name for column in scores
        )
    return typed, all_faults(found)


def _days_with_year_first(text: pl.DataFrame, columns: Sequence[Column]) -> pl.DataFrame:
    """The text with its days as the contract writes them, where the site says what comes first."""
    if text[DAY_FIRST].null_count() == text.height:
        return text
    days = [column.name for column in columns if column.kind in _DAYS]
    return text.with_columns(
        with_year_first(pl.col(name), pl.col(DAY_FIRST)).alias(name) for name in days
    )


def _values(column: Column, text: pl.DataFrame, site: Site) -> pl.Series:
    # Where every cell is empty, one says what all of them mean.
    alike = text.height > 1 and text[column.name].null_count() == text.height
    cells = text.head(1) if alike else text
    # Lazily, for then what stands several times in the expression is worked out once.
    values = cells.lazy().select(_value(column, site).alias(column.name)).collect().to_series()
    return values.new_from_index(0, text.height) if alike else values


def _value(column: Column, site: Site) -> pl.Expr:
    """The value of a text cell, or null if it holds none."""
    text = pl.col(column.name)
    match column.kind:
        case "number":
            value = _number(text, bounded=column.bounded)
        case "integer":
            number = pl.when(~text.str.contains(_POINTS)).then(_number(text))
            value = pl.when(number == number.floor()).then(number).cast(pl.Int32, strict=False)
        case "date":
            value = _time(text).dt.date()
        case "time":
            value = _time(text)
        case "yes/no":
            value = _word(text, ("yes", "no"), site, _YES_NO) == "yes"
        case "choice":
            value = _word(text, column.choices, site)
        case "choices":
            value = _words(text, column.choices, site)
        case "identifier":
            value = pl.when(~(_is_broken(text) | text.str.contains(_SCIENTIFIC))).then(text)
        case _:
            value = pl.when(~_is_broken(text)).then(text)
    if column.default:
        default = column.default == "yes" if column.kind == "yes/no" else column.default
        value = pl.when(text.is_null()).then(pl.lit(default)).otherwise(value)
    return value


def _is_broken(text: pl.Expr) -> pl.Expr:
    """Whether a cell holds an error, or a formula without a stored value."""
    return text.is_in(ERRORS) | text.str.starts_with(UNCALCULATED)


def says_yes(text: pl.Expr, site: Site) -> pl.Expr:
    """Whether a text cell says yes, in the site's words too; false where it is empty."""
    return (_word(text, ("yes", "no"), site, _YES_NO) == "yes").fill_null(value=False)


def _number(text: pl.Expr, *, bounded: bool = False) -> pl.Expr:
    plain = text.cast(pl.Float64, strict=False)
    odd = pl.when(~plain.is_finite().fill_null(value=False)).then(text)  # few are, and need a look
    read = _odd_number(odd.str.replace(_BOUND, "") if bounded else odd)
    return pl.coalesce(pl.when(plain.is_finite()).then(plain), read)


def _odd_number(text: pl.Expr) -> pl.Expr:
    point = (
        pl.when(~text.str.contains(_THOUSANDS))
        .then(text.str.replace(_COMMA, "$1.$2"))
        .str.replace("\N{MINUS SIGN}", "-", literal=True)
    )
    number = pl.when(point.str.contains(_NUMBER)).then(point).cast(pl.Float64, strict=False)
    return pl.when(number.is_finite()).then(number)


def _time(text: pl.Expr) -> pl.Expr:
    """A local day and time; a day alone is its midnight, as a workbook has it too."""
    first, last = YEARS
    # As texts, which begin with the year.
    in_years = (text >= pl.lit(str(first))) & (text < pl.lit(str(last + 1)))
    sound = text.str.contains(_TIME) & in_years
    written, length = text.str.replace("T", " ", literal=True), text.str.len_bytes()
    return pl.coalesce(
        pl.when(sound & (length == len(like)) if like else sound & (length > len(_SECOND)))
        .then(written)
        .str.to_datetime(form, time_unit="us", strict=False)
        for like, form in _FORMS
    )


def _spellings(
    choices: Sequence[str], site: Site, also: Mapping[str, Sequence[str]] | None = None
) -> dict[str, str]:
    """Every spelling of a closed list's words, folded, to the canonical one."""
    plain = {fold(choice): choice for choice in choices}
    more = {fold(word): choice for choice in choices for word in (also or {}).get(choice, ())}
    own = {fold(word): choice for choice in choices for word in site.words.get(choice, ())}
    return plain | more | own


def _folded(text: pl.Expr) -> pl.Expr:
    return text.str.replace_all(r"[\s_]", "").str.to_lowercase().str.replace_all("[µμ]", "u")


def _word(
    text: pl.Expr,
    choices: Sequence[str],
    site: Site,
    also: Mapping[str, Sequence[str]] | None = None,
) -> pl.Expr:
    known = _spellings(choices, site, also)
    as_is = text.is_in([choice for choice in choices if known[fold(choice)] == choice])
    other = _folded(pl.when(~as_is).then(text))
    return (
        pl.when(as_is)
        .then(text)
        .otherwise(other.replace_strict(known, default=None, return_dtype=pl.String))
    )


def _words(text: pl.Expr, choices: Sequence[str], site: Site) -> pl.Expr:
    """Several words separated by `;`, each once; null as soon as one of them is not known."""
    known = _spellings(choices, site)
    parts = (
        _folded(text)
        .str.split(";")
        .list.eval(
            pl.element()
            .filter(pl.element() != "")
            .replace_strict(known, default=None, return_dtype=pl.String)
            .unique(maintain_order=True)
        )
    )
    sound = (parts.list.len() > 0) & ~parts.list.eval(pl.element().is_null()).list.any()
    return pl.when(sound).then(parts.list.join(";"))


def _faults(column: Column, text: pl.DataFrame, typed: pl.DataFrame) -> list[pl.DataFrame]:
    """Every cell of a column that is empty and must not be, unreadable, or out of bounds."""
    written, value = text[column.name], typed[column.name]
    plain = pl.lit(column.name.removeprefix(SCORE))
    under = pl.when(pl.col(WRITTEN_FOR) == column.name).then(WRITTEN_IN).otherwise(plain)
    found = [
        *_unread(column, text, value),
        *((where, reason, column.expected) for where, reason in _out_of_bounds(column, value)),
    ]
    faults = [
        faults_where(
            text,
            where,
            column=under,
            value=pl.col(column.name),
            reason=reason,
            expected=expected,
            kind="value",
        )
        for where, reason, expected in found
        if where.any()
    ]
    if column.required and written.has_nulls():
        faults.append(
            faults_where(
                text,
                written.is_null(),
                column=under,
                value=pl.lit(""),
                reason="empty",
                expected=column.expected,
                kind="missing",
            )
        )
    return faults


def _unread(
    column: Column, text: pl.DataFrame, value: pl.Series
) -> Iterator[tuple[pl.Series, str, str]]:
    """Where a cell is filled and gives no value, each for the first reason that holds, and why."""
    written = text[column.name]
    left = written.is_not_null() & value.is_null()
    if not left.any():
        return
    for condition, reason, expected in _reasons(column):
        where = left & text.select(where=condition.fill_null(value=False))["where"]
        left &= ~where
        yield where, reason, expected


def _reasons(column: Column) -> Iterator[tuple[pl.Expr, str, str]]:
    """Why a filled cell of a column may give no value, from the plainest reason on."""
    cell, expected = pl.col(column.name), column.expected
    yield cell.is_in(ERRORS), "an error of the workbook", expected
    yield (
        cell.str.starts_with(UNCALCULATED),
        "a formula without a stored value",
        "a value: open the workbook, let it calculate, save it and put it back",
    )
    if column.kind == "identifier":
        yield (
            cell.str.contains(_SCIENTIFIC),
            "a number in scientific notation, which Excel made of a code",
            f"{expected}: format the column as text and write the code again",
        )
    if column.kind in _NUMBERS:
        yield cell.str.contains(_THOUSANDS), _UNCLEAR, expected
        if column.kind == "integer":
            yield cell.str.contains(_POINTS), _UNCLEAR_POINT, expected
        parted = expected + _WITHOUT_MARKS
        yield cell.str.contains(_PARTED), "marks between its thousands", parted
    if column.kind in _DAYS:
        yield (
            is_day_or_month_first(cell) & pl.col(DAY_FIRST).is_null(),
            "a date whose day and month may be either way round",
            f"{expected}; or say day_first = true (or false) under [dates] in the configuration",
        )
    if column.kind in _NOT_A:
        yield cell.is_not_null(), _NOT_A[column.kind], expected


def _out_of_bounds(column: Column, value: pl.Series) -> Iterator[tuple[pl.Series, str]]:
    """Where a value is longer, smaller or larger than it may be, and which of these."""
    if column.kind == "identifier":
        yield value.str.len_chars() > IDENTIFIER_LENGTH, "too long"
    if column.minimum is not None:
        yield value < column.minimum, "too small"
    if column.above is not None:
        yield value <= column.above, "too small"
    if column.maximum is not None:
        yield value > column.maximum, "too large"
