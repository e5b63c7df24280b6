"""Calendar quarters, and the working day on which the data of one are closed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta

CLOSES_ON_WORKING_DAY = 8
_NAME = re.compile(r"(\d{4})-?q([1-4])", re.IGNORECASE | re.ASCII)
_SATURDAY = 5


@dataclass(frozen=True, order=True)
class Quarter:
    """A quarter of a calendar year: `2026-Q3` is July to September.

    Attributes:
        year: from 1000 to 9998, so that the quarters beside it have names too.
        number: 1 to 4.
    """

    year: int
    number: int

    def __str__(self) -> str:
        """Name it as a person types it."""
        return f"{self.year}-Q{self.number}"

    @property
    def first(self) -> date:
        """Its first day."""
        return date(self.year, 3 * self.number - 2, 1)

    @property
    def last(self) -> date:
        """Its last day."""
        return self.after.first - timedelta(days=1)

    @property
    def before(self) -> Quarter:
        """The quarter before it."""
        return Quarter(self.year - (self.number == 1), (self.number - 2) % 4 + 1)

    @property
    def after(self) -> Quarter:
        """The quarter after it."""
        return Quarter(self.year + (self.number == 4), self.number % 4 + 1)  # noqa: PLR2004

    @property
    def closes_on(self) -> date:
        """Working day 8 of the next quarter, Monday to Friday; a holiday counts as one."""
        day = self.last
        for _ in range(CLOSES_ON_WORKING_DAY):
            day += timedelta(days=1)
            while day.weekday() >= _SATURDAY:
                day += timedelta(days=1)
        return day


def quarter_of(day: date) -> Quarter:
    """Return the quarter that a day lies in."""
    return Quarter(day.year, (day.month + 2) // 3)


def quarter_named(name: str) -> Quarter | None:
    """Return the quarter of a name such as `2026-Q3` or `2026q3`; None where it is none."""
    found = _NAME.fullmatch(name.strip())
    if found is None or not 1000 <= int(found[1]) <= 9998:  # noqa: PLR2004
        return None
    return Quarter(int(found[1]), int(found[2]))
