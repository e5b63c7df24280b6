"""Text to values, column by column: text that is there and gives no value is a fault.

Plain polars expressions are all it takes, and they keep the row, the column and the text as
written beside each fault.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from pipelines.readers.columns import IDENTIFIER_LENGTH, VOID, Column, Table
from pipelines.readers.faults import all_faults, faults_where
from pipelines.readers.json_text import json_object
from pipelines.readers.names import fold

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

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
WRITTEN_IN = "written in"  # the heading that a wide value stood under

_NUMBER = r"^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$"
_COMMA = r"^([+-]?\d+),(\d+)$"
# 1,234 may be one thousand or a little more than one: nobody but the brewery can say.
_THOUSANDS = r"^[+-]?[1-9]\d{0,2},\d{3}$"
# So may 1.200 packages: nobody counts in thousandths, but half of Europe writes 1200 so.
_POINTS = r"^[+-]?[1-9]\d{0,2}(\.\d{3})+$"
_BOUND = r"^[<>]\s*"
_TIME = r"^(\d{4}-\d{2}-\d{2})(?:[T ](\d{2}:\d{2})(:\d{2})?(\.\d+)?)?$"
_USUAL_TIME = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}( [0-9]{2}:[0-9]{2}(:[0-9]{2})?)?$"
_USUAL_FORMS = {10: "%Y-%m-%d", 16: "%Y-%m-%d %H:%M", 19: "%Y-%m-%d %H:%M:%S"}  # by length
_FIRST, _AFTER_LAST = "1980", "2101"  # times are held against them as texts, year first
_YES_NO = {"yes": ("yes", "y", "true", "1"), "no": ("no", "n", "false", "0")}
_NUMBERS = ("number", "integer")
_UNCLEAR = "a comma that may part thousands or decimals"
_UNCLEAR_POINT = "a point that may part thousands or decimals"
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
    values = [_value(column, site).alias(column.name) for column in (*columns, *scores)]
    # Lazily, for then an expression that stands in several is computed once.
    typed = text.lazy().with_columns(*values, **derived).collect()
    found = [
        fault
        for column in (*columns, *scores)
        for fault in _faults(column, text, typed, wide=bool(table.wide))
    ]
    if "scores" in table.derived:
        by_name = {column.name[len(SCORE) :]: pl.col(column.name) for column in scores}
        typed = typed.with_columns(scores=json_object(by_name)).drop(
            column.name for column in scores
        )
    return typed, all_faults(found)


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
        case _:
            value = text
    if column.default:
        default = column.default == "yes" if column.kind == "yes/no" else column.default
        value = pl.when(text.is_null()).then(pl.lit(default)).otherwise(value)
    return value


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
    in_range = (text >= pl.lit(_FIRST)) & (text < pl.lit(_AFTER_LAST))
    usual = text.str.contains(_USUAL_TIME)
    times = [
        pl.when(in_range & usual & (text.str.len_bytes() == length))
        .then(text)
        .str.to_datetime(form, time_unit="us", strict=False)
        for length, form in _USUAL_FORMS.items()
    ]
    return pl.coalesce(*times, _odd_time(pl.when(in_range & ~usual).then(text)))


def _odd_time(text: pl.Expr) -> pl.Expr:
    part = [text.str.extract(_TIME, group) for group in range(1, 5)]
    whole = pl.concat_str(
        part[0],
        pl.lit(" "),
        part[1].fill_null("00:00"),
        part[2].fill_null(":00"),
        part[3].fill_null(".0"),
    )
    return whole.str.to_datetime("%Y-%m-%d %H:%M:%S%.f", time_unit="us", strict=False)


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


def _faults(
    column: Column, text: pl.DataFrame, typed: pl.DataFrame, *, wide: bool
) -> list[pl.DataFrame]:
    """Every cell of a column that is empty and must not be, unreadable, or out of bounds."""
    written, value = text[column.name], typed[column.name]
    under = pl.col(WRITTEN_IN) if wide and column.name == "value" else pl.lit(column.name)
    under = under.str.strip_prefix(SCORE)
    found: list[tuple[pl.Series, str]] = []
    if column.kind in _NOT_A:
        unread = written.is_not_null() & value.is_null()
        odd = written.set(~unread, None)
        unclear = unread & odd.str.contains(_THOUSANDS) & (column.kind in _NUMBERS)
        points = unread & odd.str.contains(_POINTS) & (column.kind == "integer")
        found += [
            (unread & ~unclear & ~points, _NOT_A[column.kind]),
            (unclear, _UNCLEAR),
            (points, _UNCLEAR_POINT),
        ]
    if column.kind == "identifier":
        found.append((written.str.len_chars() > IDENTIFIER_LENGTH, "too long"))
    if column.minimum is not None:
        found.append((value < column.minimum, "too small"))
    if column.above is not None:
        found.append((value <= column.above, "too small"))
    if column.maximum is not None:
        found.append((value > column.maximum, "too large"))
    faults = [
        faults_where(
            text,
            where,
            column=under,
            value=pl.col(column.name),
            reason=reason,
            expected=column.expected,
            kind="value",
        )
        for where, reason in found
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
