"""What the store knows of the lot behind a complaint."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from datetime import date

    import duckdb
    import polars as pl

Cells = dict[str, Any]

_NEWEST = "(SELECT max(run_id) FROM results.runs)"
_LOTS = """
    SELECT l.lot, l.format, l.beer, b.style, b.abv_pct, f.kind, f.light, f.volume_ml, l.line,
           l.batch, l.packaged_on, l.started_at, l.ended_at, l.best_before, l.printed_code,
           l.packages, l.status
    FROM core.lots AS l
    JOIN core.beers AS b ON b.beer = l.beer
    JOIN core.formats AS f ON f.format = l.format
    ORDER BY l.packaged_on, l.lot, l.format
"""
# Samples of the lot, and of what shares its tank or was filled on its line within a week.
_SAMPLES = f"""
    WITH mine AS (SELECT * FROM core.lots WHERE lot = $lot AND format = $format)
    SELECT s.sample, s.lot, s.format, coalesce(s.role, 'aged') AS role, s.storage_temp_c,
           s.placed_on, s.pulled_on, s.before_placing_temp_c, l.packaged_on,
           CASE WHEN l.lot = m.lot AND l.format = m.format THEN 'this lot'
                WHEN l.batch = m.batch OR l.lot = m.lot THEN 'same tank'
                ELSE 'same line and week' END AS whose,
           count(*) FILTER (t.verdict IN ('accept', 'reject')) AS tasted,
           count(*) FILTER (t.verdict = 'reject') AS rejected,
           list(DISTINCT t.session ORDER BY t.session) AS sessions,
           bool_or(coalesce(p.fresh_failed, false)) AS doubted
    FROM mine AS m
    JOIN core.lots AS l
      ON (l.lot = m.lot OR l.batch = m.batch
          OR (l.line = m.line AND abs(l.packaged_on - m.packaged_on) <= 7))
     AND l.beer = m.beer
    JOIN core.samples AS s ON s.lot = l.lot AND s.format = l.format
    JOIN core.tastings AS t ON t.sample = s.sample
    LEFT JOIN results.panel_sessions AS p ON p.run_id = {_NEWEST} AND p.session = t.session
    WHERE coalesce(s.role, 'aged') IN ('aged', 'reference', 'returned') AND s.pulled_on <= $until
    GROUP BY ALL
    HAVING count(*) FILTER (t.verdict IN ('accept', 'reject')) > 0
    ORDER BY whose DESC, s.storage_temp_c, s.pulled_on, s.sample
"""
_SHIPMENTS = """
    SELECT lot, format, shipped_on, packages, route, customer, best_before FROM core.shipments
    ORDER BY shipped_on, shipment
"""
_DOUBT = """
    SELECT o.meter, count(*) AS readings, min(d.standard) AS standard
    FROM core.oxygen AS o
    JOIN results.meter_doubts AS d
      ON d.run_id = (SELECT max(run_id) FROM results.runs) AND d.meter = o.meter
     AND (d.after IS NULL OR o.measured_at > d.after)
     AND (d.until IS NULL OR o.measured_at < d.until)
    WHERE o.lot = $lot AND o.format = $format
    GROUP BY o.meter ORDER BY o.meter
"""
_HEAD = f"""
    SELECT head, heads, chance, ratio, ratio_lower, ratio_upper, first_on, last_on
    FROM results.head_findings
    WHERE run_id = {_NEWEST} AND line = $line AND finding = 'named'
      AND $packaged_on BETWEEN first_on AND last_on
"""
_POSITIONS = f"""
    SELECT run_position, packages, ratio, ratio_lower, ratio_upper FROM results.run_positions
    WHERE run_id = {_NEWEST} AND line = $line AND format = $format AND run_position <> 'middle'
    ORDER BY run_position
"""
_HEAT = """
    WITH near AS (
        SELECT *, coalesce(lot = $lot, false) AS with_lot FROM core.temperature_log
        WHERE (lot = $lot OR route = $route) AND CAST(read_at AS DATE) BETWEEN $since AND $until
    )
    SELECT count(*) AS readings, count(DISTINCT logger) AS loggers, avg(temp_c) AS mean_c,
           max(temp_c) AS highest_c, bool_or(with_lot) AS with_lot,
           CAST(min(read_at) AS DATE) AS first_on, CAST(max(read_at) AS DATE) AS last_on
    FROM near WHERE with_lot = (SELECT bool_or(with_lot) FROM near)
