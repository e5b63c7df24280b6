"""What a tasting session can be made of: samples that wait, tasters who are there, fresh beer."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    import duckdb
    import polars as pl

_SAMPLES = """
    SELECT s.sample, s.lot, s.format, l.beer, b.style, coalesce(s.role, 'aged') AS role,
           s.storage_temp_c, s.place, s.placed_on, s.pulled_on, l.packaged_on, l.status,
           f.volume_ml, f.kind,
           s.sample IN (SELECT sample FROM core.tastings) AS tasted,
           (
               SELECT min(c.complaint) FROM core.complaints AS c
               WHERE c.lot = s.lot AND coalesce(c.format, s.format) = s.format
                 AND (c.closed_on IS NULL OR c.closed_on > $on)
                 AND list_contains(CAST($unsafe AS VARCHAR[]), c.complaint)
           ) AS complaint
    FROM core.samples AS s
    JOIN core.lots AS l ON l.lot = s.lot AND l.format = s.format
    JOIN core.beers AS b ON b.beer = l.beer
    JOIN core.formats AS f ON f.format = l.format
    ORDER BY s.pulled_on, s.sample
"""
_PANEL = """
    SELECT assessor FROM core.assessors
    WHERE shelf_life_panel AND (left_on IS NULL OR left_on > $on)
    ORDER BY assessor
"""
_FRESH_LOTS = """
    SELECT l.lot, l.format, l.beer, b.style, l.packaged_on, f.volume_ml, f.kind
    FROM core.lots AS l
    JOIN core.beers AS b ON b.beer = l.beer
    JOIN core.formats AS f ON f.format = l.format
    WHERE l.packaged_on <= $on AND coalesce(l.status, 'released') = 'released' AND l.trial IS NULL
      AND NOT EXISTS (
          SELECT 1 FROM core.complaints AS c
          WHERE c.lot = l.lot AND list_contains(CAST($unsafe AS VARCHAR[]), c.complaint)
      )
    ORDER BY l.lot, l.format
"""


def samples_to_taste(
    connection: duckdb.DuckDBPyConnection, on: date, unsafe: Sequence[str]
) -> pl.DataFrame:
    """Give every sample with what a session must know of it.

    Args:
        connection: A migrated store.
        on: The day of the session.
        unsafe: Complaints that are the food-safety lead's: nobody tastes that beer.

    Returns:
        sample, lot, format, beer, style, role, storage_temp_c, place, placed_on, pulled_on,
        packaged_on, status (of the lot), volume_ml and kind (of the format), tasted, complaint (an
        open one for which nobody may taste the lot, else null); by pull, then by sample.
    """
    rows: pl.DataFrame = connection.sql(_SAMPLES, params={"on": on, "unsafe": list(unsafe)}).pl()
    return rows


def panel_there(connection: duckdb.DuckDBPyConnection, on: date) -> list[str]:
    """Give the assessors of the shelf-life panel who have not left by a day, by name."""
    return [name for (name,) in connection.sql(_PANEL, params={"on": on}).fetchall()]


def known_assessors(connection: duckdb.DuckDBPyConnection) -> list[str]:
    """Give every assessor, by name."""
    return [
        name
        for (name,) in connection.sql(
            "SELECT assessor FROM core.assessors ORDER BY assessor"
        ).fetchall()
    ]


def fresh_lots(
    connection: duckdb.DuckDBPyConnection, on: date, unsafe: Sequence[str]
) -> pl.DataFrame:
    """Give the lots that a fresh control can be pulled from: released, no trial, no safety case.

    Returns:
        lot, format, beer, style, packaged_on, volume_ml, kind.
    """
    rows: pl.DataFrame = connection.sql(_FRESH_LOTS, params={"on": on, "unsafe": list(unsafe)}).pl()
    return rows


def is_tasted(connection: duckdb.DuckDBPyConnection, session: str) -> bool:
    """Tell whether a session of that name is in the store."""
    ((found,),) = connection.sql(
        "SELECT count(*) > 0 FROM core.tastings WHERE session = $session",
        params={"session": session},
    ).fetchall()
    return bool(found)
