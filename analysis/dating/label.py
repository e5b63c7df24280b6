"""The date to print on a package, by its packaging day and the rule of its market.

    computed day = packaging day + days
    printed day  = the last day, month's end or year's end that is not after the computed day

A month alone means that month's last day, a year alone its last day. Where that is before
packaging, passes on the way, or takes more than a fifth of the days, there is no date to print and
a day is asked for. The rules are told from memory of their texts, each by its name: the local
authority has the last word.

    eu, uk   Regulation (EU) No 1169/2011, Annex X, 1: day, month and year in that order; to three
             months day and month suffice, to eighteen month and year, beyond the year; drinks of
             10 % vol or more are exempt. In the UK as assimilated law.
    canada   Food and Drug Regulations, B.01.007: a durable life of 90 days or less must carry the
             date and how to store it; year, month and day in that order, months in two letters.
    usa      no federal rule asks beer for a date.
    plain    day, month and year; no rule in mind.
"""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from analysis.errors import InputError

CHECK: Final = "Check with your local authority."
COLD_C: Final = 15.0
"""A route that ends below this needs its storage text on the package, °C (assumed)."""

FORMS: Final = ("day", "month", "year")
DEAREST_SHARE: Final = 0.20
SHORT_LIFE_DAYS: Final = 90
EXEMPT_PCT: Final = 10.0
_DAY_UP_TO_MONTHS = 3
_MONTH_UP_TO_MONTHS = 18
_IN_LETTERS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_BILINGUAL = ("JA", "FE", "MR", "AL", "MA", "JN", "JL", "AU", "SE", "OC", "NO", "DE")

RULES: Final = {
    "eu": "Regulation (EU) No 1169/2011, Annex X",
    "uk": "Regulation (EU) No 1169/2011 as it stands in UK law, Annex X",
    "canada": "Food and Drug Regulations (Canada), B.01.007",
    "usa": "USA: no federal rule asks beer for a date",
    "plain": "no market's rule: day, month and year",
}
"""Each rule and its name in full."""

_LOT_MARK = {
    "eu": "Directive 2011/91/EU",
    "uk": "the Food (Lot Marking) Regulations 1996",
}


@dataclass(frozen=True)
class Place:
    """What a label depends on besides its packaging day.

    Attributes:
        days: the date, days from packaging, 1 or more.
        rule: one of `RULES`.
        form: day, month or year: how much of the date is printed.
        to_month_end: whether a date with a day goes down to a month's end too.
        way_days: days from packaging until the last stage of the route.
        temp_c: of that stage, °C; None where it is not known.
        storage_text: what the package says about storage.
        abv_pct: alcohol, % vol; None where it is not known.
    """

    days: int
    rule: str = "plain"
    form: str = "day"
    to_month_end: bool = False
    way_days: float = 0.0
    temp_c: float | None = None
    storage_text: str | None = None
    abv_pct: float | None = None

    def __post_init__(self) -> None:
        """Refuse what is no rule, no form or no length."""
        for what, value, known in (("rule", self.rule, RULES), ("form", self.form, FORMS)):
            if value not in known:
                message = f"no {what} {value!r} of labels: expected one of {', '.join(known)}"
                raise InputError(message)
        if self.days < 1:
            message = f"cannot print a date {self.days} days after packaging: expected 1 or more"
            raise InputError(message)


@dataclass(frozen=True)
class Label:
    """What to print.

    Attributes:
        computed_on: packaging day and days.
        printed_on: the day that the print means; None where nothing is to be printed.
        words: what stands before the date.
        text: the date as it is printed; empty where there is none.
        reason: why there is none; None where there is one.
        notes: what else the rule asks or says.
    """

    computed_on: date
    printed_on: date | None
    words: str
    text: str
    reason: str | None
    notes: tuple[str, ...]


def label(packaged_on: date, place: Place) -> Label:
    """Return the date to print on what is packaged on a day, or why there is none."""
    computed = packaged_on + timedelta(days=place.days)
    reach = place.form if place.form != "day" else "month" if place.to_month_end else "day"
    printed = _last_end(computed, reach)
    reason = _refusal(packaged_on, computed, printed, reach, place)
    if reason is not None:
        return Label(computed, None, "", "", f"{reason}.", ())
    words, text = _written(printed, place)
    notes = tuple(_notes((printed - packaged_on).days, place))
    return Label(computed, printed, words, text, None, notes)


