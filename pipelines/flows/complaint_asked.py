"""A complaint as it is asked about: a row of the table, or typed in."""

from __future__ import annotations

import re
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING, Any

import polars as pl

from pipelines.errors import StoreError
from pipelines.readers.contract import CATEGORIES
from pipelines.readers.names import did_you_mean

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

Cells = dict[str, Any]

_LONGEST_NAME = 60


@dataclass(frozen=True)
class Asked:
    """A complaint; what it does not say is None.

    Attributes:
        received_on: the day on which it was received.
        categories: what it is about.
        complaint: its name in the table; None for one that is typed in.
        lot, beer, format, printed_date, code_time, packages, outlet, market, bought_on, opened_on,
            storage_temp_c, storage_days, returned, note: as the table complaints has them.
    """

    received_on: date
    categories: tuple[str, ...]
    complaint: str | None = None
    lot: str | None = None
    beer: str | None = None
    format: str | None = None
    printed_date: date | None = None
    code_time: str | None = None
    packages: int | None = None
    outlet: str | None = None
    market: str | None = None
    bought_on: date | None = None
    opened_on: date | None = None
    storage_temp_c: float | None = None
    storage_days: float | None = None
    returned: str | None = None
    note: str | None = None

    @property
    def drunk_by(self) -> date:
        """The day by which it was opened."""
        return self.opened_on or self.received_on

    def page_name(self, answer: int) -> str:
        """Return the name of its page: of the complaint, or of the answer to what was typed in."""
        if self.complaint is None:
            return f"typed-in-{answer:04}"
        tame = re.sub(r"[^a-z0-9]+", "-", self.complaint.lower()).strip("-")[:_LONGEST_NAME]
        # A name that capitals alone keep apart may not share a file; K012 and k012 do not.
        digest = sha256(self.complaint.encode()).hexdigest()[:8]
        plain = tame == self.complaint.lower() and self.complaint.upper() == self.complaint
        return f"complaint-{tame}" if plain else f"complaint-{tame or 'unnamed'}-{digest}"


def from_table(complaint: str, rows: pl.DataFrame) -> Asked:
    """Return a complaint of the table.

    Args:
        complaint: its name.
        rows: the table complaints.

    Raises:
        StoreError: there is none of that name; the message gives the nearest.
    """
    found = rows.filter(pl.col("complaint") == complaint)
    if found.is_empty():
        nearest = did_you_mean(complaint, rows["complaint"].to_list())
        message = f"there is no complaint {complaint}{nearest}. One that is in no file is typed in:"
        hint = " stalecurve complaint --lot … --category stale --received …"
        raise StoreError(message + hint)
    row = found.row(0, named=True)
    names = Asked.__dataclass_fields__.keys() - {"categories"}
    return Asked(
        categories=tuple(row["category"].split(";")), **{name: row[name] for name in names}
    )


def checked_categories(given: Iterable[str]) -> tuple[str, ...]:
    """Return what a complaint is about, as typed in.

    Args:
        given: categories, each perhaps several apart by a semicolon.

    Raises:
        StoreError: there is none, or one is not known; the message gives the nearest.
    """
    parts = [part.strip().lower() for text in given for part in text.split(";")]
    named = tuple(dict.fromkeys(part for part in parts if part))
    if not named:
        message = f"say what the complaint is about with --category: {', '.join(CATEGORIES)}"
        raise StoreError(message)
    for name in named:
        if name not in CATEGORIES:
            nearest = did_you_mean(name, CATEGORIES) or f": known are {', '.join(CATEGORIES)}"
            message = f"{name} is no category of complaints{nearest}"
            raise StoreError(message)
    return named
