"""Whether the trade agrees with the fit: complaints beside those expected, for the back-test."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import words
from dashboards.page import Column, Row, Table, load_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

ENOUGH = 5
"""Complaints from which anything is said of whether the trade agrees."""

NONE = (
    "The trade cannot tell yet: there is no complaint about taste on a lot that was shipped and "
    "has an estimate. The tables complaints and shipments fill this."
)
_SAID = {
    "as expected": "",
    "more": "More than luck explains.",
    "fewer": "Fewer than luck explains.",
}
_WHY = (
    "Either such beer is drunk earlier or later than is assumed here, or it is kept otherwise than "
    "its route says, or it does not age as the fit has it."
)


def sentence(results: Results) -> str:
    """Say whether the complaints come from where the fit expects them."""
    summary = next(results.field_summary.iter_rows(named=True), None)
    if summary is None or not summary["compared"]:
        return NONE
    compared = words.count(summary["compared"], "complaint")
    if summary["compared"] < ENOUGH:
        return f"Too few to say: {compared} about taste on beer with an estimate."
    part, *bounds = (
        words.percent(round(summary[f"with_age{bound}"], 2)) for bound in ("", "_lower", "_upper")
    )
    with_age = (
        f"As far as {compared} tell, {part} of them ({bounds[0]} to {bounds[1]}) go with the share "
        "that the fit expects to be rejected for age; the others come from any beer alike"
    )
    off = results.field_checks.filter(pl.col("verdict") != "as expected").sort("corrected")
    if off.is_empty():
        return f"The trade agrees: no age, style or format stands out. {with_age}."
    said = [
        f"{_named(row)} had {words.whole(row['complaints'])} where "
        f"{words.figure(row['expected'], 1)} were expected"
        for row in off.iter_rows(named=True)
    ]
    return f"The trade does not agree: {words.listed(said)}. {_WHY} {with_age}."


def table(results: Results) -> Table:
    """Return the complaints by age, style and format beside those expected."""
    return Table(
        name="back-test-field",
        caption="Complaints about taste, beside those expected",
        columns=(
            Column("Beer"),
            Column("Packages drunk", figures=True, wide=True),
            Column("Complaints", figures=True),
            Column("Expected", figures=True),
        ),
        rows=tuple(
            Row(
                (
                    words.sentence(_named(row)).removesuffix("."),
                    words.whole(row["packages"]),
                    words.whole(row["complaints"]),
                    words.figure(row["expected"], 1),
                ),
                note=_SAID[row["verdict"]],
            )
            for row in results.field_checks.iter_rows(named=True)
        ),
        frame=results.field_checks,
        source=load_source(results),
        empty=NONE,
    )


def _named(row: Cells) -> str:
    if row["grouping"] != "age":
        return str(row["name"])
    if row["age_from"] is None and row["age_to"] is None:
        return "beer of any age"
    if row["age_from"] is None:
        return f"beer up to {_weeks(row['age_to'])} old"
    if row["age_to"] is None:
        return f"beer over {_weeks(row['age_from'])} old"
    return f"beer {row['age_from'] // 7} to {_weeks(row['age_to'])} old"


def _weeks(days: int) -> str:
    return words.count(days // 7, "week")
