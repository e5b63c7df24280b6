"""What is said of a lot in one line, and what to do."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from pipelines.flows.lot_words import advice, answer, line_of, remark

DAY = date(2026, 3, 2)
LOT: dict[str, Any] = {
    "lot": "L1",
    "format": "can 330",
    "beer": "Fen Pale",
    "packaged_on": DAY,
    "packages": 8,
    "clean": 8,
    "late": 0,
    "shaken": 0,
    "part": 0,
    "below_floor": 0,
    "unusable": 0,
    "heads": None,
    "total_ppb": 211.4,
    "lower_ppb": 170.7,
    "upper_ppb": 262.1,
    "at_least_ppb": None,
    "line_ppb": 60.0,
    "limit_lower_ppb": 30.0,
    "limit_upper_ppb": 120.0,
    "above_line": True,
    "reckoned_ppb": 61.2,
    "printed_on": date(2026, 6, 8),
    "usual_days": 98,
    "route": "shelf",
    "temp_c": 20.0,
    "style_days": 98,
    "supported_days": 56,
    "verdict": "shorten",
    "shorten_days": 56,
    "cold_route": "fridge",
    "cold_temp_c": 4.0,
    "samples": 2,
    "sample": "S7",
    "sample_on": date(2026, 4, 1),
}


def test_a_lot_to_shorten_is_told_in_one_line_with_what_to_do_best_first() -> None:
    """Its oxygen, its line, the date with its temperature, and then the ways out."""
    assert line_of(LOT, DAY, 120.0) == (
        "L1, can 330 (Fen Pale, packaged 2 Mar 2026): 211 ppb (170 to 263) from 8 packages (head "
        "not recorded), above the limit of its line: its line's usual is 60 (limits 30 to 120). "
        "The printed 98 days, to 8 Jun 2026, do not hold, kept as 'shelf' says (about 20 °C): its "
        "oxygen supports 56 days. To do: shorten to 56 days, best before 27 Apr 2026 (packed beer "
        "is never re-dated: have what is packed sold and drunk by then); or keep it in 'fridge' "
        "(ends at 4 °C) only, where 98 days hold; or taste its retained sample S7, to be pulled on "
        "1 Apr 2026. Measuring again tomorrow cannot clear this lot; a lower reading then is not "
        "better news."
    )
    assert "\n" not in line_of(LOT, DAY, 120.0)


def test_a_day_that_has_passed_is_no_date_to_shorten_to() -> None:
    """Who looks at an old lot is told that the date is gone."""
    said = advice(LOT, date(2026, 5, 1), 120.0)
    assert said[0] == "shorten to 56 days, best before 27 Apr 2026, which has passed"


def test_a_lot_that_holds_has_nothing_to_do() -> None:
    """No warning, no advice; bounds as usual for its line."""
    holds = {**LOT, "verdict": "holds", "shorten_days": None, "cold_route": None}
    assert advice(holds, DAY, 120.0) == []
    assert remark(holds) == ""
    assert answer({**holds, "above_line": False}).endswith(
        "; its line's usual is 60 (limits 30 to 120). The printed 98 days, to 8 Jun 2026, hold, "
        "kept as 'shelf' says (about 20 °C)."
    )


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({"verdict": "too few"}, "Too few to shorten or to clear: 6 are needed."),
        (
            {"verdict": "only bounds", "total_ppb": None, "upper_ppb": None, "at_least_ppb": 44.6},
            "at least 44 ppb (head not recorded)",
        ),
        ({"verdict": "only bounds"}, "they may condemn a lot and never clear it"),
        ({"verdict": "no readings", "total_ppb": None, "upper_ppb": None}, ": no oxygen reading"),
        ({"verdict": "holds", "total_ppb": None, "upper_ppb": 2.0}, ": at most 2 ppb"),
        ({"verdict": "no route"}, "No route carries this kind of package"),
        ({"verdict": "no estimate"}, "nothing is estimated for this style and format yet."),
        ({"verdict": "no date"}, "No date is printed, and the data support none."),
        ({"verdict": "no validation"}, "must be validated separately; this date does not do it."),
        ({"verdict": "as usual"}, "above the 61 ppb of the middle lot that the date reckons with."),
        ({"verdict": "as usual", "printed_on": None}, "The usual 98 days stand, kept as"),
        ({"verdict": "date too long", "style_days": 70}, "where the data support 70 days"),
        ({"verdict": "date too long", "style_days": None}, "where the data support no date"),
        ({"style_days": 84}, "its oxygen supports 56 days, that of a usual lot 84 days."),
        ({"supported_days": None, "shorten_days": None}, "its oxygen supports no date."),
        ({"upper_ppb": None, "total_ppb": None, "at_least_ppb": 200.0}, "supports at most 56 days"),
        ({"line_ppb": None}, "no limits of its line and format yet."),
        ({"late": 2, "shaken": 3, "heads": "1, 2"}, "(2 late, 3 shaken; heads 1, 2)"),
    ],
)
def test_every_verdict_has_its_sentence(changed: dict[str, Any], expected: str) -> None:
    """A stop at the end, and the numbers it rests on."""
    said = answer({**LOT, **changed})
    assert expected in said
    assert said.endswith(".")
    assert not said.endswith("..")


def test_more_packages_are_asked_for_only_while_they_can_be_had() -> None:
    """On the day of filling, as many as are missing; later it is too late."""
    few = {**LOT, "verdict": "too few", "shorten_days": None, "cold_route": None, "packages": 2}
    assert advice(few, DAY, 90.0)[0] == "read 4 more packages within 1.5 hours of filling"
    assert "read" not in advice(few, date(2026, 3, 3), 120.0)[0]
    none_kept = {**few, "samples": 0, "packages": 5}
    assert advice(none_kept, DAY, 45.0) == [
        "read 1 more package within 45 minutes of filling",
        "taste a retained sample: none of it is in storage, so put one aside",
    ]


def test_a_date_that_is_too_long_for_every_lot_is_the_label_s_matter() -> None:
    """This lot is not to be shortened; the next label is."""
    said = advice(
        {**LOT, "verdict": "date too long", "shorten_days": None, "style_days": 70}, DAY, 120.0
    )
    assert said == [
        "shorten the next label to 70 days",
        "keep it in 'fridge' (ends at 4 °C) only, where 98 days hold",
    ]
