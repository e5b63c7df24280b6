"""Decided dates: what was decided beside what the data support and what is printed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import decided, words
from dashboards.page import Column, Page, Row, Table, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

FOLDER = "records"
"""Where the record sheets are among the pages."""


def page(results: Results) -> Page:
    """Return the page of decided dates."""
    holding = decided.holding(results)
    tables = {"decided": _holding(results, holding), "history": _history(results)}
    return Page(
        file="decisions.html",
        title="Decided dates",
        template="decisions.html",
        context={
            "lead": _lead(results, holding),
            **tables,
            "sheets": [
                (number, sheet_file(number, "html"), sheet_file(number, "json"))
                for number in results.decisions["decision_id"]
            ],
        },
        tables=tuple(tables.values()),
    )


def sheet_file(number: int, ending: str) -> str:
    """Return where the record sheet of a decision is, from the folder of the pages."""
    return f"{FOLDER}/decision-{number:04}.{ending}"


def _lead(results: Results, holding: pl.DataFrame) -> str:
    if holding.is_empty():
        return "No date has been decided yet: what is printed rests on no record."
    gone = sum(bool(decided.overtaken(row)) for row in holding.rows(named=True))
    place = ("beer", "format")
    packed = results.beer_dates.select(place).unique()
    having = packed.join(holding.select(place), on=place, how="semi").height
    dates = words.counted(holding.height, "decided date", "holds", "hold")
    return words.sentence(
        f"{dates}, for {words.of(having, packed.height)} beers in their formats; "
        f"{words.in_letters(gone) if gone else 'none'} of them {'have' if gone > 1 else 'has'} "
        "been overtaken"
    )


def _holding(results: Results, holding: pl.DataFrame) -> Table:
    return Table(
        name="decisions",
        caption="Decided, supported by the newest run, and printed on the newest lot, days",
        columns=(
            Column("Beer, format"),
            Column("For"),
            Column("Decided", figures=True),
            Column("Data support", figures=True),
            Column("Printed", figures=True),
            Column("Kept as", wide=True),
            Column("By, on", wide=True),
        ),
        rows=tuple(_row(row, results) for row in holding.rows(named=True)),
        frame=holding.drop("record", "sheet"),
        source=run_source(results),
        empty=(
            "Nothing has been decided yet. Where a date is agreed, record it: "
            'stalecurve decide --beer … --format … --days … --by … --because "…"'
        ),
    )


def _row(row: Cells, results: Results) -> Row:
    kept = _kept(row["route_now"], row["temp_c_now"])
    who = f"{row['decided_by']}, {words.day(row['decided_at'])}"
    return Row(
        (
            f"{row['beer']}, {row['format']}",
            decided.place(row),
            words.whole(row["days"]),
            words.whole(row["supported_now"]),
            words.whole(row["printed_days"]),
            kept,
            who,
        ),
        narrow=words.sentence(f"{kept}; by {who}"),
        note=_note(row, results),
    )


def _note(row: Cells, results: Results) -> str:
    """Return whether it was overtaken and what changed, what it stood above, what it lacks."""
    said = []
    if reason := decided.overtaken(row):
        said.append(words.sentence(f"Overtaken: {reason}"))
        said.append(words.sentence(f"Changed since: {words.listed(_changed(row, results))}"))
    elif row["supported_days"] is None or row["days"] > row["supported_days"]:
        said.append(words.sentence(f"Decided {decided.above(row['days'], row['supported_days'])}"))
    if row["because"]:
        said.append(f"Because: “{row['because']}”.")
    if row["printed_days"] not in {None, row["days"]}:
        apart = row["printed_days"] - row["days"]
        side = "longer" if apart > 0 else "shorter"
        said.append(f"The newest lot is printed {words.days(abs(apart))} {side} than decided.")
    if decided.first_estimate(results, row["style"], row["format"]):
        said.append(decided.FIRST_ESTIMATE)
    return " ".join(said)


def _changed(row: Cells, results: Results) -> list[str]:
    """Return what differs between the run behind a decision and the newest one."""
    run = results.newest_run or {}
    before, after = (
        "none" if days is None else words.days(days)
        for days in (row["supported_days"], row["supported_now"])
    )
    said = [f"what the data support, from {before} to {after}"]
    if (way := _kept(row["supported_route"], row["supported_temp_c"])) != (
        way_now := _kept(row["route_now"], row["temp_c_now"])
    ):
        said.append(f"the shortest way, from {way} to {way_now}")
    tasted, tasted_now = row["verdicts"], row["verdicts_now"] or 0
    if tasted != tasted_now:
        said.append(f"its verdicts, from {words.whole(tasted)} to {words.whole(tasted_now)}")
    if (rule := _rule_now(row, results)) not in {"", row["policy"]}:
        said.append(f"the rule, which is now “{rule}”")
    if row["code_version"] != run.get("code_version"):
        said.append("stalecurve itself, which is another version now")
    return said


def _rule_now(row: Cells, results: Results) -> str:
    found = results.date_rules.filter(
        pl.col("beer") == row["beer"],
        pl.col("format") == row["format"],
        pl.col("route").eq_missing(row["route_now"]),
    )
    return next((decided.rule(rule) for rule in found.rows(named=True)), "")


def _kept(route: str | None, temp_c: float | None) -> str:
    return "no route" if route is None else f"{route}, ends at {words.temperature(temp_c)}"


def _history(results: Results) -> Table:
    return Table(
        name="decisions-history",
        caption="Every decision, the newest first; none is overwritten",
        columns=(
            Column("No.", figures=True),
            Column("Beer, format"),
            Column("For"),
            Column("Days", figures=True),
            Column("Supported then", figures=True),
            Column("By, on", wide=True),
            Column("Rests on", wide=True),
        ),
        rows=tuple(_past(row) for row in results.decisions.rows(named=True)),
        frame=results.decisions.drop("record", "sheet"),
        source=run_source(results),
        empty="No decision yet.",
    )


def _past(row: Cells) -> Row:
    who = f"{row['decided_by']}, {words.day(row['decided_at'])}"
    after = row["superseded_by"]
    said = [f"Because: “{row['because']}”."] if row["because"] else []
    said += [f"Decision {after} took its place."] if after is not None else []
    way = _kept(row["supported_route"], row["supported_temp_c"])
    run = f"run {row['run_id']}; {way}"
    return Row(
        (
            str(row["decision_id"]),
            f"{row['beer']}, {row['format']}",
            decided.place(row),
            words.whole(row["days"]),
            words.whole(row["supported_days"]),
            who,
            run,
        ),
        narrow=words.sentence(f"{who}; {run}"),
        note=" ".join(said),
    )
