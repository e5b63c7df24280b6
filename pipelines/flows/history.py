"""Who said what of a row, and when."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pipelines.errors import StoreError
from pipelines.flows.changes import differences, filled, named
from pipelines.flows.faults import place
from pipelines.readers.contract import TABLES
from pipelines.readers.names import did_you_mean
from pipelines.store.connect import need_store, open_store
from pipelines.store.history import values_under, versions_of
from pipelines.store.migrate import refuse_other_shapes

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    import duckdb

    from pipelines.config import Config


def history_lines(table: str, key: Sequence[str], config: Config) -> list[str]:
    """Tell every version of the rows under a key, oldest first.

    Args:
        table: Name of the input table.
        key: What identifies the row, as a person types it; its first values are enough.
        config: The configuration.

    Returns:
        A line for each row, for each of its versions, and for each column that changed.

    Raises:
        StoreError: There is no such table or row, or no store; the message gives the nearest.
    """
    if table not in TABLES:
        message = f"there is no table {table}{did_you_mean(table, TABLES)}"
        raise StoreError(message)
    need_store(config.paths.database)
    with open_store(config.paths.database, read_only=True) as connection:
        refuse_other_shapes(connection)
        given = _given(connection, table, key)
        rows = versions_of(connection, table, given)
    lines: list[str] = []
    for _, versions in rows.group_by("row_key", maintain_order=True):
        lines += _row_lines(table, versions.rows(named=True))
    return lines


def _given(connection: duckdb.DuckDBPyConnection, table: str, key: Sequence[str]) -> dict[str, str]:
    """The typed values by column, each found among the rows that hold those before it."""
    contract = TABLES[table]
    plain = [column.name for column in contract.columns]
    names = list(contract.key) if contract.key and not contract.key_if else plain
    if len(key) > len(names):
        message = f"a row of {table} is known by {', '.join(names)}: {len(key)} values are too many"
        raise StoreError(message)
    given: dict[str, str] = {}
    for name, value in zip(names, key, strict=False):
        if not versions_of(connection, table, given | {name: value}).height:
            known = values_under(connection, table, given, name)
            message = f"no such row in {table}: {name} {value}{did_you_mean(value, known)}"
            raise StoreError(message)
        given[name] = value
    return given


def _row_lines(table: str, versions: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    standing = next(
        (version for version in reversed(versions) if version["forgotten_in"] is None), None
    )
    yield f"{table}: {named(table, versions[0])}"
    before: Mapping[str, Any] | None = None
    for version in versions:
        what, changes = _what(table, before, version)
        stands = version is standing and not version["void"]
        yield f"  {_where(version)}: {what}" + (", stands now" if stands else "")
        yield from (f"    {change}" for change in changes)
        if version["forgotten_in"] is None:
            before = version


def _where(version: Mapping[str, Any]) -> str:
    day = f"{version['loaded_at'].day} {version['loaded_at']:%b %Y}"
    waited = version["said_in"] != version["load_id"]
    read = f" (read by load {version['said_in']})" if waited else ""
    where = f"{place(version['file'], version['sheet'])}, row {version['row_number']}"
    mends = f", which mends {version['mends']}" if version["mends"] else ""
    return f"load {version['load_id']}{read}, {day}: {where}{mends}"


def _what(
    table: str, before: Mapping[str, Any] | None, version: Mapping[str, Any]
) -> tuple[str, list[str]]:
    """What a version did to the one before it that counts, and the columns that it changed."""
    taken_back = version["forgotten_in"]
    end = f", taken back by load {taken_back}" if taken_back is not None else ""
    values = _values(table, version)
    if version["void"]:
        return f"withdrawn{end}", []
    if before is None or before["void"]:
        return ("back again" if before else "new") + end, filled(values)
    changes = differences(_values(table, before), values)
    return ("corrected" if changes else "said again") + end, changes


def _values(table: str, version: Mapping[str, Any]) -> dict[str, Any]:
    return {name: version[name] for name in (*TABLES[table].stored, "extra")}
