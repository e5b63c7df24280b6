"""The first page: what needs a person, then the dates by beer and format, then what came in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import decided, sentences, signals, words
from dashboards.page import Column, Page, Row, Table, run_source, style_files

if TYPE_CHECKING:
    from dashboards.results import Results

LINES = 5

COLUMNS = (
    Column("Beer, format"),
    Column("Printed today"),
    Column("Data support, days", figures=True),
    Column("Difference, days", figures=True),
    Column("Kept as", wide=True),
    Column("Basis", wide=True),
)


def page(results: Results) -> Page:
    """Return the page of dates; its table has one row for each beer and format."""
    needs = list(sentences.attention(results))
    # Signals, overtaken decisions and rows set aside keep their lines: nothing else tells of them.
    lines = (decided.attention(results), sentences.set_aside(results))
    kept = [*signals.alerts(results), *filter(None, lines)]
    shown = needs[: LINES - min(len(kept), LINES - 1)]
    run = results.newest_run
    made = table(results)
    return Page(
        file="index.html",
        title="Dates",
        template="dates.html",
        context={
            "needs": [*shown, *kept],
            "more": len(needs) - len(shown),
            "run": run,
            "meaning": _meaning(run, results.date_rules) if run else "",
            "table": made,
            "styles": [(file, style) for style, file in style_files(results).items()],
            "intake": intake(results),
            "refused": refused(results),
        },
        tables=(made,),
    )


def _meaning(run: dict[str, Any], rules: pl.DataFrame) -> str:
    usual = (pl.col("share_rejected") == run["share_rejected"]) & (
        pl.col("confidence") == run["confidence"]
    )
    own = "" if rules.filter(~usual).is_empty() else " Some have a rule of their own in [policy]."
    return (
        f"Days from packaging. On the day that the data support, kept as said in its row, we are "
        f"{words.percent(run['confidence'])} sure that no more than "
        f"{words.glasses(run['share_rejected'])} would be rejected for age. A minus: the printed "
        f"date is longer than the data support.{own}"
    )


def table(results: Results) -> Table:
    """Return one row for each beer and format: printed today, and what the data support."""
    ways = sentences.routes(results)
    found = results.beer_dates.sort(
        "beer", "format", pl.col("main_route").not_(), "route", maintain_order=True
    )
    rows = tuple(
        _row(group.rows(named=True), ways)
        for _, group in found.group_by("beer", "format", maintain_order=True)
    )
    return Table(
        name="dates",
        caption="The newest lot of each beer and format",
        columns=COLUMNS,
        rows=rows,
        frame=results.beer_dates.drop("run_id"),
        source=run_source(results),
        empty=_empty(results),
    )


def _row(found: list[dict[str, Any]], ways: dict[str, sentences.Route]) -> Row:
    main, *others = found
    kept, basis = ways[main["route"]].ends, words.BASIS.get(main["basis"], main["basis"])
    notes = [
        f"{ways[o['route']].ends}: "
        + (words.days(o["supported_days"]) if o["supported_days"] is not None else "no date")
        for o in others
    ]
    why = words.sentence(f"No date: {main['reason']}") if main["reason"] else ""
    return Row(
        (
            f"{main['beer']}, {main['format'].replace(' ', words.NBSP)}",
            _printed(main),
            words.whole(main["supported_days"]),
            words.difference(main["difference_days"]),
            kept,
            basis,
        ),
        narrow=words.sentence(f"{kept}; {basis}"),
        note=" ".join(part for part in (why, words.sentence("; ".join(notes))) if part),
    )


def _printed(cell: dict[str, Any]) -> str:
    if cell["printed_on"] is None:
        return words.NOTHING
    return f"{words.day(cell['printed_on'])}, {words.days(cell['printed_days'])}"


def _empty(results: Results) -> str:
    run = results.newest_run
    if run is None:
        return (
            "No run yet. Put the tables beers, formats, lots, samples, tastings, oxygen, routes "
            "and route_stages into the inbox, then run: stalecurve run"
        )
    why = f" The newest run says: {words.sentence(run['reason'])}" if run["reason"] else ""
    if results.routes.is_empty():
        return (
            f"No routes: a date without a storage temperature means nothing. The tables routes "
            f"and route_stages fill this.{why}"
        )
    return f"No lot of a known beer: the tables beers, formats and lots fill this.{why}"


def intake(results: Results) -> str:
    """Return what the newest load that took anything in took in, in one sentence."""
    # A load that only took another one back read no file.
    read = {*results.files["load_id"], *results.row_counts["load_id"]}
    if not read:
        return "Nothing came in yet: put tables as CSV, XLSX or Parquet into the inbox."
    of_load = pl.col("load_id") == max(read)
    load = results.loads.row(by_predicate=of_load, named=True)
    took = pl.col("outcome").is_in(["loaded", "taken back"])
    taken = results.files.filter(of_load, took).height
    counts = results.row_counts.filter(of_load).select(pl.col("^rows_.*$").sum()).row(0, named=True)
    parts = [
        words.count(counts["rows_new"], "new row"),
        f"{words.whole(counts['rows_corrected'])} corrected",
        f"{words.whole(counts['rows_unchanged'])} unchanged",
        f"{words.whole(counts['rows_withdrawn'])} withdrawn",
        f"{words.whole(counts['rows_set_aside'])} set aside",
    ]
    return (
        f"The newest load, {load['load_id']} of {words.day(load['finished_at'])}, took in "
        f"{words.count(taken, 'file')}: {words.listed(parts)}."
    )


def refused(results: Results) -> list[tuple[str, str]]:
    """Return the files that are not taken in, each with the reason."""
    return [
        (
            f["file"],
            f["reason"] if f["outcome"] == "duplicate" else f"{f['outcome']}: {f['reason']}",
        )
        for f in results.files_out.iter_rows(named=True)
    ]
