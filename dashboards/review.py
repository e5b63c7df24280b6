"""The report on a quarter: one HTML file that needs no other; one record gives one text."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from dashboards import review_dates, review_line, review_needs, review_people, words
from dashboards.page import environment
from dashboards.review_section import PAGES, on, packages

Cells = dict[str, Any]

FOLDER = "reviews"
"""Where the reports are among the pages, and beside the database."""
SIZES_PT = (9.0,)
_TURNING = dict.fromkeys(
    (0x200E, 0x200F, 0x061C, *range(0x202A, 0x202F), *range(0x2066, 0x206A)), None
)
"""Signs that turn the direction of writing: in a name they would turn the sentence round it."""
LINES_TO_FILL = 5
"""Empty lines for what the meeting agrees on."""


def file_of(quarter: str, ending: str) -> str:
    """Return where the report on a quarter is, from the folder of the pages."""
    return f"{FOLDER}/{quarter}.{ending}"


def html_of(record: Cells) -> str:
    """Return the report of a record as HTML.

    Args:
        record: All that is known of the quarter, as `records.reviews` keeps it.
    """
    return (
        environment()
        .get_template("review.html")
        .render(
            record=record,
            lead=_lead(record),
            known=_known(record),
            needs=review_needs.needs(record),
            more=review_needs.more(record),
            sections=(
                review_dates.too_long(record),
                review_dates.too_short(record),
                review_dates.retained(record),
                review_line.oxygen(record),
                review_line.heads(record),
                review_line.meters(record),
                review_people.panel(record),
                review_people.complaints(record),
                review_line.formats(record),
                review_people.actions(record),
                review_people.gaps(record),
            ),
            lines=range(LINES_TO_FILL),
            question=record["question"],
            flavour_date=words.FLAVOUR_DATE,
            list_page=PAGES["reviews"],
        )
        .translate(_TURNING)
    )


def _lead(record: Cells) -> str:
    filled = record["filled"]
    lots = words.counted(filled["lots"], "lot", "was filled", "were filled")
    needs = words.counted(len(record["needs"]), "decision", "is needed", "are needed")
    return (
        f"{words.sentence(lots)[:-1]} from {on(record['first_day'])} to {on(record['last_day'])}, "
        f"{packages(filled['packages'])}; {needs}."
    )


def _known(record: Cells) -> str:
    """Return what the report rests on: up to which day, which load, and which fit."""
    until, closes = record["data_until"], record["closes_on"]
    closed = f"Data up to {on(until)}"
    if until == closes:
        closed += ", working day 8 of the next quarter: what is dated later is left out"
    elif until <= record["last_day"]:
        closed += ": the quarter is not over"
    else:
        closed += f": files may still come until {on(closes)}, and then it is made again"
    load = record["load"]
    fit = "fitted for this report" if record["run"] is None else f"run {record['run']}"
    made = datetime.fromisoformat(record["made_at"])
    return (
        f"{closed}. Newest load {load['number']} of {on(load['on'])}; {fit}. "
        f"Made on {words.day(made)}."
    )
