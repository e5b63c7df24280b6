"""The printed sheets of a tasting session: the leader's plan, then a ballot for each taster.

One file that needs nothing beside it, neither network nor script, for A4 and for Letter. It is no
page of the results: it holds what the leader must know and a taster must not, and names.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from dashboards import words
from dashboards.page import environment

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

COLDEST_C, WARMEST_C = 8, 12
_MOST_MARKS = 11
_LITRE = 1000


@dataclass(frozen=True)
class Poured:
    """A sample of the session.

    Attributes:
        sample: its name.
        codes: its blind codes, two where it is served twice.
        beer, format, lot: what it is.
        role: aged, fresh, …
        storage_temp_c, stored_days: how warm it stood for how long, days before its pull.
        place: the cupboard it was pulled from, or empty.
        glasses, packages: to pour and to open.
        volume_ml: of a package.
        notes: what the leader must know of it, sentences.
    """

    sample: str
    codes: tuple[str, ...]
    beer: str
    format: str
    lot: str
    role: str
    storage_temp_c: float
    stored_days: int
    place: str
    glasses: int
    packages: int
    volume_ml: float
    notes: tuple[str, ...] = ()

    @property
    def kept(self) -> str:
        """How it was kept: `56 days at 20 °C`."""
        days = words.count(self.stored_days, "day")
        return f"{days} at {words.temperature(self.storage_temp_c)}"

    @property
    def served_as(self) -> str:
        """What it is in this session, for the leader alone."""
        if self.role == "fresh":
            return "blind fresh control"
        return "served twice" if len(self.codes) > 1 else ""


@dataclass(frozen=True)
class Ballot:
    """What one taster gets: a name, empty to be written by hand, and codes by place."""

    taster: str
    codes: tuple[str, ...]


@dataclass(frozen=True)
class Scale:
    """A scored attribute: its name, its ends, and which of them is the worse, "high" or "low"."""

    name: str
    low: float
    high: float
    worse: str

    @property
    def ends(self) -> str:
        """What its ends mean: `0 to 10, 10 is the worst`."""
        worst = self.high if self.worse == "high" else self.low
        return f"{words.plain(self.low)} to {words.plain(self.high)}, {words.plain(worst)} is worst"

    @property
    def marks(self) -> tuple[str, ...]:
        """Numbers to put a ring around; none where there would be too many."""
        steps = self.high - self.low
        if steps != int(steps) or steps >= _MOST_MARKS:
            return ()
        return tuple(words.plain(self.low + step) for step in range(int(steps) + 1))


@dataclass(frozen=True)
class SessionSheets:
    """Everything that the sheets say.

    Attributes:
        brewery: whose session it is.
        session: its name.
        on: its day.
        question: what every verdict answers.
        pour_ml: beer in a glass.
        poured: its samples, the fresh control first.
        ballots: one a taster.
        scales: what is scored.
        workbook: the file that verdicts are typed into.
        inbox: where it goes then.
        remarks: what the leader must know of the session, sentences.
    """

    brewery: str
    session: str
    on: date
    question: str
    pour_ml: float
    poured: Sequence[Poured]
    ballots: Sequence[Ballot]
    scales: Sequence[Scale]
    workbook: str
    inbox: str
    remarks: Sequence[str] = ()


def page_of(sheets: SessionSheets) -> str:
    """Return the sheets as one page of HTML."""
    glasses = len(sheets.ballots[0].codes) if sheets.ballots else 0
    return (
        environment()
        .get_template("session_sheets.html")
        .render(
            sheets=sheets,
            day=words.day(sheets.on),
            lead=_lead(sheets, glasses),
            drunk=_volume(glasses * sheets.pour_ml),
            pour=_volume(sheets.pour_ml),
            coldest=COLDEST_C,
            warmest=WARMEST_C,
            numbered=[
                (ballot, ballot.taster or f"sheet {number}")
                for number, ballot in enumerate(sheets.ballots, start=1)
            ],
            places=range(1, glasses + 1),
            openings=[(poured, _opening(poured, sheets.pour_ml)) for poured in sheets.poured],
        )
    )


def _lead(sheets: SessionSheets, glasses: int) -> str:
    tasters = words.count(len(sheets.ballots), "taster")
    fresh = any(poured.role == "fresh" for poured in sheets.poured)
    twice = any(len(poured.codes) > 1 for poured in sheets.poured)
    held = [
        *(["a blind fresh control"] if fresh else []),
        *(["one sample twice"] if twice else []),
    ]
    with_them = f", with {words.listed(held)} among them" if held else ""
    each, every = _glasses(glasses), _glasses(glasses * len(sheets.ballots))
    return f"{each} for each of {tasters}{with_them}: {every} in all."


def _opening(poured: Poured, pour_ml: float) -> str:
    """Say what to open: `3 of 330 mL for 12 glasses, 720 mL`."""
    return (
        f"{poured.packages} of {_volume(poured.volume_ml)} for {_glasses(poured.glasses)}, "
        f"{_volume(poured.glasses * pour_ml)}"
    )


def _volume(millilitres: float) -> str:
    if millilitres < _LITRE:
        return f"{words.whole(millilitres)}{words.NBSP}mL"
    return f"{words.plain(round(millilitres / _LITRE, 2))}{words.NBSP}L"


def _glasses(number: int) -> str:
    return f"{number}{words.NBSP}glass{'' if number == 1 else 'es'}"
