"""The page of complaints: how many, beside those expected, and each of them.

No note stands here, and no finding: they may hold names.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import complaint_charts, theme, words
from dashboards.answers import page_file
from dashboards.page import Chart, Column, Key, Page, Row, Table, load_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

NOT_MADE = "Complaints are counted together with the pages: run stalecurve publish."
NONE = (
    "No complaint since {since}. That is no news of the beer as long as nobody writes them down: "
    "the table complaints fills this page."
)
NO_PACKAGES = (
    "Without shipments nobody can say how many packages were drunk, so there is no rate: the table "
    "shipments fills this."
)
SHOWN = 60
"""Rows of a table on the page; its file has them all."""

GROUPS = {"month": "month", "lot": "lot", "outlet": "outlet", "line": "line"}
_SAID = {
    "more": "More than luck explains.",
    "perhaps more": "More than expected, but luck brings such a one among so many.",
    "fewer": "Fewer than luck explains.",
    "cannot say": "Cannot say: no shipment names it.",
    "as expected": "",
}


def page(results: Results) -> Page:
    """Return the page of complaints."""
    summary = next(results.field_summary.iter_rows(named=True), None)
    made = summary is not None and bool(results.field_rates.height)
    tables = {name: _rates(results, name) for name in GROUPS}
    kinds, listed = _kinds(results), each(results)
    return Page(
        file="complaints.html",
        title="Complaints",
        template="complaints.html",
        context={
            "lead": _lead(summary),
            "safety": _safety(summary),
            "told": _told(results, summary),
            "unknown": _unknown(summary),
            "tables": tables if made else None,
            "chart": _chart(results) if made else None,
            "more": _more(results),
            "kinds": kinds,
            "each": listed,
            "answers": _answers(results),
            "part": _part(summary),
            "luck": _luck(results),
        },
        tables=(*tables.values(), kinds, listed),
    )


def _lead(summary: Cells | None) -> str:
    if summary is None:
        return NOT_MADE
    since = words.day(summary["since"])
    if not summary["complaints"]:
        none = NONE.format(since=since)
        return none if summary["packages"] else f"{none} {NO_PACKAGES}"
    counted = (
        f"{words.count(summary['complaints'], 'complaint')} since {since}, "
        f"{words.whole(summary['taste'])} of them about a taste that the age of the beer could "
        "explain."
    )
    if summary["per_million"] is None:
        return f"{counted} {NO_PACKAGES}"
    rate = words.bounded(summary["per_million"], summary["lower"], summary["upper"])
    return (
        f"{counted} That makes {rate} per million packages drunk, of which there were about "
        f"{words.whole(round(summary['packages'], -3) or summary['packages'])}."
    )


def _safety(summary: Cells | None) -> str:
    if summary is None or not summary["safety"]:
        return ""
    said = words.counted(summary["safety"], "complaint", "touches", "touch")
    return words.sentence(
        f"{said} safety: no question of freshness, but the food-safety lead's. They are counted "
        "apart and nobody tastes that beer"
    )


def _told(results: Results, summary: Cells | None) -> str:
    """Name the groups that have more than luck explains, or say that there are none."""
    if summary is None or not summary["taste"] or summary["per_million"] is None:
        return ""
    found = results.field_rates.filter(
        pl.col("grouping").is_in(list(GROUPS)), pl.col("verdict") == "more"
    )
    if found.is_empty():
        return (
            "No month, lot, outlet or line has more complaints about taste than luck explains, "
            "held against the brewery's own rate at the age of the beer."
        )
    ranked = found.sort("corrected", "grouping", "name", "format")
    said = [
        f"{_name(row)} ({words.whole(row['taste'])}, {words.figure(row['expected'], 1)} expected)"
        for row in ranked.head(6).iter_rows(named=True)
    ]
    rest = ranked.height - len(said)
    others = [f"{words.in_letters(rest)} more"] if rest else []
    return (
        f"More complaints about taste than luck explains: {words.listed([*said, *others])}. "
        "Held against the brewery's own rate at the age of the beer."
    )


def _unknown(summary: Cells | None) -> str:
    if summary is None or summary["taste"] == summary["lot_known"]:
        return ""
    missing = summary["taste"] - summary["lot_known"]
    said = words.counted(missing, "complaint", "names", "name")
    return words.sentence(
        f"{said} no lot of ours, and no lot is likely enough to count it for: among lots and lines "
        "it is left out"
    )


def _part(summary: Cells | None) -> str:
    if summary is None or summary["with_age"] is None:
        return "Without an estimate, or a complaint on a known lot, half of them is taken to."
    part, lower, upper = (
        words.percent(round(summary[name], 2))
        for name in ("with_age", "with_age_lower", "with_age_upper")
    )
    compared = words.count(summary["compared"], "complaint")
    return f"That part is {part} ({lower} to {upper}, from {compared})."


def _luck(results: Results) -> str:
    said = [
        f"of {words.count(look['groups'], look['grouping'])} luck alone brings "
        f"{words.figure(look['by_luck'], 1)} to a chance of 5{words.NBSP}% or less, "
        f"{words.whole(look['alone'])} came to it, and {words.whole(look['told'])} told"
        for look in results.field_looks.iter_rows(named=True)
        if look["grouping"] in GROUPS
    ]
    return words.sentence("; ".join(said))


def _month(name: str) -> str:
    year, month = name.split("-")
    return f"{words.MONTHS[int(month) - 1]}{words.NBSP}{year}"


def _name(row: Cells) -> str:
    if row["grouping"] == "month":
        return _month(row["name"])
    if row["grouping"] == "lot":
        return f"{row['name']}, {row['format'].replace(' ', words.NBSP)}"
    return row["name"] or {"line": "no line given", "outlet": "customer not given"}[row["grouping"]]


def _rate(row: Cells) -> str:
    if row["per_million"] is None:
        return words.NOTHING
    return words.bounded(row["per_million"], row["lower"], row["upper"])


def _shown(results: Results, grouping: str) -> pl.DataFrame:
    """Return a grouping's rows as its table has them: months in order, else the oddest first."""
    found = results.field_rates.filter(pl.col("grouping") == grouping)
    if grouping == "month":
        return found
    ranked = found.sort(
        *("corrected", "chance", "taste", "name", "format"),
        descending=[False, False, True, False, False],
        nulls_last=True,
    )
    return ranked.filter(pl.col("taste") > 0) if grouping == "lot" else ranked


