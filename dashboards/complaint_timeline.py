"""From packaging to the complaint: a row a stage or day, drawn as SVG into the page.

Stages of the route are bars with their temperature, hatched where they are the plan's; what is
known to a day is a dot with its day.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from dashboards import words

Cells = dict[str, Any]

WIDTH, ROW, LEFT, RIGHT, TOP = 680, 24, 190, 110, 8


@dataclass(frozen=True)
class Mark:
    """A row: its words, where it begins and ends in pixels (equal for a day), what stands beside.

    `planned` stages are the route's, not seen.
    """

    label: str
    y: float
    x: float
    to: float
    beside: str
    planned: bool = False
    strong: bool = False

    @property
    def is_day(self) -> bool:
        """Whether it is one day."""
        return self.x == self.to


@dataclass(frozen=True)
class Timeline:
    """The drawing: its size, its rows, marks of the axis (pixel, words), and its words for all."""

    height: int
    rows: tuple[Mark, ...]
    ticks: tuple[tuple[float, str], ...]
    summary: str


def timeline(record: Cells) -> Timeline | None:
    """Return the time line of a complaint; None where its lot is not known."""
    known = record["known"]
    if known is None:
        return None
    packaged = date.fromisoformat(known["lot"]["packaged_on"])
    asked = record["asked"]
    received = date.fromisoformat(asked["received_on"])
    days = [("packaged", packaged, True)]
    for label, text in (
        ("shipped", known["went"]["shipped_on"]),
        ("bought", asked["bought_on"]),
        ("opened", asked["opened_on"]),
        ("printed date", known["day"]["printed_on"]),
    ):
        if text is not None:
            days.append((label, date.fromisoformat(text), label == "opened"))
    days.append(("complaint received", received, True))
    first = min(day for _, day, _ in days)
    last = max(day for _, day, _ in days)
    scale = (WIDTH - LEFT - RIGHT) / max((last - first).days, 1)

    def x(day: date) -> float:
        return round(LEFT + (day - first).days * scale, 1)

    found: list[tuple[date, str, date, str, bool, bool]] = [
        (day, label, day, words.day(day), False, strong) for label, day, strong in days
    ]
    found += [
        (begins, label, ends, words.temperature(temp_c), True, False)
        for label, begins, ends, temp_c in _stages(known, packaged, min(received, last))
    ]
    found.sort(key=lambda row: (row[0], row[4]))
    rows = tuple(
        Mark(label, TOP + ROW * (place + 0.5), x(begins), x(ends), beside, planned, strong)
        for place, (begins, label, ends, beside, planned, strong) in enumerate(found)
    )
    height = TOP + ROW * (len(rows) + 1)
    told = "; ".join(f"{row.label}: {row.beside}" for row in rows)
    return Timeline(height, rows, _ticks(first, last, scale), told)


def _stages(known: Cells, packaged: date, last: date) -> list[tuple[str, date, date, float]]:
    route = known["route"]
    if route is None or last <= packaged:
        return []
    begins, rows = packaged, []
    for place, temp_c in enumerate(route["temp_c"]):
        lasting = route["days"][place] if place < len(route["days"]) else None
        ends = last if lasting is None else min(begins + timedelta(days=lasting), last)
        if ends > begins:
            rows.append((route["stages"][place], begins, ends, temp_c))
        begins = ends
    return rows


def _ticks(first: date, last: date, scale: float) -> tuple[tuple[float, str], ...]:
    """Mark the beginnings of months, so many apart that their names do not touch."""
    months = [
        date(year, month, 1)
        for year in range(first.year, last.year + 1)
        for month in range(1, 13)
        if first <= date(year, month, 1) <= last
    ]
    every = next((n for n in (1, 2, 3, 6, 12) if n * 30 * scale >= 60), 12)  # noqa: PLR2004
    return tuple(
        (round(LEFT + (month - first).days * scale, 1), f"{words.MONTHS[month.month - 1]}")
        for month in months
        if (month.month - 1) % every == 0
    )
