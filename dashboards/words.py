"""How a number, a day or a code is said on a page.

A page is text for a brewer: days are whole, a share is "one glass in four", a code is a sentence.
Numbers and their unit are held together by a no-break space.
"""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

NBSP = "\N{NO-BREAK SPACE}"
NOTHING = "\N{EN DASH}"
MINUS = "\N{MINUS SIGN}"

# Not from the locale, so that the same store gives the same pages on every machine.
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

NUMBERS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)

GLASSES = {
    2: "two",
    3: "three",
    4: "four",
    5: "five",
    6: "six",
    8: "eight",
    10: "ten",
    20: "twenty",
}

PARTS = {
    1 / 4: "a quarter",
    1 / 3: "a third",
    2 / 5: "two fifths",
    1 / 2: "half",
    3 / 5: "three fifths",
    2 / 3: "two thirds",
    3 / 4: "three quarters",
}

NEAR = 0.04  # in thirds and quarters, nobody hears a finer difference

BASIS = {
    "none": "no date",
    "prior": "partly assumed",
    "borrowed": "lent by other formats",
    "fitted": "own tastings",
}

CAUSE = {
    "flavour": "flavour",
    "cap": "the cap you set",
    "oldest tasted": "oldest beer tasted",
    "route": "not fit for this route",
    "safety": "no safety validation",
}

FLAVOUR_DATE = (
    "This is the flavour date. Haze, infection, refermentation or loss of carbonation may end the "
    "beer sooner; the shortest counts."
)
NO_VALIDATION = (
    "Safety of low- and no-alcohol beer must be validated separately; this date does not do it."
)


def day(value: date | None) -> str:
    """Return a day as `7 Apr 2026`."""
    if value is None:
        return NOTHING
    return f"{value.day}{NBSP}{MONTHS[value.month - 1]}{NBSP}{value.year}"


def whole(value: float | None) -> str:
    """Return a number without decimals, thousands set apart, with a true minus sign."""
    if value is None:
        return NOTHING
    return f"{round(value):,}".replace(",", "\N{NARROW NO-BREAK SPACE}").replace("-", MINUS)


def bounds(lower: float, upper: float | None) -> str:
    """Return the bounds of a length as `98 to 131` or `98 or more`.

    They are rounded outwards, so that none looks better than it is.
    """
    return f"{whole(floor(lower))} " + ("or more" if upper is None else f"to {whole(ceil(upper))}")


def rounded(lower: float, upper: float) -> tuple[int, int]:
    """Return bounds as they are said, rounded outwards.

    What is judged by them is judged as said, so that no sentence contradicts its own numbers.
    """
    return floor(lower), ceil(upper)


def bounded(value: float | None, lower: float, upper: float | None) -> str:
    """Return a number with its bounds: `112 (98 to 131)`, or `112 (98 or more)`."""
    if value is None:
        return NOTHING
    return f"{whole(value)} ({bounds(lower, upper).replace(' ', NBSP)})"


def at_filling(lot: Mapping[str, Any]) -> str:
    """Return a row of `published.lot_oxygen` as `62 (51 to 75)`, `62`, or `at least 40`."""
    if lot["total_oxygen_ppb"] is None and lot["at_least_ppb"] is not None:
        return f"at least {whole(lot['at_least_ppb'])}"
    lower, upper = lot["total_oxygen_lower_ppb"], lot["total_oxygen_upper_ppb"]
    if lower is None:
        return whole(lot["total_oxygen_ppb"])
    return bounded(lot["total_oxygen_ppb"], lower, upper)


def difference(value: float | None) -> str:
    """Return a whole number that always has its sign, except for 0."""
    if value is None or not value:
        return whole(value)
    return whole(value) if value < 0 else f"+{whole(value)}"


def figure(value: float | None, digits: int = 3) -> str:
    """Return a statistic to a fixed number of decimals, with a true minus sign."""
    if value is None:
        return NOTHING
    return f"{round(value, digits) + 0.0:.{digits}f}".replace("-", MINUS)  # + 0.0: never "-0"


def days(value: float | None) -> str:
    """Return a length such as `112 days`."""
    return NOTHING if value is None else count(round(value), "day")


def count(number: int, noun: str) -> str:
    """Return a number with its noun in the right number: `1 lot`, `4 lots`."""
    return f"{whole(number)}{NBSP}{noun if number == 1 else _plural(noun)}"


def counted(number: int, noun: str, one: str, more: str) -> str:
    """Return how many do what, small numbers in letters: `three pulls are due`.

    Args:
        number: How many; `no pull is due` for none.
        noun: What is counted, one of it.
        one: What one does.
        more: What several do.
    """
    several = number > 1  # none is no plural here
    said = _plural(noun) if several else noun
    return f"{in_letters(number)}{NBSP}{said} {more if several else one}"


def _plural(noun: str) -> str:
    return f"{noun}es" if noun.endswith("s") else f"{noun}s"


def in_letters(number: int) -> str:
    """Return a small number as a word, another in figures: `no`, `three`, `13`."""
    return NUMBERS[number] if number < len(NUMBERS) else whole(number)


def percent(share: float) -> str:
    """Return a share of 0 to 1 as `90 %`."""
    return f"{round(share * 100, 1):g}{NBSP}%"


def chance(share: float) -> str:
    """Return a chance of 0 to 1 in whole per cent, never 0 or 100."""
    if share < 0.01:  # noqa: PLR2004 - a per cent
        return f"under 1{NBSP}%"
    if share > 0.99:  # noqa: PLR2004
        return f"over 99{NBSP}%"
    return percent(round(share, 2))


def of(part: int, total: int) -> str:
    """Return counts as `7 of 9`."""
    return f"{part}{NBSP}of{NBSP}{total}"


def plain(value: float) -> str:
    """Return a measured number as it was written: `4`, `20.5`."""
    return f"{value:g}".replace("-", MINUS)


def temperature(value: float | None) -> str:
    """Return a temperature as `21 °C`."""
    return "temperature not given" if value is None else f"{plain(value)}{NBSP}°C"


def glasses(share: float) -> str:
    """Return a share as `one glass in four` where it is one, else as `30 % of glasses`."""
    parts = round(1 / share) if share > 0 else 0
    if parts in GLASSES and abs(share * parts - 1) < 0.015:  # noqa: PLR2004 - 0.33 is a third
        return f"one glass in {GLASSES[parts]}"
    return f"{percent(share)} of glasses"


def part(share: float) -> str:
    """Return a share in common words where one is near: `about a third`, else `about 84 %`."""
    near = min(PARTS, key=lambda common: abs(common - share))
    return f"about {PARTS[near] if abs(near - share) <= NEAR else percent(round(share, 2))}"


def cause(code: str | None) -> str:
    """Return what ended the life; a cause from the limits table is said as it stands there."""
    return NOTHING if code is None else CAUSE.get(code, code)


def listed(items: Sequence[str]) -> str:
    """Return `a`, `a and b` or `a, b and c`."""
    if len(items) < 2:  # noqa: PLR2004 - one needs no "and"
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def short(text: str, longest: int) -> str:
    """Return a text cut to so many signs, with an ellipsis where something is left out."""
    return text if len(text) <= longest else f"{text[: longest - 1]}…"


def stopped(text: str) -> str:
    """Return a text that ends with a stop, or nothing for no text."""
    text = text.strip()
    return text if not text or text[-1] in ".?!" else f"{text}."


def sentence(text: str) -> str:
    """Return a text that begins with a capital and ends with a stop."""
    text = stopped(text)
    return f"{text[:1].upper()}{text[1:]}"
