"""What a quarterly report is made of: sections that each lead to the page they are from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from dashboards import words

if TYPE_CHECKING:
    from dashboards.page import Column

PAGES = {
    "dates": ("index.html", "Dates"),
    "decisions": ("decisions.html", "Decided dates"),
    "back-test": ("back-test.html", "Back-test"),
    "oxygen": ("oxygen.html", "Package oxygen"),
    "heads": ("heads.html", "Where oxygen comes from"),
    "meters": ("meters.html", "Meters"),
    "panel": ("panel.html", "Panel performance"),
    "assessors": ("assessors.html", "Assessors"),
    "complaints": ("complaints.html", "Complaints"),
    "formats": ("formats.html", "Formats apart"),
    "reviews": ("reviews.html", "Quarterly reviews"),
    "data": ("data.html", "Data"),
    "this week": ("this-week.html", "This week"),
}
"""The pages that claims lead to, from the folder of the pages, with their titles."""


@dataclass(frozen=True)
class Line:
    """The cells of a table's row, its heading first, and perhaps a note below it.

    `file` is the page that the heading leads to, from the folder of the pages.
    """

    cells: tuple[str, ...]
    note: str = ""
    file: str = ""


@dataclass(frozen=True)
class Section:
    """One part of the report.

    Attributes:
        title: What it is about.
        said: Sentences, the one that matters first.
        pages: Keys of `PAGES`: where its numbers are from.
        columns: Headings of its table; none for a section without.
        lines: Rows of its table.
        after: What is said below the table.
    """

    title: str
    said: tuple[str, ...]
    pages: tuple[str, ...]
    columns: tuple[Column, ...] = ()
    lines: tuple[Line, ...] = ()
    after: tuple[str, ...] = ()

    @property
    def links(self) -> tuple[tuple[str, str], ...]:
        """Return the pages that it leads to: file and title."""
        return tuple(PAGES[page] for page in self.pages)


def on(day: str) -> str:
    """Return a day of a record in words."""
    return words.day(date.fromisoformat(day))


def packages(number: int | None, doing: str = "") -> str:
    """Return a number of packages, or that it is not known."""
    if number is None:
        return "packages not recorded"
    return f"{words.count(number, 'package')}{doing}"


def cut(lines: list[Line], most: int) -> tuple[tuple[Line, ...], str]:
    """Return the first lines, and a sentence that says how many were left out."""
    left = len(lines) - most
    said = "" if left < 1 else f"{words.in_letters(left).capitalize()} more on that page."
    return tuple(lines[:most]), said
