"""The page of a format that was never filled: the dates it is lent, and what they rest on."""

from __future__ import annotations

import re
from hashlib import sha256
from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import words
from dashboards.page import Column, Page, Row, Table, rows, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

LONGEST_NAME = 60


def file_of(name: str) -> str:
    """Return the name of its page, which no other format shares: `new-format-can-330-….html`."""
    tame = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:LONGEST_NAME]
    return f"new-format-{tame or 'unnamed'}-{sha256(name.encode()).hexdigest()[:8]}.html"


def links(results: Results) -> list[tuple[str, str]]:
    """Return the page and the name of each format that was asked about."""
    return [(file_of(name), words.short(name, 40)) for name in results.new_formats["format"]]


def pages(results: Results) -> tuple[Page, ...]:
    """Return the page of every format that was asked about and is not filled yet."""
    return tuple(page(results, name) for name in results.new_formats["format"])


def page(results: Results, name: str) -> Page:
    """Return the page of one format."""
    row = results.new_formats.row(by_predicate=pl.col("format") == name, named=True)
    stem = file_of(name).removesuffix(".html")
    tables = {"dates": _dates(results, name, stem), "likeness": _likeness(results, name, stem)}
    *_, trial = row["answer"].splitlines()
    return Page(
        file=f"{stem}.html",
        title=f"New format: {words.short(name, LONGEST_NAME)}",
        template="new_format.html",
        context={
            "lead": _lead(results, name),
            "trial": trial,
            "data": row["data"].splitlines(),
            "assumed": row["assumed"].splitlines(),
            "like": row["likeness"],
            "study": row["study"].splitlines(),
            "asked": f"Asked about on {words.day(row['asked_at'])}; worked out by the newest run.",
            **tables,
        },
        tables=tuple(tables.values()),
    )


def _lead(results: Results, name: str) -> str:
    dated = results.new_format_dates.filter(
        pl.col("format") == name, pl.col("best_before_days").is_not_null()
    )
    if dated.is_empty():
        return "No date can be lent to this format yet; the table says why."
    first = dated.sort("best_before_days", "style", "route").row(0, named=True)
    return (
        f"The shortest date lent to it is {words.days(first['best_before_days'])} for "
        f"{first['style']}, kept as '{first['route']}' says (about "
        f"{words.temperature(first['temp_c'])})."
    )


def _dates(results: Results, name: str, stem: str) -> Table:
    found = results.new_format_dates.filter(pl.col("format") == name)
    return Table(
        name=f"{stem}-dates",
        caption="Dates lent by your other formats",
        columns=(
            Column("Style"),
            Column("Kept as"),
            Column("Lent, days", figures=True),
            Column("Flavour lasts, days", figures=True),
            Column("Ended by", wide=True),
        ),
        rows=tuple(_row(row) for row in found.iter_rows(named=True)),
        frame=found,
        source=run_source(results),
        empty="No style was tasted aged yet: the tables samples and tastings fill this.",
    )


def _row(row: Cells) -> Row:
    lower, upper = row["shelf_life_days_lower"], row["shelf_life_days_upper"]
    lasts = words.NOTHING if lower is None else words.bounded(row["shelf_life_days"], lower, upper)
    cause = words.cause(row["binding_cause"])
    return Row(
        (
            row["style"],
            f"{row['route']}, ends at {words.temperature(row['temp_c'])}",
            words.whole(row["best_before_days"]),
            lasts,
            cause,
        ),
        narrow="" if row["reason"] else f"Ended by {cause}.",
        note=words.sentence(f"No date: {row['reason']}") if row["reason"] else "",
    )


def _likeness(results: Results, name: str, stem: str) -> Table:
    found = results.new_format_likeness.filter(pl.col("new_format") == name)
    return Table(
        name=f"{stem}-likeness",
        caption="How like your formats are to it, the most like first",
        columns=(
            Column("Format"),
            Column("Distance", figures=True),
            Column("Volume, mL", figures=True),
            Column("Oxygen dose, ppb", figures=True),
            Column("Kind, closure", wide=True),
        ),
        rows=rows(
            (
                row["format"],
                f"{row['distance']:.1f}",
                words.whole(row["volume_ml"]),
                words.whole(row["dose_ppb"]),
                ", ".join(filter(None, (row["kind"], row["closure"]))),
            )
            for row in found.iter_rows(named=True)
        ),
        frame=found,
        source=run_source(results),
        empty="No format with lots yet.",
    )
