"""Samples of the demo that nobody has tasted: pulled lately, planned, or forgotten in storage.

They hold no verdict, so no date rests on them; the page of this week speaks of them.
"""

from __future__ import annotations

import datetime as dt

import polars as pl

_COLUMNS = ("sample", "lot", "format", "storage_temp_c", "placed_on", "pulled_on", "place", "role")
_PULLED = (
    # The panel did not sit that week.
    ("S9101", "26224-11B5", "bottle 500", 20.0, dt.date(2026, 8, 14), dt.date(2026, 10, 8)),
    ("S9102", "26205-08K3", "keg 30", 4.0, dt.date(2026, 7, 27), dt.date(2026, 10, 22)),
)
_PLANNED = (
    ("S9103", "26195-03C4", "can 440", 30.0, dt.date(2026, 7, 16), dt.date(2026, 10, 29)),
    ("S9104", "26195-03C4", "can 440", 30.0, dt.date(2026, 7, 16), dt.date(2026, 10, 29)),
    ("S9105", "26189-03B5", "bottle 500", 20.0, dt.date(2026, 7, 10), dt.date(2026, 10, 30)),
)
_FORGOTTEN = (
    ("S9106", "26112-08", "can 440", 4.0, dt.date(2026, 4, 23), dt.date(2027, 1, 15)),
    ("S9107", "26112-08", "can 440", 4.0, dt.date(2026, 4, 23), dt.date(2027, 1, 15)),
    ("S9108", "26112-08", "can 440", 4.0, dt.date(2026, 4, 23), dt.date(2027, 1, 15)),
    ("S9109", "26121-02", "bottle 500", 20.0, dt.date(2026, 5, 4), dt.date(2026, 12, 18)),
    ("S9110", "26121-02", "bottle 500", 20.0, dt.date(2026, 5, 4), dt.date(2026, 12, 18)),
)
_PLACES = {4.0: "cold room", 20.0: "room 20", 30.0: "warm cupboard 30"}


def untasted_samples() -> pl.DataFrame:
    """Give them as rows of the samples table, in the columns that the demo's sheet has."""
    rows = [(*row, _PLACES[row[3]], "aged") for row in (*_PULLED, *_PLANNED, *_FORGOTTEN)]
    return pl.DataFrame(rows, schema=list(_COLUMNS), orient="row")
