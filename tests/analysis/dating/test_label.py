"""The date to print: never later than computed, and each rule's own switches."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.dating.label import CHECK, FORMS, RULES, Place, add_months, label
from analysis.dating.policy import Policy
from analysis.errors import InputError

DAYS = st.dates(date(1999, 1, 1), date(2101, 1, 1))
PLACES = st.builds(
    Place,
    days=st.integers(1, 2500),
    rule=st.sampled_from(sorted(RULES)),
    form=st.sampled_from(FORMS),
    to_month_end=st.booleans(),
    way_days=st.floats(0.0, 100.0),
    temp_c=st.none() | st.floats(0.0, 30.0),
    storage_text=st.none() | st.just("Keep cold"),
    abv_pct=st.none() | st.floats(0.0, 20.0),
)


@given(DAYS, PLACES)
def test_no_date_is_later_than_the_computed_day(packaged_on: date, place: Place) -> None:
    """What is printed lies after the way, costs a fifth at most; what is not says why."""
    found = label(packaged_on, place)
    assert found.computed_on == packaged_on + timedelta(days=place.days)
    assert (found.printed_on is None) == (found.reason is not None) == (not found.text)
    if found.printed_on is not None:
        left = (found.printed_on - packaged_on).days
        assert place.way_days < left <= place.days
        assert place.days - left <= place.days / 5
        if place.form != "day" or place.to_month_end:
            assert (found.printed_on + timedelta(days=1)).day == 1
        if place.form == "year":
            assert (found.printed_on.month, found.printed_on.day) == (12, 31)


@given(DAYS, PLACES, st.integers(0, 400))
def test_what_is_packaged_later_is_never_dated_earlier(
    packaged_on: date, place: Place, later: int
) -> None:
    """Monotone in the packaging day, wherever both have a date."""
    first, second = (label(packaged_on + timedelta(days=more), place) for more in (0, later))
    if first.printed_on is not None and second.printed_on is not None:
        assert first.printed_on <= second.printed_on


@given(DAYS, PLACES, st.integers(0, 400))
def test_what_keeps_longer_is_never_dated_earlier(
    packaged_on: date, place: Place, more: int
) -> None:
    """Monotone in the days, wherever both have a date."""
    longer = Place(**{**vars(place), "days": place.days + more})
    first, second = label(packaged_on, place), label(packaged_on, longer)
    if first.printed_on is not None and second.printed_on is not None:
        assert first.printed_on <= second.printed_on


@given(DAYS, st.integers(1, 2500))
def test_a_plain_day_is_the_computed_day(packaged_on: date, days: int) -> None:
    """Without a rule and a month's end nothing is taken away."""
    assert label(packaged_on, Place(days)).printed_on == packaged_on + timedelta(days=days)


@pytest.mark.parametrize(
    ("packaged_on", "days", "printed_on"),
    [
        (date(2026, 1, 1), 120, date(2026, 4, 30)),  # to 1 May
        (date(2026, 1, 1), 119, date(2026, 4, 30)),  # to 30 April itself
        (date(2025, 10, 1), 210, date(2026, 3, 31)),  # to 29 April
        (date(2027, 11, 1), 120, date(2028, 2, 29)),  # to 29 February of a leap year
        (date(2026, 11, 1), 120, date(2027, 2, 28)),  # to 1 March
        (date(2026, 9, 1), 182, date(2027, 2, 28)),  # over the year
        (date(2099, 10, 1), 151, date(2100, 2, 28)),  # 2100 is no leap year: to 1 March
    ],
)
def test_a_month_means_its_last_day(packaged_on: date, days: int, printed_on: date) -> None:
    """The last month end that is not after the computed day; leap years counted."""
    assert label(packaged_on, Place(days, form="month")).printed_on == printed_on
    by_rounding = Place(days, to_month_end=True)
    assert label(packaged_on, by_rounding).printed_on == printed_on


@pytest.mark.parametrize(
    ("days", "place", "said"),
    [
        (15, {"form": "month"}, "the end of the month before it is not after packaging: ask for"),
        (98, {"form": "month"}, "takes 21 of 98 days, more than a fifth: ask for a day"),
        (200, {"form": "year"}, "the end of the year before it is not after packaging"),
        (15, {"to_month_end": True}, "is not after packaging: round to days or weeks"),
        (85, {"form": "month", "way_days": 80.0}, "passes on the way, which takes 80 days"),
        (56, {"temp_c": 8.0}, "it holds at 8 °C alone and the package would not say so"),
        (120, {"rule": "canada", "form": "month"}, "asks for year, month and day: ask for a day"),
    ],
)
def test_what_may_not_be_printed_is_refused_with_what_to_do(
    days: int, place: dict[str, Any], said: str
) -> None:
    """A month's end that costs too much or falls before packaging, a cold date without a word."""
    found = label(date(2026, 2, 12), Place(days, **place))
    assert found.reason is not None
    assert said in found.reason
    assert (found.printed_on, found.text) == (None, "")


# Regulation (EU) No 1169/2011, Annex X, 1 (c): "not more than 3 months", "more than 3 months but
# not more than 18 months", "more than 18 months" (from memory).
@pytest.mark.parametrize(
    ("form", "packaged_on", "days", "allowed"),
    [
        ("month", date(2026, 1, 31), 89, False),  # 30 April is three months after 31 January
        ("month", date(2026, 1, 30), 90, False),  # and after 30 January
        ("month", date(2026, 1, 29), 91, True),  # one day more than three months
        ("year", date(2025, 7, 1), 548, False),  # to 31 December 2026, a day short of 18 months
        ("year", date(2025, 6, 30), 549, True),  # a day more than 18 months
        ("year", date(2025, 6, 30), 731, False),  # a fifth may not be lost
        ("day", date(2026, 1, 31), 30, True),
    ],
)
@pytest.mark.parametrize("rule", ["eu", "uk"])
def test_annex_x_asks_for_more_on_short_lives(
    rule: str, form: str, packaged_on: date, days: int, *, allowed: bool
) -> None:
    """Day and month up to three months, month and year up to eighteen, then the year alone."""
    found = label(packaged_on, Place(days, rule=rule, form=form))
    assert (found.printed_on is not None) == allowed, found


