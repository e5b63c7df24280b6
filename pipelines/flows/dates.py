"""The dates of the newest run as a table for the terminal."""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING, Any

from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from pathlib import Path

BASIS = {
    "fitted": "its own tastings",
    "borrowed": "lent by other formats: treat as a trial",
    "prior": "partly assumed",
}
NO_DATE = {"route": "not fit for this route", "safety": "no safety validation"}
SHORTENED = {"cap": "ends at the cap", "oldest tasted": "no older beer tasted"}
HEADINGS = ("Style", "Format", "Kept as", "Best before, days", "Shelf life, days", "Rests on")
NUMBERS = {3, 4}


def dates_table(database: Path) -> list[str]:
    """Give the table as lines of text, the same on a terminal and in a file.

    Each date stands with its route and the temperature of that route's last stage, for a date
    without a temperature means nothing.

    Raises:
        StoreError: There is no store.
    """
    with open_store(database, read_only=True) as connection:
        dates = connection.sql(
            """
            SELECT d.style, d.format, d.route, d.best_before_days, d.shelf_life_days,
                   d.shelf_life_days_lower, d.shelf_life_days_upper, d.basis, d.binding_cause,
                   d.reason, arg_max(r.temp_c, r.stage_no) AS temp_c
            FROM published.dates AS d
            LEFT JOIN published.routes AS r ON r.route = d.route
            GROUP BY ALL
            ORDER BY d.style, d.format, d.route
            """
        ).pl()
    if dates.is_empty():
        return ["No dates yet: no beer with a format, a lot and a route has come in."]
    rows = [HEADINGS, *(_row(date) for date in dates.iter_rows(named=True))]
    widths = [max(len(row[column]) for row in rows) for column in range(len(HEADINGS))]
    lines = [
        "  ".join(
            cell.rjust(width) if column in NUMBERS else cell.ljust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]
    return [lines[0], "-" * max(map(len, lines)), *lines[1:]]


def _row(date: dict[str, Any]) -> tuple[str, ...]:
    kept = date["route"] if date["temp_c"] is None else f"{date['route']}, {date['temp_c']:g} °C"
    supported = "none" if date["best_before_days"] is None else f"{date['best_before_days']}"
    rests_on = BASIS.get(date["basis"], "not estimated")
    cause = date["binding_cause"]
    if date["best_before_days"] is None:
        rests_on = NO_DATE.get(cause) or date["reason"] or rests_on
    elif cause not in {None, "flavour"}:
        rests_on += f"; {SHORTENED.get(cause, f'ends by {cause}')}"
    return (date["style"], date["format"], kept, supported, _life(date), rests_on)


def _life(date: dict[str, Any]) -> str:
    if date["shelf_life_days"] is None:
        return ""
    lower, upper = date["shelf_life_days_lower"], date["shelf_life_days_upper"]
    # Outwards, so that no bound looks better than it is.
    most = "no bound" if upper is None else f"{ceil(upper)}"
    return f"{date['shelf_life_days']:.0f} ({floor(lower)} to {most})"
