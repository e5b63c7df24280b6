"""The page for the packaging office: packaging day to printed date, sixty days ahead."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import words
from dashboards.page import Column, Page, Row, Table, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

NOT_MADE = "The dates to print are worked out together with the pages: run stalecurve publish"
CHECK = "check with your local authority"
WIDTH = 6
"""Lengths of dates side by side: what fits on an upright sheet."""

_FORMS = {"day": "to the day", "month": "to the month's end", "year": "to the year's end"}


def page(results: Results) -> Page:
    """Return the page for the packaging office."""
    week = next(results.this_week.iter_rows(named=True), None)
    now = results.labels.filter(pl.col("packaged_on") == pl.col("packaged_on").min())
    calendars = _calendars(results)
    tables = {
        "today": _today(results, now),
        "undated": _undated(results),
        "customers": _customers(results),
    }
    return Page(
        file="label.html",
        title="For the packaging office",
        template="label.html",
        context={
            "lead": _lead(results, now),
            "written": week["written_on"].isoformat() if week else "",
            "rules": _rules(results.labels),
            "notes": _notes(results.labels),
            "calendars": calendars,
            **tables,
        },
        tables=(*tables.values(), *calendars),
    )


def _lead(results: Results, now: pl.DataFrame) -> str:
    if results.market_dates.is_empty():
        return "No date yet: no beer with a lot and a route has come in."
    if now.is_empty():
        return "No beer has a date that may be printed."
    labels = words.count(results.market_dates.height, "label")
    return (
        f"Of {labels} (a beer in a format for a market), {now['printed_on'].count()} have a date "
        f"to print on what is packed on {words.day(now['packaged_on'][0])}."
    )


def _today(results: Results, now: pl.DataFrame) -> Table:
    """Return what to print today, for each beer, format and market."""
    shown = now.join(
        results.market_dates.select(
            *("beer", "format", "market", "route", "temp_c", "cold", "storage_text", "shelf_days"),
            *("binding_cause", "basis", "unfit"),
        ),
        on=["beer", "format", "market"],
        how="left",
    )
    return Table(
        name="labels-today",
        caption="What to print on what is packed today",
        columns=(
            Column("Beer, format"),
            Column("Market"),
            Column("Print"),
            Column("Days", figures=True),
            Column("Kept as", wide=True),
            Column("Ended by", wide=True),
        ),
        rows=tuple(
            Row(
                (
                    f"{row['beer']}, {row['format']}",
                    row["market"],
                    _print(row),
                    words.whole(row["days"]),
                    _kept(row),
                    words.cause(row["binding_cause"]),
                ),
                narrow=f"Kept as {_kept(row)}; ended by {words.cause(row['binding_cause'])}.",
                note=_note(row),
            )
            for row in shown.rows(named=True)
        ),
        frame=shown,
        source=run_source(results),
        empty=NOT_MADE,
    )


def _print(row: Cells) -> str:
    if row["printed"] is None:
        return "nothing"
    return f"{row['words']} {row['printed']}".replace(" ", words.NBSP)


def _kept(row: Cells) -> str:
    return f"{row['route']}, ends at {words.temperature(row['temp_c'])}"


def _note(row: Cells) -> str:
    """Return what is to be known of a date besides: why none, storage, other ways, what it is."""
    said = [words.sentence(row["reason"])] if row["reason"] else []
    if row["cold"] and row["storage_text"]:
        shelf = row["shelf_days"]
        warm = "no date" if shelf is None else words.days(shelf)
        said.append(
            f"On the package: “{row['storage_text']}”. On a shelf at {words.temperature(21)} it "
            f"has {warm}."
        )
    if row["unfit"]:
        said.append(f"No date for the way by {row['unfit']}: not to go there.")
    if row["basis"] == "borrowed":
        said.append("Lent by other formats: treat as a trial.")
    return " ".join(said)


def _calendars(results: Results) -> list[Table]:
    """Return tables for each rule and form, as wide as a sheet: packaging day by days of the date.

    Whoever prints looks the packaging day up in the column with the days of the beer. Dates of as
    many days share a column while they are printed alike on every day.
    """
    alike = ["rule", "form", "rounding"]
    place = ["beer", "format", "market"]
    routes = results.market_dates.select(*place, "route")
    every = results.labels.join(routes, on=place, how="left", maintain_order="left")
    column = [*alike, "days", "route"]
    made: list[Table] = []
    for _, part in every.sort(*column, "packaged_on").group_by(alike, maintain_order=True):
        columns: dict[tuple[int, tuple[str | None, ...]], pl.DataFrame] = {}
        for _, one in part.group_by(place, maintain_order=True):
            key = (one["days"][0], tuple(one["printed"]))
            columns[key] = pl.concat([*([columns[key]] if key in columns else []), one])
        shown = list(columns.values())
        made += [
            _calendar(results, f"labels-{len(made) + 1 + at // WIDTH}", shown[at : at + WIDTH])
            for at in range(0, len(shown), WIDTH)
        ]
    return made


def _calendar(results: Results, name: str, columns: list[pl.DataFrame]) -> Table:
    frame = pl.concat(columns)
    first = frame.row(0, named=True)
    said = next(iter(frame["words"].drop_nulls()), "no date")
    to_month = first["rounding"] == "month" and first["form"] == "day"
    reach = _FORMS["month" if to_month else first["form"]]
    lengths = [one["days"][0] for one in columns]
    days = frame["packaged_on"].unique().sort().to_list()
    printed = [dict(one.select("packaged_on", "printed").iter_rows()) for one in columns]
    return Table(
        name=name,
        caption=f"Print “{said}” and, {reach} ({first['rule_name']}):",
        columns=(
            Column("Packed on"),
            *(
                Column(
                    words.days(length)
                    + (f", {one['route'][0]}" if lengths.count(length) > 1 else ""),
                    figures=True,
                )
                for length, one in zip(lengths, columns, strict=True)
            ),
        ),
        rows=tuple(
            Row(
                (
                    words.day(day),
                    *((one[day] or words.NOTHING).replace(" ", words.NBSP) for one in printed),
                )
            )
            for day in days
        ),
        frame=frame,
        source=run_source(results),
        empty="",
    )


def _undated(results: Results) -> Table:
    undated = results.market_dates.filter(pl.col("days").is_null())
    return Table(
        name="labels-undated",
        caption="No date to print",
        columns=(Column("Beer, format"), Column("Market"), Column("Why")),
        rows=tuple(
            Row(
                (
                    f"{row['beer']}, {row['format']}",
                    row["market"],
                    words.sentence(row["reason"] or "nothing is estimated for it yet"),
                )
            )
            for row in undated.rows(named=True)
        ),
        frame=undated,
        source=run_source(results),
        empty="Every beer and format has a date in every market.",
    )


def _customers(results: Results) -> Table:
    asked = results.customer_minimums
    return Table(
        name="labels-customers",
        caption="What customers' minimums take of the printed life, the least left first",
        columns=(
            Column("Customer"),
            Column("Beer, format"),
            Column("Printed life, days", figures=True),
            Column("Asked to be left, days", figures=True),
            Column("To ship within, days", figures=True),
        ),
        rows=tuple(
            Row(
                (
                    row["customer"],
                    f"{row['beer']}, {row['format']}",
                    words.whole(row["days"]),
                    words.whole(row["takes_days"]),
                    words.whole(row["leaves_days"]) if row["leaves_days"] > 0 else "cannot be met",
                )
            )
            for row in asked.rows(named=True)
        ),
        frame=asked,
        source=run_source(results),
        empty="No customer asks for a minimum: [customers] in the configuration names who does.",
    )


def _rules(labels: pl.DataFrame) -> list[str]:
    """Return the rule of each market by its name."""
    named = labels.select("rule_name", "market").unique().sort("rule_name", "market")
    return [
        words.sentence(f"{', '.join(part['market'])}: {rule}; {CHECK}")
        for (rule,), part in named.group_by("rule_name", maintain_order=True)
    ]


def _notes(labels: pl.DataFrame) -> list[str]:
    said = labels["notes"].drop_nulls().str.split("\n").explode().unique(maintain_order=True)
    return said.to_list()