def _more(results: Results) -> str:
    rest = results.field_rates.filter(pl.col("grouping") == "lot").height
    rest -= min(_shown(results, "lot").height, SHOWN)
    if rest <= 0:
        return ""
    lots = words.counted(rest, "lot", "stands", "stand")
    return words.sentence(f"{lots} in the file alone, most of them without a complaint")


def _rates(results: Results, grouping: str) -> Table:
    of = GROUPS[grouping]
    found = _shown(results, grouping)
    return Table(
        name=f"complaints-by-{grouping}",
        caption=f"Complaints about taste by {of}, beside those expected",
        columns=(
            Column("Lot, format" if grouping == "lot" else of.capitalize()),
            Column("Packages drunk", figures=True, wide=True),
            Column("Complaints", figures=True),
            Column("Expected", figures=True),
            Column("Per million", figures=True),
        ),
        rows=tuple(
            Row(
                (
                    _name(row),
                    words.whole(row["packages"]),
                    words.whole(row["taste"]),
                    words.figure(row["expected"], 1),
                    _rate(row),
                ),
                note=_SAID[row["verdict"]],
            )
            for row in found.head(SHOWN).iter_rows(named=True)
        ),
        frame=results.field_rates.filter(pl.col("grouping") == grouping).drop(
            *() if grouping == "lot" else ("format",)
        ),
        source=load_source(results),
        empty=f"No complaint about taste can be counted for a {of}."
        if results.field_summary.height
        else NOT_MADE,
    )


