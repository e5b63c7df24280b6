"""What makes two rows the same row, and what to do when they do not agree."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from pipelines.readers.columns import VOID
from pipelines.readers.faults import all_faults, faults_where, without
from pipelines.readers.files import Mention
from pipelines.readers.json_text import json_array

if TYPE_CHECKING:
    from pipelines.readers.columns import Table

# Rows of one key, read by one load: what was read earlier cannot disagree, it is overtaken.
_AT_ONCE = ["row_key", "said_in"]


def with_row_key(table: Table, rows: pl.DataFrame) -> pl.DataFrame:
    """Add `row_key`: the key's values as a JSON array.

    Where no key holds, it is all of the row's values and which of the file's identical rows it is.
    """
    keyed = pl.lit(value=bool(table.key))
    if table.key_if:
        keyed = pl.col(table.key_if).is_not_null()
    by_key = json_array([pl.col(name) for name in table.key]) if table.key else pl.lit("")
    if table.key and not (table.key_if and rows[table.key_if].has_nulls()):
        return rows.with_columns(row_key=by_key)
    values = json_array([pl.col(name).cast(pl.String) for name in table.stored])
    nth = pl.int_range(1, pl.len() + 1).over("file", "values")
    counted = pl.concat_str(pl.col("values").str.head(-1), pl.lit(","), nth, pl.lit("]"))
    return (
        rows.with_columns(values=values)
        .with_columns(row_key=pl.when(keyed).then(by_key).otherwise(counted))
        .drop("values")
    )


def one_of_each_key(
    table: Table, rows: pl.DataFrame
) -> tuple[pl.DataFrame, pl.DataFrame, list[Mention]]:
    """Keep one row of each key, where the rows of a key agree.

    Args:
        table: The contract.
        rows: Sound rows with `row_key`.

    Returns:
        The rows kept, a fault frame of those that disagree, and what was counted once.
    """
    # Whether a key stands twice is told in a tenth of the time of finding where, and by hashes in
    # half of that; should two keys have one, the rest finds nothing.
    if rows["row_key"].hash().n_unique() == rows.height:
        return rows, all_faults([]), []
    conflicts = _disagreeing(table, rows)
    kept, mentions = _once(without(rows, conflicts))
    return kept, conflicts, mentions


def _disagreeing(table: Table, rows: pl.DataFrame) -> pl.DataFrame:
    """Find rows of one key that say different things.

    Args:
        table: The contract.
        rows: Sound rows with `row_key`.

    Returns:
        A fault frame: every row of such a key, each naming another one.
    """
    repeated = rows.filter(pl.struct(_AT_ONCE).is_duplicated())
    if repeated.is_empty():
        return all_faults([])
    differs = {
        name: pl.col(name).n_unique().over(_AT_ONCE) > 1 for name in (*table.stored, VOID.name)
    }
    aside = pl.col("extra").replace("{}", None)
    differs["extra"] = aside.drop_nulls().n_unique().over(_AT_ONCE) > 1
    columns = pl.concat_str(
        [pl.when(differ).then(pl.lit(name)) for name, differ in differs.items()],
        separator=", ",
        ignore_nulls=True,
    )
    place = pl.concat_str(
        pl.col("file"),
        pl.when(pl.col("sheet") != "")
        .then(pl.lit(", sheet ") + pl.col("sheet"))
        .otherwise(pl.lit("")),
        pl.lit(", row "),
        pl.col("row_number"),
    )
    first = pl.int_range(pl.len()).over(_AT_ONCE) == 0
    other = pl.when(first).then(place.get(1).over(_AT_ONCE)).otherwise(place.first().over(_AT_ONCE))
    what = " and ".join(part for part in (", ".join(table.key[:-1]), *table.key[-1:]) if part)
    same = f"the same {what or 'reading'} with another {{}} in {{}}"
    named = table.key or [column.name for column in table.columns if column.required]
    value = pl.concat_str(named, separator=", ", ignore_nulls=True)
    told = repeated.select("row", value=value, columns=columns, other=other)
    return faults_where(
        told,
        told["columns"] != "",
        column=pl.col("columns"),
        value=pl.col("value"),
        reason=pl.format(same, "columns", "other"),
        expected="one of the two in a load; a correction comes in a later file",
        kind="conflict",
    ).unique(maintain_order=True)


def _once(rows: pl.DataFrame) -> tuple[pl.DataFrame, list[Mention]]:
    """Keep one of rows that say the same, the one with cells kept aside if there is one."""
    kept = (
        rows.sort(pl.col("extra") == "{}", "row")
        .unique(_AT_ONCE, keep="first", maintain_order=True)
        .sort("row", maintain_order=True)
    )
    if kept.height == rows.height:
        return kept, []
    again = rows.join(kept.select("row", "row_key"), on=["row", "row_key"], how="anti")
    counts = again.group_by("file", "sheet", maintain_order=True).agg(pl.col("row").n_unique())
    return kept, [
        Mention(file, sheet, f"rows that say again what another row says, counted once: {count}")
        for file, sheet, count in counts.iter_rows()
    ]
