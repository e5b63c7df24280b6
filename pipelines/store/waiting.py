"""Which assessor is to taste which sample."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    import duckdb


def waiting_glasses(connection: duckdb.DuckDBPyConnection, today: date) -> list[tuple[str, str]]:
    """Give each assessor of the shelf-life panel with each sample that waits to be tasted.

    Args:
        connection: A migrated store.
        today: The day; samples pulled later and assessors who left by then are no part of it.

    Returns:
        Assessor and sample, by assessor, then in the order in which samples were pulled.
    """
    return connection.sql(
        """
        SELECT assessor, sample FROM core.assessors CROSS JOIN core.samples
        WHERE shelf_life_panel AND (left_on IS NULL OR left_on > $today)
          AND pulled_on <= $today
          AND sample NOT IN (SELECT sample FROM core.tastings)
        ORDER BY assessor, pulled_on, sample
        """,
        params={"today": today},
    ).fetchall()
