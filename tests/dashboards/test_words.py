"""How numbers, days and codes are said."""

from __future__ import annotations

from datetime import date

import pytest

from dashboards import words


def said(text: str) -> str:
    """Return a text with common spaces."""
    return text.replace(words.NBSP, " ").replace("\N{NARROW NO-BREAK SPACE}", " ")


def test_a_day_is_said_without_leading_zero_and_in_no_locale() -> None:
    """The seventh of April is `7 Apr 2026` everywhere; a missing day is a dash."""
    assert said(words.day(date(2026, 4, 7))) == "7 Apr 2026"
    assert words.day(None) == "\N{EN DASH}"


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.25, "one glass in four"),
        (0.10, "one glass in ten"),
        (0.50, "one glass in two"),
        (0.33, "one glass in three"),
        (0.3, "30 % of glasses"),
        (0.125, "one glass in eight"),
    ],
)
def test_a_share_is_said_in_glasses(share: float, text: str) -> None:
    """A share that is one in a few is said so, another one in per cent."""
    assert said(words.glasses(share)) == text


@pytest.mark.parametrize(
    ("value", "text"), [(-82, "\N{MINUS SIGN}82"), (7, "+7"), (0, "0"), (None, "\N{EN DASH}")]
)
def test_a_difference_shows_its_sign(value: float | None, text: str) -> None:
    """A printed date that is too long has a true minus sign."""
    assert words.difference(value) == text


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (words.whole(1234.6), "1 235"),
        (words.bounds(104.6, 213.2), "104 to 214"),
        (words.bounds(98.0, None), "98 or more"),
        (words.days(1), "1 day"),
        (words.days(112.2), "112 days"),
        (words.count(0, "lot"), "0 lots"),
        (words.percent(0.9), "90 %"),
        (words.percent(0.975), "97.5 %"),
        (words.temperature(21.0), "21 °C"),
        (words.temperature(-1.5), "\N{MINUS SIGN}1.5 °C"),
        (words.temperature(None), "temperature not given"),
        (words.of(7, 9), "7 of 9"),
        (words.figure(-241.123, 2), "\N{MINUS SIGN}241.12"),
        (words.listed(["a"]), "a"),
        (words.listed(["a", "b", "c"]), "a, b and c"),
        (words.sentence("no lots"), "No lots."),
        (words.sentence(""), ""),
        (words.cause("oldest tasted"), "oldest beer tasted"),
        (words.cause("haze"), "haze"),
    ],
)
def test_numbers_and_codes_are_words(text: str, expected: str) -> None:
    """Days are whole, units stand beside their number, and a cause of the site's own stays."""
    assert said(text) == expected


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.34, "about a third"),
        (0.27, "about a quarter"),
        (0.84, "about 84 %"),
        (0.49, "about half"),
    ],
)
def test_a_part_is_said_as_a_common_one_where_it_is_near(share: float, text: str) -> None:
    """A third of the glasses is heard better than 34 % of them."""
    assert said(words.part(share)) == text


def test_bounds_stand_behind_their_number() -> None:
    """Rounded outwards and held together; no number has no bounds; nothing is `−0`."""
    assert said(words.bounded(112.4, 98.2, 130.1)) == "112 (98 to 131)"
    assert said(words.bounded(112.4, 98.2, None)) == "112 (98 or more)"
    assert words.bounded(None, 0.0, None) == words.NOTHING
    assert words.rounded(-0.4, 0.4) == (-1, 1)
    assert words.whole(-0.4) == "0"
    assert words.figure(-0.0001) == "0.000"


def test_what_a_lot_held_at_filling_is_said_with_what_is_known() -> None:
    """With its bounds, alone where an older run kept none, as a lower bound, or not at all."""
    unknown = dict.fromkeys(
        ("total_oxygen_ppb", "total_oxygen_lower_ppb", "total_oxygen_upper_ppb", "at_least_ppb")
    )
    known = {
        "total_oxygen_ppb": 62.2,
        "total_oxygen_lower_ppb": 51.4,
        "total_oxygen_upper_ppb": 75.2,
    }
    assert said(words.at_filling(unknown | known)) == "62 (51 to 76)"
    assert words.at_filling(unknown | {"total_oxygen_ppb": 62.2}) == "62"
    assert words.at_filling(unknown | {"at_least_ppb": 40.0}) == "at least 40"
    assert words.at_filling(unknown) == words.NOTHING
