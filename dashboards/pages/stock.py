"""The page of the stock: what life is left in each lot, least first, and who may still get it."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import words
from dashboards.page import Column, Page, Row, Table, load_source, rows
from dashboards.pages.lot import file_of

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

NOT_MADE = "The stock is worked out together with the pages: run stalecurve publish"
STANDS = "The printed date stands. This ranks stock; it extends nothing."
SHOWN = 60
"""Rows of a table on the page; its file has them all."""

_LEFT = (
    Column("Lot, format"),
    Column("Packages", figures=True),
    Column("Days left", figures=True),
    Column("Printed date"),
    Column("Flavour left, days", figures=True, wide=True),
    Column("Beer, kept", wide=True),
)


def page(results: Results) -> Page:
    """Return the page of the stock."""
    summary = next(results.stock_summary.iter_rows(named=True), None)
    house = results.stock.filter(pl.col("place") == "in house")
    shipped = results.stock.filter(pl.col("place") == "shipped")
    tables = {
        "lots": _lots(results),
        "house": _house(results, house, summary),
        "customers": _customers(results, summary),
        "shipped": _shipped(results, shipped, summary),
        "inquiries": _inquiries(results),
    }
    return Page(
        file="stock.html",
        title="Stock",
        template="stock.html",
        context={
            "lead": _lead(house) if summary else NOT_MADE,
            "stands": STANDS,
            "as_of": f"As of {words.day(summary['today'])}." if summary else "",
            "past": _past(summary),
            "odd": _odd(house),
            "judged": _judged(results),
            "more": {
                name: _more(frame) for name, frame in (("house", house), ("shipped", shipped))
            },
            **tables,
        },
        tables=tuple(tables.values()),
    )


def _lead(house: pl.DataFrame) -> str:
    if house.is_empty():
        return "Nothing is in house: no lot is both packaged and not yet shipped."
    first = house.row(0, named=True)
    left = (
        "nothing is left of its life"
        if first["days_left"] <= 0
        else f"{words.days(first['days_left'])} are left, {_kept(first)}"
    )
    lots = words.counted(house.height, "lot", "is in house", "are in house")
    return f"{words.sentence(lots)} First to go out: {_packed(first)} ({first['beer']}): {left}."


def _kept(row: Cells) -> str:
    if row["flavour_days"] is None:
        return "by its printed date alone, for its flavour is not known"
    return f"kept as '{row['route']}' says (about {words.temperature(row['temp_c'])})"


def _packed(row: Cells) -> str:
    return f"{row['lot']}, {row['format'].replace(' ', words.NBSP)}"


def _past(summary: Cells | None) -> str:
    if summary is None or not summary["past_lots"]:
        return ""
    lots = words.counted(summary["past_lots"], "lot", "is past its date", "are past their date")
    return words.sentence(
        f"{lots} with packages that no shipment accounts for: not listed, and not to be sold as "
        "fresh; where they are gone, their shipments are missing in the table shipments"
    )


def _odd(house: pl.DataFrame) -> str:
    """Say of how many lots what is in house cannot be right, or is not known."""
    over = house.filter(pl.col("packages") < 0).height
    unknown = house["packages"].null_count()
    said = []
    if over:
        said.append(
            words.counted(over, "lot", "has", "have")
            + " more packages shipped than packed: one of the two tables is wrong"
        )
    if unknown:
        said.append(
            words.counted(unknown, "lot", "does", "do")
            + " not say how many packages were packed, so what is left is not known"
        )
    return " ".join(words.sentence(line) for line in said)


def _more(frame: pl.DataFrame) -> str:
    rest = frame.height - SHOWN
    return f"{words.whole(rest)} more, with more life left, stand in the file." if rest > 0 else ""


def _source(results: Results, summary: Cells | None) -> str:
    return f"as of {words.day(summary['today'])}, {load_source(results)}" if summary else ""


def _days_left(row: Cells) -> str:
    return "none" if row["days_left"] <= 0 else words.whole(row["days_left"])


def _flavour(row: Cells) -> str:
    if row["flavour_days"] is None:
        return words.NOTHING
    if row["flavour_days"] <= 0:
        return "used up"
    if row["flavour_days"] == row["printed_days"]:
        return "to the printed date"
    return words.bounded(row["middle_days"], row["flavour_days"], None)


def _printed(row: Cells) -> str:
    return words.day(row["printed_on"]) + ("" if row["printed"] else " (none printed)")


def _packages(row: Cells) -> str:
    return "not known" if row["packages"] is None else words.whole(row["packages"])


def _by(row: Cells) -> str:
    kept = f"{row['route']}, ends at {words.temperature(row['temp_c'])}" if row["route"] else ""
    logged = f"{words.days(row['logged_days'])} by logger" if row["logged_days"] else ""
    return "; ".join(part for part in (row["beer"], kept or "route not known", logged) if part)


def _house(results: Results, house: pl.DataFrame, summary: Cells | None) -> Table:
    return Table(
        name="stock-in-house",
        caption="In house, the least left first",
        columns=_LEFT,
        rows=tuple(
            Row(
                (_packed(r), _packages(r), _days_left(r), _printed(r), _flavour(r), _by(r)),
                narrow=words.sentence(f"flavour {_flavour(r)}; {_by(r)}"),
            )
            for r in house.head(SHOWN).iter_rows(named=True)
        ),
        frame=house,
        source=_source(results, summary),
        empty=NOT_MADE
        if summary is None
        else "Nothing is in house: the table lots, column packages, and the table shipments tell.",
    )


def _shipped(results: Results, shipped: pl.DataFrame, summary: Cells | None) -> Table:
    columns = (*_LEFT[:-1], Column("Customers, route", wide=True))
    return Table(
        name="stock-shipped",
        caption="Shipped and not past the printed date, the least left first",
        columns=columns,
        rows=tuple(
            Row(
                (
                    _packed(r),
                    _packages(r),
                    _days_left(r),
                    _printed(r),
                    _flavour(r),
                    f"{r['customers']}, {words.day(r['shipped_on'])}; {_by(r)}",
                ),
                narrow=words.sentence(
                    f"{r['customers']}, {words.day(r['shipped_on'])}; flavour {_flavour(r)}; "
                    f"{_by(r)}"
                ),
            )
            for r in shipped.head(SHOWN).iter_rows(named=True)
        ),
        frame=shipped,
        source=_source(results, summary),
        empty=NOT_MADE
        if summary is None
        else "Nothing that was shipped is within its printed date: the table shipments fills this.",
    )


def _customers(results: Results, summary: Cells | None) -> Table:
    by_lot = groupby(
        results.stock_customers.sort("lot", "format", "last_on", "customer").iter_rows(named=True),
        lambda r: (r["lot"], r["format"]),
    )
    lots = [list(group) for _, group in by_lot]
    first = sorted(lots, key=_soonest)
    empty = (
        "No customer's minimum is stated: the configuration can, under customers, as minimum_days "
        "or minimum_share of the printed life."
    )
    if summary is None or summary["customers"]:
        empty = "No lot with a printed date is in house." if summary else NOT_MADE
    return Table(
        name="stock-customers",
        caption="Last day to ship, so that the customer's minimum of printed life is left",
        columns=(Column("Lot, format"), Column("Customer and last day")),
        rows=tuple(
            Row((_packed(group[0]), "; ".join(_last(r) for r in group))) for group in first[:SHOWN]
        ),
        frame=results.stock_customers,
        source=_source(results, summary),
        empty=empty,
    )


def _soonest(of_lot: list[Cells]) -> tuple[bool, Any]:
    """Order lots by the next last day; those that nobody may get any more come last."""
    ahead = [row["last_on"] for row in of_lot if row["days"] >= 0]
    return not ahead, min(ahead) if ahead else of_lot[-1]["last_on"]


def _last(row: Cells) -> str:
    on = words.day(row["last_on"])
    return f"{row['customer']}: {f'too late since {on}' if row['days'] < 0 else f'by {on}'}"


def _lots(results: Results) -> Table:
    """Return the lots that need a look, each with its page."""
    found = results.lots.filter(
        (pl.col("verdict") == "shorten") | pl.col("above_line").fill_null(value=False)
    )
    return Table(
        name="stock-lots",
        caption="Lots whose date does not hold for their oxygen, or that are above their line",
        columns=(
            Column("Lot, format"),
            Column("Oxygen, ppb", figures=True),
            Column("Usual days", figures=True),
            Column("Supported", figures=True),
            Column("Beer, packaged", wide=True),
        ),
        rows=tuple(
            Row(
                (
                    _packed(r),
                    _ppb(r),
                    words.whole(r["usual_days"]),
                    words.whole(r["supported_days"]),
                    f"{r['beer']}, {words.day(r['packaged_on'])}",
                ),
                narrow=words.sentence(f"{r['beer']}, {words.day(r['packaged_on'])}"),
                note="Above the limit of its line." if r["above_line"] else "",
            )
            for r in found.iter_rows(named=True)
        ),
        frame=found.select(
            *("lot", "format", "beer", "packaged_on", "total_ppb", "lower_ppb", "upper_ppb"),
            *("at_least_ppb", "above_line", "usual_days", "supported_days", "verdict"),
            *("route", "temp_c", "answer", "advice"),
        ),
        source=load_source(results),
        empty="No lot of the last ninety days stands out by its oxygen.",
    )


def _ppb(row: Cells) -> str:
    if row["total_ppb"] is not None:
        return words.whole(row["total_ppb"])
    return words.NOTHING if row["at_least_ppb"] is None else f"{words.whole(row['at_least_ppb'])}+"


def _judged(results: Results) -> tuple[tuple[str, str], ...]:
    """Return the page of each lot that has one."""
    names = results.lots["lot"].unique(maintain_order=True).to_list()
    return tuple((file_of(name), words.short(name, 40)) for name in names)


def _inquiries(results: Results) -> Table:
    return Table(
        name="trade-inquiries",
        caption="Questions about what is in the trade, the newest first",
        columns=(
            Column("Asked"),
            Column("Beer, format"),
            Column("Printed, days", figures=True),
            Column("Supported", figures=True),
            Column("Packages", figures=True),
            Column("Lots, customers, kept", wide=True),
        ),
        rows=rows(
            (
                words.day(i["asked_at"]),
                f"{i['beer']}, {i['format']}",
                words.whole(i["printed_days"]),
                words.whole(i["supported_days"]),
                words.whole(i["packages"]),
                _concerned(i),
            )
            for i in results.trade_inquiries.head(SHOWN).iter_rows(named=True)
        ),
        frame=results.trade_inquiries,
        source=load_source(results),
        empty="Nobody has asked: stalecurve trade --beer … --format … does, and keeps it.",
    )


def _concerned(inquiry: Cells) -> str:
    lots = words.count(inquiry["lots"], "lot")
    customers = words.count(inquiry["customers"], "customer")
    kept = ""
    if inquiry["route"] is not None:
        kept = f", '{inquiry['route']}' ({words.temperature(inquiry['temp_c'])})"
    return f"{lots}, {customers}{kept}"
