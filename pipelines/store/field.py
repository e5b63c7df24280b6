"""What complaints are held against: the lots as a drinker can read them, and what was shipped."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import duckdb
    import polars as pl

_LOTS = """
    SELECT l.lot, l.format, f.kind, l.beer, b.style, l.line, l.packaged_on, l.best_before,
           l.printed_code, l.started_at, l.ended_at, l.packages, l.status
    FROM core.lots AS l
    JOIN core.beers AS b ON b.beer = l.beer
    JOIN core.formats AS f ON f.format = l.format
    ORDER BY l.lot, l.format
"""
_SHIPMENTS = """
    SELECT shipment, lot, format, shipped_on, packages, route, customer, best_before
    FROM core.shipments
    ORDER BY shipment
"""


def lots_as_printed(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give every lot whose beer and format are known, with what stands on its packages.

    Returns:
        lot, format, kind, beer, style, line, packaged_on, best_before, printed_code, started_at,
        ended_at, packages, status.
    """
    rows: pl.DataFrame = connection.sql(_LOTS).pl()
    return rows


def shipments(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give every shipment.

    Returns:
        shipment, lot, format, shipped_on, packages, route, customer, best_before.
    """
    rows: pl.DataFrame = connection.sql(_SHIPMENTS).pl()
    return rows
