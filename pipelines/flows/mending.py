"""Rows that mend rows set aside: which they are, and what becomes of the ones they mend.

A sheet mends where it names places: it has the headings file, sheet and row. A row that names one
which stands aside takes its place if anything in it was changed. One that was not changed says
nothing; one that names no such place is a row of its own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import polars as pl

from pipelines.flows.waiting import MENDED, PLACE, cells_of
from pipelines.readers.columns import VOID
from pipelines.readers.convert import says_yes
from pipelines.readers.headings import names_a_place, place_headings
from pipelines.store.set_aside import OWN_SHEET, known_places

if TYPE_CHECKING:
    from collections.abc import Sequence

    import duckdb

    from pipelines.readers.files import RawTable
    from pipelines.readers.site import Site

_MENDS = {
    "table_name": pl.String,
    "file": pl.String,
    "sheet": pl.String,
    "row_number": pl.Int32,
    "how": pl.String,
    "mended_file": pl.String,
    "mended_sheet": pl.String,
    "mended_row": pl.Int32,
}
_OWN = " (own)"
# What a spreadsheet would run, or would not leave as it is: a leading zero, a long number. The
# last alternative keeps an apostrophe that somebody wrote.
_GUARDED = r"^([=+\-@#\t\r']|0\d+$|\d{12,}$)"


def guarded(text: pl.Expr) -> pl.Expr:
    """Text that a spreadsheet leaves alone: an apostrophe goes before what it would not."""
    return text.str.replace(_GUARDED, "'$1")


def unguarded(text: pl.Expr) -> pl.Expr:
    """The text as it was before `guarded`."""
    return text.str.strip_prefix("'")


def listed(headings: Sequence[str]) -> dict[str, str]:
    """The headings that rows to mend have of their own, as they stand beside file, sheet and row.

    Returns:
        From a heading to that of the list: another one where it would be taken for a place.
    """
    return {name: f"{name}{_OWN}" if names_a_place(name) else name for name in headings}


def unlisted(headings: Sequence[str]) -> dict[str, str]:
    """The headings as they were before `listed`."""
    were = {name: name.removesuffix(_OWN) for name in headings}
    return {name: was if names_a_place(was) else name for name, was in were.items()}


@dataclass(frozen=True)
class Mending:
    """The sheets read now, with what mends set apart.

    Attributes:
        tables: The sheets without what names places, and without the rows that say nothing.
        mends: Every row of the sheets that mend, as `Load.mends` has it.
    """

    tables: list[RawTable]
    mends: pl.DataFrame


def in_place(faults: pl.DataFrame, mends: pl.DataFrame) -> pl.DataFrame:
    """Give the faults of mended rows the places that they mend.

    Args:
        faults: Faults at the places where the rows were read.
        mends: Mended rows, as `Load.mends` has it.

    Returns:
        The faults with `mended_file`, `mended_sheet` and `mended_row`, empty for other rows.
    """
    mended = mends.filter(how="mended").select(
        "table_name",
        *(pl.col(name).alias(f"to_{name}") for name in PLACE[1:]),
        *(pl.col(name).alias(own) for name, own in zip(MENDED, PLACE[1:], strict=True)),
    )
    taken = pl.col("to_file").is_not_null() & pl.col("said_in").is_null()
    return (
        faults.join(mended, on=PLACE, how="left", maintain_order="left")
        .with_columns(
            *(
                pl.when(taken).then(own).alias(name)
                for name, own in zip(MENDED, PLACE[1:], strict=True)
            ),
            *(pl.when(taken).then(f"to_{name}").otherwise(name).alias(name) for name in PLACE[1:]),
        )
        .select(*faults.columns, *MENDED)
    )


def take_mends(
    tables: Sequence[RawTable], connection: duckdb.DuckDBPyConnection, site: Site
) -> Mending:
    """Set apart, in the sheets read now, the rows that mend ones that stand aside."""
    kept, mends = [], [pl.DataFrame(schema=_MENDS)]
    places: pl.DataFrame | None = None
    for table in tables:
        named = place_headings(table.cells.columns)
        if not named:
            kept.append(table)
            continue
        places = known_places(connection) if places is None else places
        apart, mended = _apart(table, named, places.filter(table_name=table.table), site)
        kept += apart
        mends.append(mended)
    return Mending(kept, pl.concat(mends))


def _apart(
    table: RawTable, named: dict[str, str], places: pl.DataFrame, site: Site
) -> tuple[list[RawTable], pl.DataFrame]:
    """The rows that say something, those that mend laid out as what they mend, and all of them."""
    cells = table.cells.with_columns(unguarded(pl.col(pl.String)))
    own = cells.drop(named.values())
    own = own.rename(unlisted(own.columns))
    place = cells.select(
        table_name=pl.lit(table.table),
        file=pl.col(named["file"]),
        sheet=pl.col(named["sheet"]).fill_null(""),
        row_number=pl.col(named["row"]).cast(pl.Float64, strict=False).cast(pl.Int32, strict=False),
        mended_row="row_number",
    )
    stood = place.join(places, on=PLACE, how="left", maintain_order="left")
    before = cells_of(stood["cells"].fill_null("{}"), table.table, site)
    now, then = (_filled(frame, VOID.name, own.height) for frame in (own, before))
    dismissed = pl.DataFrame([now.alias("now"), then.alias("then")]).select(
        said=says_yes(pl.col("now"), site) & ~says_yes(pl.col("then"), site)
    )["said"]
    became = (
        pl.when(pl.col("cells").is_null())
        .then(pl.lit("own"))
        .when(_same(own.drop("row_number"), before))
        .then(pl.lit("unchanged"))
        .when(~pl.col("open"))
        .then(pl.lit("own"))
        .when(dismissed)
        .then(pl.lit("withdrawn"))
        .otherwise(pl.lit("mended"))
    )
    mends = stood.with_columns(
        how=became,
        mended_file=pl.lit(table.file),
        mended_sheet=pl.lit(table.sheet),
    )
    mends = mends.select(*_MENDS)
    mended = mends.filter(how="mended").select("file", "sheet").unique(maintain_order=True)
    parts = [
        replace(
            table,
            sheet=f"{table.sheet} {OWN_SHEET}".strip(),
            cells=own.filter(mends["how"] == "own"),
            laid_out_as=table.layout_of,
        )
    ]
    for file, sheet in mended.iter_rows():
        like = mends.select(
            this=(pl.col("how") == "mended") & (pl.col("file") == file) & (pl.col("sheet") == sheet)
        )["this"]
        parts.append(replace(table, cells=own.filter(like), laid_out_as=(file, sheet)))
    return parts, mends


def _same(one: pl.DataFrame, other: pl.DataFrame) -> pl.Series:
    """Whether the rows of two frames hold the same text under the same headings."""
    same = pl.repeat(value=True, n=one.height, eager=True)
    for name in {*one.columns, *other.columns}:
        here, there = (_filled(frame, name, one.height) for frame in (one, other))
        same &= here.eq_missing(there)
    return same


def _filled(frame: pl.DataFrame, name: str, height: int) -> pl.Series:
    """A column of text, empty where the frame does not have it."""
    if name in frame.columns:
        return frame[name]
    return pl.repeat(None, height, dtype=pl.String, eager=True)
