"""The tables of the page of the assessors. Assessors go by code; nothing ranks them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dashboards import words
from dashboards.page import Column, Row, Table, rows, run_source

if TYPE_CHECKING:
    from datetime import date

    from dashboards.results import Results

Cells = dict[str, Any]

NOBODY = "Nobody has tasted yet: the tables samples and tastings fill this."
TOO_FEW = "too few to say"
DRIFT = {"drifts": "drifts", "may drift": "may drift", "none shows": "no drift shows"}


def errors(results: Results) -> Table:
    """Return each assessor's attendance, false alarms and misses."""
    return Table(
        name="assessors",
        caption="Assessors, by code",
        columns=(
            Column("Assessor"),
            Column("Glasses", figures=True, wide=True),
            Column("Came to sessions", figures=True),
            Column("False alarms", figures=True),
            Column("Misses", figures=True),
        ),
        rows=tuple(
            Row(
                (
                    a["code"],
                    words.whole(a["glasses"]),
                    words.of(a["sessions"], a["sessions_held"]),
                    _share(a, "false_alarms", "fresh_rejected", "fresh_tasted"),
                    _share(a, "misses", "aged_accepted", "aged_tasted"),
                ),
                narrow=f"{words.count(a['glasses'], 'glass')}.",
            )
            for a in results.assessors.rows(named=True)
        ),
        frame=results.assessors.drop("run_id"),
        source=run_source(results),
        empty=NOBODY,
    )


def with_the_rest(results: Results) -> Table:
    """Return how each assessor's answers go with those of the rest, and how they move."""
    return Table(
        name="assessors-rest",
        caption="Beside the rest, on the same samples",
        columns=(
            Column("Assessor"),
            Column("Follows the rest (1 is always, 0 a guess)"),
            Column("Moves in a year, %", figures=True),
            Column("So", wide=True),
        ),
        rows=tuple(
            Row((a["code"], _agreement(a), _moves(a), so(a)), narrow=words.sentence(so(a)))
            for a in results.assessors.rows(named=True)
        ),
        frame=results.assessors.select(
            "code", "measure", "^agreement.*$", "rest_agreement", "follows", "^drift.*$"
        ),
        source=run_source(results),
        empty=NOBODY,
    )


def quarters(results: Results) -> Table:
    """Return how far each assessor was from their own usual level, by quarter."""
    return Table(
        name="assessors-quarters",
        caption="Beside the own usual level, by quarter",
        columns=(
            Column("Assessor"),
            Column("Quarter"),
            Column("Glasses", figures=True),
            Column("Shift, % (with bounds)", figures=True),
        ),
        rows=rows(
            (
                q["code"],
                quarter(q["quarter"]),
                words.whole(q["glasses"]),
                _bounded(q, "shift"),
            )
            for q in results.assessor_quarters.rows(named=True)
        ),
        frame=results.assessor_quarters.drop("run_id"),
        source=run_source(results),
        empty=(
            "Too few to say: four assessors with 60 glasses each, in ten sessions or more, fill "
            "this from the table tastings."
        ),
    )


def quarter(first: date) -> str:
    """Return a quarter as `Oct to Dec 2025`."""
    month = first.month - 1
    return f"{words.MONTHS[month]} to {words.MONTHS[month + 2]} {first.year}"


def so(assessor: Cells) -> str:
    """Return what was found of an assessor's answers beside the rest's."""
    if assessor["follows"] is None:
        return f"{TOO_FEW} (n = {assessor['glasses']})"
    if not assessor["follows"]:
        return "does not follow the rest"
    if assessor["drift"] is None:
        return f"follows; drift: {TOO_FEW}"
    return f"follows; {DRIFT[assessor['drift']]}"


def _share(assessor: Cells, name: str, wrong: str, glasses: str) -> str:
    if assessor[name] is None:
        return f"{TOO_FEW} (n = {assessor[glasses]})"
    low, high = words.rounded(*(100 * assessor[f"{name}_{end}"] for end in ("lower", "upper")))
    return f"{words.of(assessor[wrong], assessor[glasses])} ({low} to {high}{words.NBSP}%)"


def _agreement(assessor: Cells) -> str:
    if assessor["agreement"] is None:
        return f"{TOO_FEW} (n = {assessor['glasses']})"
    value, low, high = (
        words.figure(assessor[f"agreement{end}"], 2) for end in ("", "_lower", "_upper")
    )
    return f"{value} ({low} to {high})"


def _moves(assessor: Cells) -> str:
    return words.NOTHING if assessor["drift"] is None else _bounded(assessor, "drift_a_year")


def _bounded(cells: Cells, name: str) -> str:
    value, low, high = (cells[f"{name}{end}"] for end in ("", "_lower", "_upper"))
    low, high = words.rounded(100 * low, 100 * high)
    return f"{words.difference(100 * value)} ({words.difference(low)} to {words.difference(high)})"
