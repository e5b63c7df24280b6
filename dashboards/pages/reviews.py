"""Quarterly reviews: every one that was made, and what was agreed on in them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import words
from dashboards.page import Column, Page, Row, Table, load_source
from dashboards.review import file_of

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

STATES = {"agreed": "not done", "done": "done", "dropped": "dropped"}


def page(results: Results) -> Page:
    """Return the list of reviews and of the actions agreed on in them."""
    tables = {"made": _made(results), "actions": _actions(results)}
    return Page(
        file="reviews.html",
        title="Quarterly reviews",
        template="reviews.html",
        context={
            "lead": _lead(results),
            **tables,
            "files": [
                (quarter, file_of(quarter, "html"), file_of(quarter, "json"))
                for quarter in results.reviews["quarter"]
            ],
        },
        tables=tuple(tables.values()),
    )


def _lead(results: Results) -> str:
    if results.reviews.is_empty():
        return (
            "No quarter has been reviewed yet: stalecurve review makes the report on the last one, "
            "and the schedule does on working day 8 of the next."
        )
    made = words.counted(results.reviews.height, "quarter", "was reviewed", "were reviewed")
    said = f"{made}, the newest {results.reviews['quarter'][0]}"
    if results.actions.is_empty():
        return words.sentence(f"{said}; no action is recorded")
    open_ = results.actions.filter(pl.col("state") == "agreed").height
    left = words.counted(open_, "action", "is not done", "are not done")
    return words.sentence(f"{said}; {left} of {words.whole(results.actions.height)} agreed on")


def _made(results: Results) -> Table:
    return Table(
        name="reviews",
        caption="The review of each quarter, the newest first",
        columns=(
            Column("Quarter"),
            Column("Made on"),
            Column("Data up to"),
            Column("Newest load", figures=True, wide=True),
            Column("Fit", wide=True),
        ),
        rows=tuple(_review(row) for row in results.reviews.rows(named=True)),
        frame=results.reviews.drop("record", "sheet", "settings"),
        source=load_source(results),
        empty="No review yet: stalecurve review makes one.",
    )


def _review(row: Cells) -> Row:
    fit = "for the review" if row["run_id"] is None else f"run {row['run_id']}"
    load = words.whole(row["load_id"])
    return Row(
        (row["quarter"], words.day(row["made_at"]), words.day(row["data_until"]), load, fit),
        narrow=words.sentence(f"newest load {load}; fitted: {fit}"),
    )


def _actions(results: Results) -> Table:
    return Table(
        name="actions",
        caption="What was agreed on, the newest quarter first",
        columns=(
            Column("No.", figures=True),
            Column("Quarter"),
            Column("Action"),
            Column("Who, by when", wide=True),
            Column("It is"),
        ),
        rows=tuple(_action(row) for row in results.actions.rows(named=True)),
        frame=results.actions,
        source=load_source(results),
        empty=(
            "Nothing has been agreed on yet. After a meeting, record it: "
            'stalecurve action 2026-Q3 "…" --who … --due … --by …'
        ),
    )


def _action(row: Cells) -> Row:
    who = ", ".join(filter(None, (row["who"], words.day(row["due_on"]) if row["due_on"] else "")))
    state = STATES[row["state"]]
    if row["state"] != "agreed":
        state = f"{state}, {words.day(row['recorded_at'])}"
    return Row(
        (str(row["action_id"]), row["quarter"], row["what"], who or words.NOTHING, state),
        narrow=words.stopped(who),
        note=f"“{row['because']}”" if row["because"] else "",
    )
