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

_PLACE = ["file", "sheet", "row_number"]


def with_row_key(table: Table, rows: pl.DataFrame) -> pl.DataFrame:
    """Add `row_key`: the key's values as a JSON array.

    Where no key holds, it is all of the row's values and which of the file's identical rows it is.
    """
    by_key = json_array([pl.col(name) for name in table.key]) if table.key else pl.lit("")
    if table.key and not table.key_if:
        return rows.with_columns(row_key=by_key)
    has_key = (
        rows[table.key_if].is_not_null()
        if table.key
        else pl.repeat(value=False, n=rows.height, eager=True)
    )
    keyed = rows.filter(has_key).with_columns(row_key=by_key)
    if keyed.height == rows.height:
        return keyed
    values = json_array([pl.col(name).cast(pl.String) for name in table.stored])
    nth = pl.int_range(1, pl.len() + 1).over("file", "values")
    counted = pl.concat_str(pl.col("values").str.head(-1), pl.lit(","), nth, pl.lit("]"))
    loose = rows.filter(~has_key).with_columns(values=values).with_columns(row_key=counted)
    return pl.concat([keyed, loose.drop("values")]).sort("row", maintain_order=True)


def once(table: Table, rows: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame, list[Mention]]:
    """Keep one row of each key.

    Args:
        table: The contract.
        rows: Sound rows with `row_key`.

    Returns:
        The rows kept, a fault frame of those of one key that say different things, and what to
        mention of those that say the same.
    """
    # Keys whose hashes differ are different, and hashes are quick to count.
    if rows["row_key"].hash().n_unique() == rows.height:
        return rows, all_faults([]), []
    conflicts = _disagreeing(table, rows)
    kept, mentions = _first_of_same(without(rows, conflicts))
    return kept, conflicts, mentions


def _disagreeing(table: Table, rows: pl.DataFrame) -> pl.DataFrame:
    """Find every row of a key that stands for different things, each naming another one."""
    repeated = rows.filter(pl.col("row_key").is_duplicated())
    differs = {
        name: pl.col(name).n_unique().over("row_key") > 1 for name in (*table.stored, VOID.name)
    }
    aside = pl.col("extra").replace("{}", None)
    differs["extra"] = aside.drop_nulls().n_unique().over("row_key") > 1
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
    first = pl.int_range(pl.len()).over("row_key") == 0
    other = (
        pl.when(first).then(place.get(1).over("row_key")).otherwise(place.first().over("row_key"))
    )
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


def _first_of_same(rows: pl.DataFrame) -> tuple[pl.DataFrame, list[Mention]]:
    """Keep one of rows that say the same, the one with cells kept aside if there is one."""
    kept = (
        rows.sort(pl.col("extra") == "{}", "row")
        .unique("row_key", keep="first", maintain_order=True)
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