def _last_end(day: date, reach: str) -> date:
    """Return the last day, end of a month or end of a year that is not after a day."""
    if reach == "day":
        return day
    following = day + timedelta(days=1)
    first = following.replace(month=1, day=1) if reach == "year" else following.replace(day=1)
    return first - timedelta(days=1)


def _refusal(
    packaged_on: date, computed: date, printed: date, reach: str, place: Place
) -> str | None:
    """Return why a date may not be printed so; None where it may."""
    left, taken = (printed - packaged_on).days, (computed - printed).days
    end = f"the end of the {reach} before it"
    ask = "ask for a day" if place.form != "day" else "round to days or weeks"
    months = _needs(place.form)
    least = "day and month" if place.form == "month" else "a month"
    rule = RULES[place.rule]
    cold = place.temp_c is not None and place.temp_c < COLD_C
    short = place.rule in _LOT_MARK and printed <= add_months(packaged_on, months)
    refusals = {
        f"{end} is not after packaging: {ask}": left <= 0,
        f"{end} takes {taken} of {place.days} days, more than a fifth: {ask}": (
            taken > DEAREST_SHARE * place.days
        ),
        f"{end} passes on the way, which takes {place.way_days:g} days: {ask}": (
            left <= place.way_days
        ),
        f"it holds at {place.temp_c or 0.0:g} °C alone and the package would not say so: write "
        "what it says about storage into routes, storage_text": cold and not place.storage_text,
        f"{rule}, asks for year, month and day: ask for a day": (
            place.rule == "canada" and place.form != "day"
        ),
        f"{rule}, asks for {least} up to {months} months: ask for a day": short,
    }
    return next((reason for reason, holds in refusals.items() if holds), None)


def _needs(form: str) -> int:
    """Return the months up to which Annex X asks for more than a form shows; 0 for a day."""
    return {"day": 0, "month": _DAY_UP_TO_MONTHS, "year": _MONTH_UP_TO_MONTHS}[form]


def add_months(day: date, months: int) -> date:
    """Return the same day so many months later, or the month's last where it has no such day."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    last = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(day.day, last))


def _written(day: date, place: Place) -> tuple[str, str]:
    """Return the words before a date, and the date as the rule writes it."""
    form = place.form
    letters = _IN_LETTERS[day.month - 1]
    if place.rule == "canada":
        code = _BILINGUAL[day.month - 1]
        return "Best before / Meilleur avant", f"{day.year} {code} {day.day:02}"
    end = "" if form == "day" else " end"
    if place.rule in _LOT_MARK:
        written = {"day": f"{day:%d.%m}.{day.year}", "month": f"{day:%m}.{day.year}"}
        return f"Best before{end}", written.get(form, f"{day.year}")
    if place.rule == "usa":
        written = {"day": f"{letters} {day.day:02} {day.year}", "month": f"{letters} {day.year}"}
        return f"Best by{end}", written.get(form, f"{day.year}")
    written = {"day": f"{day.day} {letters} {day.year}", "month": f"{letters} {day.year}"}
    return f"Best before{end}", written.get(form, f"{day.year}")


def _notes(printed_days: int, place: Place) -> list[str]:
    """Return what the rule asks besides, or leaves free."""
    said = []
    rule = RULES[place.rule]
    if place.rule in _LOT_MARK:
        if place.form != "day":
            law = _LOT_MARK[place.rule]
            said.append(f"A lot mark is needed too: the date shows no day ({law}).")
        if place.abv_pct is not None and place.abv_pct >= EXEMPT_PCT:
            said.append(f"At {EXEMPT_PCT:g} % vol or more no date is asked for ({rule}, 1 (d)).")
    elif place.rule == "canada":
        said.append(
            f"{SHORT_LIFE_DAYS} days or less: the date and how to store it must stand on the "
            f"package ({rule})."
            if printed_days <= SHORT_LIFE_DAYS
            else f"More than {SHORT_LIFE_DAYS} days: a date is not asked for; where one stands, it "
            f"is written so ({rule})."
        )
    elif place.rule == "usa":
        said.append(
            "No federal rule asks beer for a date; a state's may. Taking back beer past its date "
            "needs a written policy that is always followed and can be checked."
        )
    return said
