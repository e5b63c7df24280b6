"""Check what was read against the contract: every row comes out stored once or set aside.

The rows of a table are put together from all of its files, typed, checked one by one, against each
other, and against what they name. All faults of a row are told; one is enough to set it aside.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

from pipelines.readers.contract import TABLES
from pipelines.readers.convert import convert, stored_types
from pipelines.readers.faults import SET_ASIDE_SCHEMA, all_faults, without
from pipelines.readers.gather import gather, places
from pipelines.readers.keys import one_of_each_key, with_row_key
from pipelines.readers.references import Known, References
from pipelines.readers.rules import broken_rules

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pipelines.readers.columns import Table
    from pipelines.readers.files import Mention, RawTable
    from pipelines.readers.site import Site

__all__ = ["Checked", "Known", "check_tables"]

_BESIDE = ("void", "extra", "file", "sheet", "row_number", "row_key", "said_in")


@dataclass(frozen=True)
class Checked:
    """What came of a load.

    Attributes:
        tables: The good rows of every table that was read, in the order of the contract: the
            contract's columns as values, then `void` Boolean, `extra` (JSON object of the cells
            under unknown headings), `file`, `sheet`, `row_number` Int32, `row_key` (JSON array) and
            `said_in` (the load that read a row which had to wait, else null).
        set_aside: One row a fault: table_name, file, sheet, row_number, column_name, value, reason,
            expected, kind (value, missing, reference, conflict), cells (JSON object of the whole
            row as text) and said_in. A row whose faults are all of kind `reference` comes in as it
            is once what it names is known.
        mentions: What is worth telling and is no fault.
    """

    tables: dict[str, pl.DataFrame]
    set_aside: pl.DataFrame
    mentions: tuple[Mention, ...]


def check_tables(raw: Sequence[RawTable], known: Known, site: Site) -> Checked:
    """Check the tables of one load.

    Args:
        raw: Tables as text, of any number of files.
        known: What the store holds already.
        site: The site's words and attributes.

    Returns:
        Good rows, rows set aside, mentions; no row is in both of the first two or in neither.
        Identical rows of one key count once.
    """
    references = References.of(known)
    tables: dict[str, pl.DataFrame] = {}
    set_aside: list[pl.DataFrame] = []
    mentions: list[Mention] = []
    for table in TABLES.values():
        sheets = [sheet for sheet in raw if sheet.table == table.name]
        if sheets:
            good, faults, said = _check(table, sheets, references, site)
            tables[table.name] = good
            set_aside.append(_in_place(faults, sheets))
            mentions += said
    for name, good in tables.items():
        mentions += references.unknown_names(TABLES[name], good)
    empty = pl.DataFrame(schema=SET_ASIDE_SCHEMA)
    return Checked(tables, pl.concat([empty, *set_aside]), tuple(mentions))


def _check(
    table: Table, sheets: Sequence[RawTable], references: References, site: Site
) -> tuple[pl.DataFrame, pl.DataFrame, list[Mention]]:
    """The good rows of one table, its faults, and its mentions."""
    text, misshapen = gather(table, sheets, site)
    typed, unreadable = convert(table, text, site)
    # A cell that could not be read is told once, not again as one that is not filled.
    broken = broken_rules(table.name, typed, text).join(unreadable, on="row", how="anti")
    typed, unknown = references.check(table, typed)
    faults = all_faults([misshapen, unreadable, broken, unknown])
    sound = with_row_key(table, without(typed, faults))
    kept, conflicts, mentions = one_of_each_key(table, sound)
    good = kept.select(*stored_types(table), *_BESIDE)
    references.add(table, typed, good)
    return good, all_faults([faults, conflicts]), mentions


def _in_place(faults: pl.DataFrame, sheets: Sequence[RawTable]) -> pl.DataFrame:
    """Faults with their file, sheet, row number and whole row."""
    alone = (pl.col("kind") == "reference").all().over("row")
    # A row that must be mended anyway is not waiting for what it names.
    kind = pl.when((pl.col("kind") == "reference") & ~alone).then(pl.lit("value"))
    return (
        faults.unique(maintain_order=True)  # a wide row tells a fault once for each of its values
        .with_columns(kind=kind.otherwise("kind"))
        .join(places(sheets, faults["row"].unique()), on="row", how="inner")
        .sort("row", "column_name", maintain_order=True)
        .select(*SET_ASIDE_SCHEMA)
    )