"""
_ERRORS = f"""
    SELECT CAST(sum(fresh_rejected) AS BIGINT) AS fresh_rejected,
           CAST(sum(fresh_tasted) AS BIGINT) AS fresh_tasted,
           CAST(sum(aged_accepted) AS BIGINT) AS aged_accepted,
           CAST(sum(aged_tasted) AS BIGINT) AS aged_tasted
    FROM results.assessors WHERE run_id = {_NEWEST}
"""


def lots_with_packages(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give every lot whose beer and format are known, with what its packages say.

    Returns:
        lot, format, beer, style, abv_pct, kind, light, volume_ml, line, batch, packaged_on,
        started_at, ended_at, best_before, printed_code, packages, status.
    """
    rows: pl.DataFrame = connection.sql(_LOTS).pl()
    return rows


def shipped(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give every shipment: lot, format, shipped_on, packages, route, customer, best_before."""
    rows: pl.DataFrame = connection.sql(_SHIPMENTS).pl()
    return rows


def tasted_samples(
    connection: duckdb.DuckDBPyConnection, lot: str, format_: str, until: date
) -> list[Cells]:
    """Give the tasted samples of a lot, of its tank, and of its line in that week, same beer.

    Returns:
        sample, lot, format, role, storage_temp_c, placed_on, pulled_on, before_placing_temp_c,
        packaged_on, whose (this lot, same tank, same line and week), tasted and rejected (glasses),
        sessions, doubted (the fresh control failed in one of them).
    """
    params = {"lot": lot, "format": format_, "until": until}
    return _rows(connection, _SAMPLES, params)


def meters_in_doubt(connection: duckdb.DuckDBPyConnection, lot: str, format_: str) -> list[Cells]:
    """Give what a lot's readings owe to a meter in doubt: meter, readings, standard."""
    return _rows(connection, _DOUBT, {"lot": lot, "format": format_})


def named_head(
    connection: duckdb.DuckDBPyConnection, line: str | None, packaged_on: date
) -> Cells | None:
    """Give the head of a line that reads more than the rest at the time; None where none does."""
    found = _rows(connection, _HEAD, {"line": line, "packaged_on": packaged_on})
    return found[0] if found else None


def run_positions(
    connection: duckdb.DuckDBPyConnection, line: str | None, format_: str
) -> list[Cells]:
    """Give how start, end and restart of a line's runs compare with the middle."""
    return _rows(connection, _POSITIONS, {"line": line, "format": format_})


def logged_heat(
    connection: duckdb.DuckDBPyConnection, lot: str, route: str | None, since: date, until: date
) -> Cells | None:
    """Give what loggers read between two days; None where none lay.

    Those that lay with the lot count alone; where none did, those on its route do.
    """
    params = {"lot": lot, "route": route, "since": since, "until": until}
    (found,) = _rows(connection, _HEAT, params)
    return found if found["readings"] else None


def verdict_counts(connection: duckdb.DuckDBPyConnection) -> Cells:
    """Give the panel's counts of blind fresh beer rejected and of aged beer accepted."""
    (found,) = _rows(connection, _ERRORS, {})
    return found


def newest_run_and_load(connection: duckdb.DuckDBPyConnection) -> Cells:
    """Give the newest run with its end, and the newest load; null where there is none."""
    query = """
        SELECT (SELECT max(run_id) FROM results.runs) AS run,
               (SELECT max_by(finished_at, run_id) FROM results.runs) AS run_finished_at,
               (SELECT max(load_id) FROM intake.loads) AS newest_load
    """
    (found,) = _rows(connection, query, {})
    return found


def _rows(connection: duckdb.DuckDBPyConnection, query: str, params: Cells) -> list[Cells]:
    frame: pl.DataFrame = connection.sql(query, params=params).pl()
    return frame.rows(named=True)
