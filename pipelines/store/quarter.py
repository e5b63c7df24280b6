"""What the store holds of one quarter, for its review."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipelines.store.as_it_stood import DAYS

if TYPE_CHECKING:
    from datetime import date

    import duckdb
    import polars as pl

_COUNTED = (
    *("lots", "oxygen", "meter_checks", "tastings", "shipments", "complaints"),
    *("temperature_log", "changes"),
)

_QUERIES = {
    "lots": """
        SELECT l.lot, l.format, l.beer, b.style, l.line, l.packaged_on, l.best_before, l.packages,
               EXISTS (
                   FROM core.oxygen AS o
                   WHERE o.lot = l.lot AND coalesce(o.format, l.format) = l.format
               ) AS measured
        FROM core.lots AS l JOIN core.beers AS b ON b.beer = l.beer
        ORDER BY l.packaged_on, l.lot, l.format
    """,
    "oxygen": """
        SELECT o.lot, l.line, o.format, o.packaged_on, o.total_oxygen_ppb, o.at_least_ppb
        FROM published.lot_oxygen AS o
        JOIN core.lots AS l ON l.lot = o.lot AND l.format = o.format
        ORDER BY o.packaged_on, o.lot, o.format
    """,
    "tasted": """
        SELECT p.lot, p.format, p.beer, p.style, p.sample, p.storage_temp_c, p.age_days, p.tasted,
               p.rejected, date_diff('day', l.packaged_on, l.best_before) AS printed_days,
               l.packages
        FROM published.pulls AS p
        JOIN core.lots AS l ON l.lot = p.lot AND l.format = p.format
        WHERE p.sample IN (
            SELECT sample FROM core.tastings GROUP BY sample
            HAVING min(tasted_on) BETWEEN $first AND $last
        )
        ORDER BY p.lot, p.format, p.sample
    """,
    "untasted": """
        SELECT s.sample, s.lot, s.format, s.storage_temp_c, s.pulled_on FROM core.samples AS s
        WHERE s.pulled_on BETWEEN $first AND least($last, $until)
          AND coalesce(s.role, 'aged') <> 'release'
          AND s.sample NOT IN (SELECT sample FROM core.tastings)
        ORDER BY s.pulled_on, s.sample
    """,
    "doubted": """
        SELECT DISTINCT d.lot, d.format, d.meter FROM published.readings_in_doubt AS d
        JOIN core.lots AS l ON l.lot = d.lot AND l.format = d.format
        WHERE l.packaged_on BETWEEN $first AND $last
        ORDER BY d.lot, d.format, d.meter
    """,
}


def quarter_rows(
    connection: duckdb.DuckDBPyConnection, first: date, last: date, until: date
) -> dict[str, pl.DataFrame]:
    """Give what a quarter holds, as the newest run and the rows that stand say.

    Args:
        connection: A migrated store.
        first: First day of the quarter.
        last: Its last day.
        until: The newest day that counts.

    Returns:
        `lots` (every lot whose beer is known, with `measured`: whether its oxygen was read),
        `oxygen` (of every lot, as the newest run read it), `tasted` (aged samples of which the
        first glass was tasted in the quarter), `untasted` (samples pulled in it) and `doubted`
        (lots of the quarter with a reading in doubt, and the meter).
    """
    given = {"first": first, "last": last, "until": until}
    return {
        name: connection.sql(
            query, params={key: value for key, value in given.items() if f"${key}" in query}
        ).pl()
        for name, query in _QUERIES.items()
    }


def rows_dated(connection: duckdb.DuckDBPyConnection, first: date, last: date) -> dict[str, int]:
    """Count by table the rows that stand with a day in a quarter."""
    counted = "SELECT count(*) FROM core.{} WHERE CAST({} AS DATE) BETWEEN $first AND $last"
    return {
        table: connection.sql(
            counted.format(table, DAYS[table]), params={"first": first, "last": last}
        ).fetchall()[0][0]
        for table in _COUNTED
    }


def dated_span(connection: duckdb.DuckDBPyConnection) -> tuple[date | None, date | None]:
    """Give the first and the last day of packaging, tasting and readings; None without any."""
    query = " UNION ALL ".join(
        f"SELECT CAST({DAYS[table]} AS DATE) AS day FROM core.{table}" for table in _COUNTED
    )
    ((first, last),) = connection.sql(f"SELECT min(day), max(day) FROM ({query})").fetchall()
    return first, last
