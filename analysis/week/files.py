"""Which files that come regularly did not come."""

from __future__ import annotations

from datetime import date, timedelta
from fnmatch import fnmatch
from typing import TYPE_CHECKING

import polars as pl

if TYPE_CHECKING:
    from collections.abc import Mapping


def late_files(came: pl.DataFrame, expected: Mapping[str, int], today: date) -> pl.DataFrame:
    """Give what was expected and is late, or never came; the longest late first.

    Args:
        came: file (path within the inbox), table_name, came_on: each file taken in, by table.
        expected: name of a table, or name or pattern of a file, to the days from one to the next.
        today: the day.

    Returns:
        expected, every_days, last_file, last_on, due_on (the last three null where none ever came),
        days_late.
    """
    newest_first = came.sort("came_on", "file", descending=True).rows(named=True)
    rows = []
    for name, days in expected.items():
        last_file, last_on = next(
            (
                (f["file"], f["came_on"])
                for f in newest_first
                if _is_meant(name, f["file"], f["table_name"])
            ),
            (None, None),
        )
        due_on: date | None = last_on and last_on + timedelta(days=days)
        if due_on is None or due_on < today:
            rows.append(
                {
                    "expected": name,
                    "every_days": days,
                    "last_file": last_file,
                    "last_on": last_on,
                    "due_on": due_on,
                    "days_late": (today - due_on).days if due_on else 0,
                }
            )
    schema = {
        "expected": pl.String,
        "every_days": pl.Int32,
        "last_file": pl.String,
        "last_on": pl.Date,
        "due_on": pl.Date,
        "days_late": pl.Int32,
    }
    return pl.DataFrame(rows, schema=schema).sort("due_on", "expected", nulls_last=False)


def _is_meant(name: str, file: str, table: str | None) -> bool:
    written, path = name.lower(), file.lower()
    return any(
        fnmatch(found, written) for found in (path, path.rpartition("/")[2], (table or "").lower())
    )
