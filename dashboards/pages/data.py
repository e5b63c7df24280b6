"""The page of the data: what came in, what stands aside and why, and how to mend it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import sentences, signals, words
from dashboards.page import Column, Page, Row, Table, load_source, rows, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

SHOWN = 300
LOADS_SHOWN = 20
LONGEST_VALUE = 24

OLDER = ("corrected", "unchanged", "withdrawn")  # what rows were that speak of known ones
OUTCOME = {
    "duplicate": "the same as a file taken in before",
    "waiting": "waits for your word",
    "taken back": "taken back",
}


def page(results: Results) -> Page:
    """Return the page of the data."""
    tables = {
        "set_aside": _set_aside(results),
        "counts": _counts(results),
        "refused": _refused(results),
        "mentions": _mentions(results),
        "oxygen": _oxygen(results),
        "sessions": _sessions(results),
        "loads": _loads(results),
    }
    faults = results.set_aside.height
    return Page(
        file="data.html",
        title="Data",
        template="data.html",
        context={
            "lead": _lead(results),
            "needs": [*sentences.attention(results), *signals.alerts(results)],
            "cut": faults if faults > SHOWN else 0,
            **tables,
        },
        tables=tuple(tables.values()),
    )


def _lead(results: Results) -> str:
    load = results.newest_load
    if load is None:
        return "Nothing came in yet. Put tables as CSV, XLSX or Parquet into the inbox."
    aside = sentences.set_aside(results) or "No row stands aside."
    return (
        f"{words.count(results.loads.height, 'load')} so far, the newest of "
        f"{words.day(load['finished_at'])}. {aside}"
    )


def _place(row: dict[str, Any]) -> str:
    return ", ".join(part for part in (row["file"], row["sheet"]) if part)


def _since_read(results: Results, frame: pl.DataFrame) -> pl.DataFrame:
    """Return the rows that speak of each file as it was last read, with that load as `read_in`.

    Rows that waited come in at later loads, when their file is not read again.
    """
    read = results.files.filter(pl.col("outcome") == "loaded")
    read = read.group_by("file").agg(read_in=pl.col("load_id").max())
    rows = frame.join(read, on="file").filter(pl.col("load_id") >= pl.col("read_in"))
    return rows.sort("file", "sheet", "load_id", maintain_order=True)


def _set_aside(results: Results) -> Table:
    return Table(
        name="set_aside",
        caption="Rows set aside, one line for each fault",
        columns=(
            Column("File, sheet"),
            Column("Row", figures=True),
            Column("Column"),
            Column("Value"),
            Column("Why", wide=True),
            Column("Expected", wide=True),
        ),
        rows=tuple(
            Row(
                (
                    _place(r),
                    str(r["row_number"]),
                    r["column_name"] or words.NOTHING,
                    words.short(r["value"] or words.NOTHING, LONGEST_VALUE),
                    r["reason"],
                    r["expected"] or words.NOTHING,
                ),
                narrow=words.sentence(r["reason"])
                + (f" Expected: {words.stopped(r['expected'])}" if r["expected"] else ""),
            )
            for r in results.set_aside.head(SHOWN).rows(named=True)
        ),
        frame=results.set_aside,
        source=load_source(results),
        empty="No row stands aside.",
    )


def _counts(results: Results) -> Table:
    found = _since_read(results, results.row_counts)
    found = found.filter(pl.col("load_id") == pl.col("read_in")).drop("read_in")
    return Table(
        name="data-rows",
        caption="Rows by file and table, as each file was last read",
        columns=(
            Column("File, sheet"),
            Column("Table"),
            Column("Read", figures=True),
            Column("Set aside", figures=True),
            Column("New", figures=True),
            *(Column(what.capitalize(), figures=True, wide=True) for what in OLDER),
        ),
        rows=tuple(
            Row(
                (
                    _place(c),
                    c["table_name"],
                    words.whole(c["rows_read"]),
                    words.whole(c["rows_set_aside"]),
                    words.whole(c["rows_new"]),
                    *(words.whole(c[f"rows_{what}"]) for what in OLDER),
                ),
                narrow=", ".join(
                    f"{words.whole(c[f'rows_{what}'])}{words.NBSP}{what}"
                    for what in OLDER
                    if c[f"rows_{what}"]
                ),
            )
            for c in found.rows(named=True)
        ),
        frame=found,
        source=load_source(results),
        empty="Nothing came in yet: put tables as CSV, XLSX or Parquet into the inbox.",
    )


def _refused(results: Results) -> Table:
    return Table(
        name="data-files",
        caption="Files that wait or were taken back, duplicates, and those that cannot be read",
        columns=(Column("File"), Column("What"), Column("Why")),
        rows=rows(
            (f["file"], OUTCOME.get(f["outcome"], f["outcome"]), f["reason"] or words.NOTHING)
            for f in results.files_out.rows(named=True)
        ),
        frame=results.files_out,
        source=load_source(results),
        empty="None: every file was taken in." if results.loads.height else "No load yet.",
    )


def _mentions(results: Results) -> Table:
    found = _since_read(results, results.mentions).drop("read_in")
    return Table(
        name="data-mentions",
        caption="Headings not known, people and meters not known, sheets not read",
        columns=(Column("File"), Column("Sheet"), Column("What was seen")),
        rows=rows(
            (m["file"], m["sheet"] or words.NOTHING, words.sentence(m["mention"]))
            for m in found.rows(named=True)
        ),
        frame=found,
        source=load_source(results),
        empty="Nothing to mention.",
    )


def _oxygen(results: Results) -> Table:
    return Table(
        name="data-oxygen",
        caption="Readings of each lot by what was done with them",
        columns=(
            Column("Lot"),
            Column("Format"),
            Column("Beer"),
            Column("Packages used", figures=True),
            Column("From shaken", figures=True),
            Column("Late", figures=True),
            Column("Below floor", figures=True),
            Column("Beer or gas alone", figures=True),
            Column("Not usable", figures=True),
            Column("Assumed"),
        ),
        rows=rows(
            (
                o["lot"],
                o["format"],
                o["beer"],
                words.whole(o["packages"]),
                words.whole(o["from_shaken"]),
                words.whole(o["late"]),
                words.whole(o["below_floor"]),
                words.whole(o["part"]),
                words.whole(o["unusable"]),
                o["assumed"] or "nothing",
            )
            for o in results.lot_oxygen.rows(named=True)
        ),
        frame=results.lot_oxygen.drop("run_id"),
        source=run_source(results),
        empty="No lot with a run yet: the tables lots and oxygen fill this.",
    )


def _sessions(results: Results) -> Table:
    return Table(
        name="data-sessions",
        caption="Blind fresh control rejected by more than false alarms explain: suspect it first",
        columns=(Column("Session"), Column("Tasted"), Column("Fresh rejected", figures=True)),
        rows=rows(
            (
                s["session"],
                words.day(s["tasted_on"]),
                words.of(s["fresh_rejected"], s["fresh_tasted"]),
            )
            for s in results.flagged_sessions.rows(named=True)
        ),
        frame=results.flagged_sessions.drop("run_id"),
        source=run_source(results),
        empty="None, as far as blind fresh controls were served; samples with the role fresh tell.",
    )


def _loads(results: Results) -> Table:
    totals = results.row_counts.group_by("load_id").agg(
        pl.col("rows_new", "rows_corrected", "rows_set_aside").sum()
    )
    found = results.loads.join(totals, on="load_id", how="left").sort("load_id", descending=True)
    return Table(
        name="data-loads",
        caption=f"The newest loads, at most {LOADS_SHOWN}",
        columns=(
            Column("Load"),
            Column("Day"),
            Column("New rows", figures=True),
            Column("Corrected", figures=True),
            Column("Set aside", figures=True),
        ),
        rows=rows(
            (
                str(load["load_id"]),
                words.day(load["finished_at"]),
                words.whole(load["rows_new"] or 0),
                words.whole(load["rows_corrected"] or 0),
                words.whole(load["rows_set_aside"] or 0),
            )
            for load in found.head(LOADS_SHOWN).rows(named=True)
        ),
        frame=found,
        source=load_source(results),
        empty="No load yet: put files into the inbox, then run: stalecurve run",
    )