def _kinds(results: Results) -> Table:
    return Table(
        name="complaints-by-kind",
        caption="All complaints by what they are about",
        columns=(
            Column("Category"),
            Column("Complaints", figures=True),
            Column("Packages", figures=True),
            Column("Per million", figures=True),
        ),
        rows=tuple(
            Row(
                (
                    row["category"],
                    words.whole(row["complaints"]),
                    words.whole(row["packages"]),
                    _rate(row),
                ),
                note="Safety: the food-safety lead's." if row["safety"] else "",
            )
            for row in results.field_kinds.iter_rows(named=True)
        ),
        frame=results.field_kinds,
        source=load_source(results),
        empty="No complaint yet: the table complaints fills this.",
    )


def each(results: Results) -> Table:
    """Return the complaints one by one; a partner's too."""
    found = results.field_complaints
    return Table(
        name="complaints",
        caption="Complaints of the last twelve months, the newest first",
        columns=(
            Column("Complaint"),
            Column("Received"),
            Column("About"),
            Column("Lot, format"),
            Column("Age, days", figures=True, wide=True),
            Column("Beer, outlet", wide=True),
        ),
        rows=tuple(_complaint(row) for row in found.head(SHOWN).iter_rows(named=True)),
        frame=found,
        source=load_source(results),
        empty="No complaint: the table complaints fills this.",
    )


def _complaint(row: Cells) -> Row:
    where = "; ".join(part for part in (row["beer"], row["outlet"]) if part)
    age = "" if row["age_days"] is None else f"{words.days(row['age_days'])} old"
    notes = ["Safety." if row["safety"] else ""]
    if row["lot"] is not None and not row["named"]:
        how = "not one of ours" if row["named_lot"] else "not named"
        odds = words.chance(row["odds"])
        notes.append(f"Lot {how}: of ours, date, code and outlet fit this one best ({odds}).")
    return Row(
        (
            row["complaint"],
            words.day(row["received_on"]),
            row["category"].replace(";", ", "),
            _lot(row),
            words.whole(row["age_days"]),
            where or words.NOTHING,
        ),
        note=" ".join(note for note in notes if note),
        narrow=words.sentence("; ".join(part for part in (where, age) if part)),
    )


def _lot(row: Cells) -> str:
    if row["lot"] is None:
        return f"not ours: {words.short(row['named_lot'], 30)}" if row["named_lot"] else "not named"
    return f"{row['lot']}, {row['format'].replace(' ', words.NBSP)}"


def _answers(results: Results) -> list[tuple[str, str, str]]:
    """Return the page of each answer, the complaint, and what was answered on which day."""
    return [
        (
            page_file(row["name"]),
            words.short(row["complaint"] or "Typed in", 40),
            f"{words.day(row['answered_at'])}: {row['answer']}",
        )
        for row in results.answers.head(SHOWN).iter_rows(named=True)
    ]


def _chart(results: Results) -> Chart | None:
    months = results.field_rates.filter(pl.col("grouping") == "month")
    if months.is_empty():
        return None
    said = "; ".join(
        f"{_month(row['name'])}: {words.whole(row['taste'])}, "
        f"{words.figure(row['expected'], 1)} expected"
        for row in months.iter_rows(named=True)
    )
    return Chart(
        name="by-month",
        title="Complaints about taste by month",
        summary=f"{said}.",
        caption=(
            "A point above the band is more than luck makes of nine months in ten. Of a dozen "
            "months one lies outside it by luck."
        ),
        key=(
            Key("point", "complaints"),
            Key("line", "expected", theme.FORECAST),
            Key("band", "nine in ten by luck alone", theme.FORECAST),
        ),
        spec=complaint_charts.by_month(months),
    )