@given(DAYS, st.integers(1, 1500), st.sampled_from(["month", "year"]))
def test_annex_x_never_has_less_than_its_months(packaged_on: date, days: int, form: str) -> None:
    """A month stands alone only beyond three months from packaging, a year beyond eighteen."""
    found = label(packaged_on, Place(days, rule="eu", form=form))
    if found.printed_on is not None:
        assert found.printed_on > add_months(packaged_on, 3 if form == "month" else 18)


@pytest.mark.parametrize(
    ("day", "months", "expected"),
    [
        (date(2026, 11, 30), 3, date(2027, 2, 28)),
        (date(2027, 11, 30), 3, date(2028, 2, 29)),
        (date(2026, 1, 31), 18, date(2027, 7, 31)),
        (date(2026, 12, 31), 0, date(2026, 12, 31)),
    ],
)
def test_months_are_counted_by_their_names(day: date, months: int, expected: date) -> None:
    """The same day so many months later, or the last there is."""
    assert add_months(day, months) == expected


@pytest.mark.parametrize(
    ("rule", "form", "words", "text"),
    [
        ("eu", "day", "Best before", "14.08.2026"),
        ("uk", "day", "Best before", "14.08.2026"),
        ("canada", "day", "Best before / Meilleur avant", "2026 AU 14"),
        ("usa", "day", "Best by", "Aug 14 2026"),
        ("plain", "day", "Best before", "14 Aug 2026"),
        ("eu", "month", "Best before end", "07.2026"),
        ("usa", "month", "Best by end", "Jul 2026"),
        ("plain", "month", "Best before end", "Jul 2026"),
    ],
)
def test_each_rule_writes_a_date_its_own_way(rule: str, form: str, words: str, text: str) -> None:
    """“Best before” with a day and “Best before end” without: Annex X, 1 (a), from memory."""
    found = label(date(2026, 4, 7), Place(129, rule=rule, form=form))
    assert (found.words, found.text) == (words, text)


def test_canadas_months_have_two_letters_in_both_languages() -> None:
    """B.01.007 (4), from memory: JA FE MR AL MA JN JL AU SE OC NO DE."""
    codes = [
        label(date(2026, month, 1), Place(1, rule="canada")).text.split()[1]
        for month in range(1, 13)
    ]
    assert " ".join(codes) == "JA FE MR AL MA JN JL AU SE OC NO DE"


@pytest.mark.parametrize(("days", "must"), [(89, True), (90, True), (91, False)])
def test_ninety_days_or_less_must_be_dated_in_canada(*, days: int, must: bool) -> None:
    """B.01.007 (1.1): a durable life of 90 days or less, from memory."""
    (note,) = label(date(2026, 4, 7), Place(days, rule="canada")).notes
    assert ("must stand on the package" in note) == must


@pytest.mark.parametrize(
    ("abv", "exempt"), [(None, False), (9.9, False), (10.0, True), (12.0, True)]
)
def test_ten_per_cent_is_exempt_under_annex_x(*, abv: float | None, exempt: bool) -> None:
    """Annex X, 1 (d): beverages containing 10 % or more by volume of alcohol, from memory."""
    notes = label(date(2026, 4, 7), Place(365, rule="eu", abv_pct=abv)).notes
    assert any("no date is asked for" in note for note in notes) == exempt


@pytest.mark.parametrize(("form", "needed"), [("day", False), ("month", True)])
def test_a_date_without_a_day_needs_a_lot_mark(*, form: str, needed: bool) -> None:
    """Directive 2011/91/EU, article 5: none where day and month are shown, from memory."""
    notes = label(date(2026, 4, 7), Place(180, rule="eu", form=form)).notes
    assert any("lot mark" in note and "2011/91" in note for note in notes) == needed


@pytest.mark.parametrize(
    ("abv", "needed"), [(None, True), (0.0, True), (2.49, True), (2.5, False), (5.0, False)]
)
def test_below_two_and_a_half_per_cent_safety_comes_first(
    *, abv: float | None, needed: bool
) -> None:
    """Less, or not known, takes a recorded validation before there is any date."""
    assert Policy().needs_validation("Small Lager No. 5", abv) == needed
    assert not Policy(validated=frozenset({"Small Lager No. 5"})).needs_validation(
        "Small Lager No. 5", abv
    )


def test_a_cold_date_stands_with_its_storage_text() -> None:
    """With the words on the package it may be printed, and a warm route needs none."""
    assert label(date(2026, 4, 7), Place(56, temp_c=8.0, storage_text="Keep cold")).printed_on
    assert label(date(2026, 4, 7), Place(56, temp_c=21.0)).printed_on
    assert CHECK.endswith("local authority.")


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"rule": "mars"}, "no rule 'mars' of labels: expected one of eu, uk"),
        ({"form": "week"}, "no form 'week' of labels: expected one of day, month, year"),
        ({"days": 0}, "cannot print a date 0 days after packaging"),
    ],
)
def test_what_is_no_label_is_refused(changed: dict[str, Any], said: str) -> None:
    """A rule, a form or a length that there is not."""
    with pytest.raises(InputError, match=said):
        Place(**{"days": 56, **changed})
