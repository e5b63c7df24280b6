"""The tables of the page of the oxygen meters."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import sentences, words
from dashboards.page import Column, Row, Table, rows, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

NO_CHECKS = (
    "No meter check yet, so no reading can be trusted or doubted by one: the table meter_checks "
    "fills this."
)
NONE_IN_DOUBT = "No reading is in doubt."
NO_LINE = "line not given"
STATUS = {"never": "never checked", "overdue": "overdue", "due": "due this week"}


def amount(value: float, unit: str) -> str:
    """Return an amount in its unit: `7.0 ppb`."""
    return f"{words.figure(value, 1)}{words.NBSP}{unit}"


def meters(results: Results) -> Table:
    """Return each meter: its checks, when the next is due, how far it reads off, what it read."""
    of_meter = results.meter_checks.group_by("meter").agg(
        last=pl.col("checked_at").max(), checks=pl.len(), failed=(~pl.col("passed")).sum()
    )
    read = results.meter_readings.drop_nulls("meter").select("meter", "readings", "in_doubt")
    due = results.week_meter_checks.select("meter", "due_on", "status")
    shown = (
        pl.concat([frame.select("meter") for frame in (of_meter, read, due)])
        .unique()
        .join(of_meter, on="meter", how="left")
        .join(due, on="meter", how="left")
        .join(read, on="meter", how="left")
        .with_columns(pl.col("checks", "failed", "readings", "in_doubt").fill_null(0))
        .sort("meter")
    )
    bias = results.meter_bias.drop("run_id", "checks")
    now = {
        meter: "; ".join(_now(b) for b in part.sort("standard").rows(named=True))
        for (meter,), part in results.meter_bias.group_by("meter", maintain_order=True)
    }
    return Table(
        name="meters",
        caption="Oxygen meters",
        columns=(
            Column("Meter"),
            Column("Last check", wide=True),
            Column("Due"),
            Column("Checks failed", figures=True, wide=True),
            Column("Readings", figures=True),
            Column("In doubt", figures=True),
            Column("Reads off now (with bounds)", wide=True),
        ),
        rows=tuple(
            _meter(m, now.get(m["meter"], "too few checks to say")) for m in shown.rows(named=True)
        ),
        frame=shown.join(bias, on="meter", how="left").sort("meter", "standard"),
        source=run_source(results),
        empty=NO_CHECKS,
    )


def _meter(meter: Cells, now: str) -> Row:
    failed = words.of(meter["failed"], meter["checks"]) if meter["checks"] else words.NOTHING
    last = words.day(meter["last"]) if meter["last"] else "never"
    return Row(
        (
            meter["meter"],
            last,
            _due(meter),
            failed,
            words.whole(meter["readings"]),
            words.whole(meter["in_doubt"]),
            now,
        ),
        narrow=f"Last check: {last}. Checks failed: {failed}. Reads off now: {now}.",
    )


def _due(meter: Cells) -> str:
    if meter["status"] is None:
        return "not this week"
    if meter["due_on"] is None:
        return STATUS[meter["status"]]
    return f"{words.day(meter['due_on'])}, {STATUS[meter['status']]}"


def _now(bias: Cells) -> str:
    if bias["bias"] is None:
        return f"{bias['standard']}: too few checks to say ({bias['checks']})"
    said = f"{bias['standard']}: {_signed(bias, 'bias')}{words.NBSP}{bias['unit']}"
    if bias["drift"] is None:
        return said
    drifts = bias["drift_lower"] > 0 or bias["drift_upper"] < 0
    return said + (
        f", moving by {_signed(bias, 'drift')} in 30 days" if drifts else ", no drift shows"
    )


def _signed(cells: Cells, name: str) -> str:
    value, low, high = (cells[name + end] for end in ("", "_lower", "_upper"))
    return f"{words.figure(value, 1)} ({words.figure(low, 1)} to {words.figure(high, 1)})"


def doubts(results: Results) -> Table:
    """Return the spans in which a meter is in doubt."""
    return Table(
        name="meters-doubts",
        caption="Spans in which a meter's readings are in doubt",
        columns=(
            Column("Meter, standard"),
            Column("After the good check of"),
            Column("Up to the good check of"),
            Column("Failed checks", figures=True, wide=True),
            Column("At worst", figures=True, wide=True),
            Column("Readings", figures=True),
            Column("Lots", figures=True, wide=True),
        ),
        rows=tuple(
            Row(
                (
                    f"{d['meter']}, {d['standard']}",
                    words.day(d["after"]) if d["after"] else "no good check before",
                    words.day(d["until"]) if d["until"] else "none yet",
                    words.whole(d["failed"]),
                    _worst(d),
                    words.whole(d["readings"]),
                    words.whole(d["lots"]),
                ),
                narrow=f"Failed checks: {d['failed']}, at worst {_worst(d)}. Lots: {d['lots']}.",
            )
            for d in results.meter_doubts.rows(named=True)
        ),
        frame=results.meter_doubts.drop("run_id"),
        source=run_source(results),
        empty="No check failed." if results.meter_checks.height else NO_CHECKS,
    )


def _worst(doubt: Cells) -> str:
    return f"{amount(doubt['error'], doubt['unit'])} at {amount(doubt['expected'], doubt['unit'])}"


def by_format(results: Results) -> Table:
    """Return where the readings in doubt stand, by line and format."""
    return Table(
        name="meters-doubt-by-format",
        caption="Readings in doubt, by line and format",
        columns=(
            Column("Line"),
            Column("Format"),
            Column("Lots", figures=True),
            Column("Readings", figures=True),
        ),
        rows=rows(
            (d["line"] or NO_LINE, d["format"], words.whole(d["lots"]), words.whole(d["readings"]))
            for d in results.doubt_by_format.rows(named=True)
        ),
        frame=results.doubt_by_format.drop("run_id"),
        source=run_source(results),
        empty=NONE_IN_DOUBT,
    )


def lots(results: Results) -> Table:
    """Return the lots with readings in doubt."""
    return Table(
        name="meters-lots-in-doubt",
        caption="Lots with readings in doubt",
        columns=(
            Column("Lot"),
            Column("Format"),
            Column("Line"),
            Column("Meter"),
            Column("Readings", figures=True),
        ),
        rows=rows(
            (r["lot"], r["format"], r["line"] or NO_LINE, r["meter"], words.whole(r["readings"]))
            for r in results.readings_in_doubt.rows(named=True)
        ),
        frame=results.readings_in_doubt.drop("run_id"),
        source=run_source(results),
        empty=NONE_IN_DOUBT,
    )


def effects(results: Results) -> Table:
    """Return the dates with the readings in doubt and without."""
    routes = sentences.routes(results)
    return Table(
        name="meters-effects",
        caption="Dates with the readings in doubt, and without",
        columns=(
            Column("Style, format"),
            Column("Kept"),
            Column("Best before with, days", figures=True),
            Column("Best before without, days", figures=True),
            Column("Shelf life with, days", figures=True, wide=True),
            Column("Shelf life without, days", figures=True, wide=True),
        ),
        rows=tuple(
            Row(
                (
                    f"{e['style']}, {e['format'].replace(' ', words.NBSP)}",
                    routes[e["route"]].kept,
                    words.whole(e["date_with"]),
                    words.whole(e["date_without"]),
                    words.whole(e["days_with"]),
                    words.whole(e["days_without"]),
                ),
                narrow=(
                    f"Shelf life {words.days(e['days_with'])} with, "
                    f"{words.days(e['days_without'])} without."
                ),
            )
            for e in results.doubt_effects.drop_nulls("difference_days").rows(named=True)
        ),
        frame=results.doubt_effects.drop("run_id"),
        source=run_source(results),
        empty="Nothing to compare: no reading is in doubt.",
    )


def pairs(results: Results) -> Table:
    """Return two meters side by side."""
    return Table(
        name="meters-pairs",
        caption="Two meters on the lots that both have read",
        columns=(
            Column("Meters"),
            Column("Lots", figures=True),
            Column("Second over first (with bounds)", figures=True),
            Column("95 % of lots between", figures=True),
        ),
        rows=tuple(
            Row(
                (
                    f"{p['first_meter']}, {p['second_meter']}",
                    words.whole(p["lots"]),
                    words.NOTHING
                    if p["ratio"] is None
                    else f"{words.figure(p['ratio'], 2)} ({words.figure(p['ratio_lower'], 2)} to "
                    f"{words.figure(p['ratio_upper'], 2)})",
                    words.NOTHING
                    if p["ratio"] is None
                    else f"{words.figure(p['agreement_lower'], 2)} to "
                    f"{words.figure(p['agreement_upper'], 2)}",
                ),
                note=words.sentence(p["reason"] or ""),
            )
            for p in results.meter_pairs.rows(named=True)
        ),
        frame=results.meter_pairs.drop("run_id"),
        source=run_source(results),
        empty=(
            "No two meters have each read three packages of the same lot: the column meter of the "
            "table oxygen fills this."
        ),
    )


def checks(results: Results) -> Table:
    """Return every check."""
    return Table(
        name="meters-checks",
        caption="Every check",
        columns=(
            Column("Meter"),
            Column("Day"),
            Column("Standard"),
            Column("Expected", figures=True),
            Column("Read", figures=True),
            Column("Tolerance", figures=True),
            Column("Result"),
        ),
        rows=rows(
            (
                c["meter"],
                words.day(c["checked_at"]),
                f"{c['standard']}, {c['unit']}",
                words.figure(c["expected"], 1),
                words.figure(c["observed"], 1),
                words.figure(c["tolerance"], 1),
                ("passed" if c["passed"] else "failed")
                + (", as left" if c["state"] == "left" else ""),
            )
            for c in results.meter_checks.rows(named=True)
        ),
        frame=results.meter_checks.drop("run_id"),
        source=run_source(results),
        empty=NO_CHECKS,
    )
