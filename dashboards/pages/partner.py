"""The pages for a partner: dates, stock, what to print, and each style, of the partner's beers."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl

from dashboards import theme, words
from dashboards.page import Column, Page, Table, rows, run_source, style_files
from dashboards.pages import complaints, dates, label, stock, style, style_tables

if TYPE_CHECKING:
    from dashboards.results import Results

BORROWED = (
    "The dates come from one estimate over all beer that the brewery tasted, so they borrow from "
    "beers of others too. Nothing of those stands here; lots, counts and names are of these beers."
)


def pages(results: Results, owner: str) -> tuple[Page, ...]:
    """Return the pages of restricted results.

    Args:
        results: What the partner may see.
        owner: The partner.
    """
    return (
        _first(results, owner),
        _without(stock.page(results), "lots", "customers", "inquiries"),
        _without(label.page(results), "customers"),
        *(_style(results, name, file) for name, file in style_files(results).items()),
    )


def _first(results: Results, owner: str) -> Page:
    tables = {
        "table": dates.table(results),
        "lots": _lots(results),
        "complaints": complaints.each(results),
    }
    beers = results.beer_dates["beer"].n_unique()
    too_long = results.beer_dates.filter("main_route", pl.col("difference_days") < 0).height
    longer = (
        f"{words.counted(too_long, 'printed date', 'is', 'are')} longer than the data support."
        if too_long
        else "No printed date is longer than the data support."
    )
    return Page(
        file="index.html",
        title=f"Dates of the beers for {words.short(owner, 60)}",
        template="partner.html",
        context={
            "lead": words.sentence(f"{words.count(beers, 'beer')}: {longer}"),
            "borrowed": BORROWED,
            "styles": list(style_files(results).items()),
            **tables,
        },
        tables=tuple(tables.values()),
    )


def _style(results: Results, name: str, file: str) -> Page:
    stem = file.removesuffix(".html")
    tables = {
        "dates": style_tables.dates(results, name, stem),
        "pulls": style_tables.pulls(results, name, stem),
    }
    return Page(
        file=file,
        title=name.capitalize(),
        template="partner_style.html",
        context={
            "borrowed": BORROWED,
            "lives": style.lives(results, name, theme.format_colours(results)),
            **tables,
        },
        tables=tuple(tables.values()),
    )


def _without(page: Page, *parts: str) -> Page:
    """Take tables off a page that tell of others; its template leaves their sections out."""
    gone = [page.context[part] for part in parts]
    return replace(
        page,
        context={**page.context, **dict.fromkeys(parts)},
        tables=tuple(table for table in page.tables if table not in gone),
    )


def _lots(results: Results) -> Table:
    found = results.lot_oxygen.sort("packaged_on", "lot", descending=[True, False])
    return Table(
        name="lots",
        caption="Lots, the newest first, and their total package oxygen at filling",
        columns=(
            Column("Lot, format"),
            Column("Beer"),
            Column("Packaged"),
            Column("Packages read", figures=True),
            Column("Oxygen, ppb", figures=True),
        ),
        rows=rows(
            (
                f"{lot['lot']}, {lot['format']}",
                lot["beer"],
                words.day(lot["packaged_on"]),
                words.whole(lot["packages"]),
                words.at_filling(lot),
            )
            for lot in found.iter_rows(named=True)
        ),
        frame=found,
        source=run_source(results),
        empty="No lot yet.",
    )
