"""A copy of a store taken back to what was known at a moment, for a report about that moment.

Loads count up to a number, because they are never changed once made; what was loaded only later is
told from what was known by the number of its load. Rows count up to a day.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pipelines.store.connect import transaction

if TYPE_CHECKING:
    from datetime import date

    import duckdb

DAYS = {
    "lots": "packaged_on",
    "lot_results": "measured_at",
    "oxygen": "measured_at",
    "meter_checks": "checked_at",
    "samples": "placed_on",
    "tastings": "tasted_on",
    "difference_tests": "tasted_on",
    "complaints": "received_on",
    "temperature_log": "read_at",
    "shipments": "shipped_on",
    "changes": "changed_on",
}
"""The input tables whose rows have a day, with the column that says it."""

# What a row is about must be there: a child of what came later goes with it, parents first.
_PARENTS = (
    ("samples", "lots", ("lot",)),
    ("oxygen", "lots", ("lot",)),
    ("lot_results", "lots", ("lot",)),
    ("shipments", "lots", ("lot",)),
    ("tastings", "samples", ("sample",)),
    ("difference_tests", "samples", ("sample", "control")),
)
_COLUMNS = """
    SELECT table_name FROM duckdb_columns()
    WHERE schema_name = $schema AND column_name = $column
      AND table_name IN (SELECT table_name FROM duckdb_tables() WHERE schema_name = $schema)
    ORDER BY table_name
"""


@dataclass(frozen=True)
class Known:
    """How far a report knows a store.

    Attributes:
        data_until: Newest day whose rows count.
        load_id: Newest load that counts.
        decision_id: Newest decision about a date that counts; 0 for none.
        entry_id: Newest entry about an action that counts; 0 for none.
    """

    data_until: date
    load_id: int
    decision_id: int
    entry_id: int


def known_now(connection: duckdb.DuckDBPyConnection, data_until: date) -> Known | None:
    """Return how far a store can be known now; None before the first load."""
    ((load_id, decision_id, entry_id),) = connection.sql(
        """
        SELECT (SELECT max(load_id) FROM intake.loads),
               (SELECT coalesce(max(decision_id), 0) FROM records.decisions),
               (SELECT coalesce(max(entry_id), 0) FROM records.actions)
        """
    ).fetchall()
    return None if load_id is None else Known(data_until, load_id, decision_id, entry_id)


def take_back(connection: duckdb.DuckDBPyConnection, known: Known) -> int:
    """Delete of a copy what is not known: later loads, later rows, later words of people.

    What runs worked out stays; `forget_runs` takes it away where it rests on more.

    Args:
        connection: A migrated copy of a store, opened for writing; never the store itself.
        known: How far it is to be known.

    Returns:
        How many rows that stood were dated after the last day that counts.
    """
    with transaction(connection):
        for schema in ("history", "intake"):
            for table in _with(connection, schema, "load_id"):
                connection.execute(
                    f"DELETE FROM {schema}.{table} WHERE load_id > $load_id",
                    {"load_id": known.load_id},
                )
        for table, column, newest in (
            ("decisions", "decision_id", known.decision_id),
            ("actions", "entry_id", known.entry_id),
        ):
            connection.execute(
                f"DELETE FROM records.{table} WHERE {column} > $newest", {"newest": newest}
            )
        later = sum(_later(connection, table, known.data_until) for table in DAYS)
        if later:
            for child, parent, columns in _PARENTS:
                for column in columns:
                    _orphans(connection, child, column, parent)
    return later


def forget_runs(connection: duckdb.DuckDBPyConnection, since: int = 1) -> None:
    """Delete of a copy what runs worked out, from a number on."""
    with transaction(connection):
        for table in _with(connection, "results", "run_id"):
            connection.execute(
                f"DELETE FROM results.{table} WHERE run_id >= $since", {"since": since}
            )


def _with(connection: duckdb.DuckDBPyConnection, schema: str, column: str) -> list[str]:
    """Return the tables of a schema that have a column."""
    found = connection.sql(_COLUMNS, params={"schema": schema, "column": column}).fetchall()
    return [table for (table,) in found]


def _later(connection: duckdb.DuckDBPyConnection, table: str, until: date) -> int:
    """Delete rows that stand with a later day, all that was ever said of them; count them.

    A row that was corrected to a later day goes whole: its older saying must not stand again.
    """
    later = f"SELECT row_key FROM core.{table} WHERE CAST({DAYS[table]} AS DATE) > $until"
    ((rows,),) = connection.sql(
        f"SELECT count(*) FROM ({later})", params={"until": until}
    ).fetchall()
    if rows:
        connection.execute(
            f"DELETE FROM history.{table} WHERE row_key IN ({later})", {"until": until}
        )
    return int(rows)


def _orphans(connection: duckdb.DuckDBPyConnection, child: str, column: str, parent: str) -> None:
    key = "sample" if parent == "samples" else "lot"
    connection.execute(
        f"""
        DELETE FROM history.{child} WHERE row_key IN (
            SELECT row_key FROM core.{child}
            WHERE {column} NOT IN (SELECT {key} FROM core.{parent})
        )
        """
    )
