"""The tables of package oxygen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import signals, words
from dashboards.page import Column, Row, Table, rows, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

EMPTY = (
    "No oxygen reading of a known lot and format came in yet: the tables oxygen, lots and formats "
    "fill this."
)
LISTED = 20  # signals on the page; the CSV has all
CHART = Column("Line, format")


def tables(results: Results) -> dict[str, Table]:
    """Return the tables of the page by the name that its template knows them by."""
    return {
        "overview": _overview(results),
        "listed": _signals(results),
        "entered": _entered(results),
        "counts": _counts(results),
        "split": _split(results),
        "points": _points(results),
        "capability": _capability(results),
        "moved": _moved(results),
    }


def _source(results: Results) -> str:
    counts = results.oxygen_charts.select(pl.col("packages", "lots").sum()).row(0)
    packages, lots = (words.count(*pair) for pair in zip(counts, ("package", "lot"), strict=True))
    return run_source(results, f"{packages} of {lots}")


def _overview(results: Results) -> Table:
    return Table(
        name="oxygen-lines",
        caption="Package oxygen by line and format",
        columns=(
            CHART,
            Column("Now, ppb", figures=True),
            Column("Limits, ppb", figures=True),
            Column("Packages above", figures=True),
            Column("Target, ppb", figures=True, wide=True),
            Column("Lots", figures=True, wide=True),
            Column("Packages", figures=True, wide=True),
        ),
        rows=tuple(_line(c) for c in results.oxygen_charts.iter_rows(named=True)),
        frame=results.oxygen_charts.drop("run_id"),
        source=_source(results),
        empty=EMPTY,
    )


def _line(chart: Cells) -> Row:
    target = words.whole(chart["target_ppb"])
    if chart["target_assumed"] and chart["target_ppb"] is not None:
        target += ", assumed"
    return Row(
        (
            signals.chart_name(chart),
            _now(chart),
            limits(chart["limit_lower_ppb"], chart["limit_upper_ppb"]),
            words.of(chart["above_target"], chart["told"]) if chart["told"] else words.NOTHING,
            target,
            words.whole(chart["lots"]),
            words.whole(chart["packages"]),
        ),
        narrow=words.sentence(
            f"target {target}; {words.count(chart['lots'], 'lot')}, "
            f"{words.count(chart['packages'], 'package')}"
        ),
    )


def _now(chart: Cells) -> str:
    if chart["now_lower_ppb"] is None:
        return words.whole(chart["now_ppb"])
    return words.bounded(chart["now_ppb"], chart["now_lower_ppb"], chart["now_upper_ppb"])


def limits(lower: float | None, upper: float | None) -> str:
    """Return limits as `26 to 166`."""
    if lower is None or upper is None:
        return words.NOTHING
    return f"{words.whole(lower)} to {words.whole(upper)}".replace(" ", words.NBSP)


def _signals(results: Results) -> Table:
    return Table(
        name="oxygen-signals",
        caption="Signals, the newest first",
        columns=(
            CHART,
            Column("Since"),
            Column("Lots", figures=True),
            Column("Held, ppb", figures=True),
            Column("Change, ppb", figures=True),
            Column("Until", wide=True),
            Column("What", wide=True),
        ),
        rows=tuple(_signal(s) for s in results.oxygen_signals.head(LISTED).iter_rows(named=True)),
        frame=results.oxygen_signals.drop("run_id"),
        source=_source(results),
        empty="No signal: no lot and no row of lots lies where chance seldom puts it.",
    )


def _signal(signal: Cells) -> Row:
    until = "still" if signal["ongoing"] else words.day(signal["last_on"])
    what = f"{signals.RULES[signal['rule']]}, {signal['side']}"
    beyond = ("≥" if signal["side"] == "above" else "≤") if signal["bound"] else ""
    first = f"{words.day(signal['first_on'])}, lot {signal['first_lot']}"
    return Row(
        (
            signals.chart_name(signal),
            first,
            words.whole(signal["lots"]),
            f"{beyond}{words.whole(signal['level_ppb'])}",
            words.difference(round(signal["change_ppb"])),
            until,
            what,
        ),
        narrow=words.sentence(f"{what}; until: {until}"),
    )


def _entered(results: Results) -> Table:
    return Table(
        name="oxygen-entered",
        caption="Totals that read as if they were shaken readings",
        columns=(
            Column("Lot, format"),
            Column("Entered, ppb", figures=True),
            Column("Times multiplier, ppb", figures=True),
            Column("Usual, ppb", figures=True),
            Column("Odds, to 1", figures=True),
            Column("Packages", figures=True, wide=True),
            Column("Beside", wide=True),
        ),
        rows=tuple(_entry(e) for e in results.entered_as_total.iter_rows(named=True)),
        frame=results.entered_as_total.drop("run_id"),
        source=_source(results),
        empty="None: no lot's totals read like shaken readings.",
    )


def _entry(entry: Cells) -> Row:
    beside = {"shaken": "the lot's shaken packages", "line": "the line's other lots"}
    said = beside[entry["beside"]]
    packages = words.whole(entry["packages"])
    return Row(
        (
            f"{entry['lot']}, {entry['format'].replace(' ', words.NBSP)}",
            words.whole(entry["entered_ppb"]),
            words.whole(entry["entered_ppb"] * entry["multiplier"]),
            words.whole(entry["usual_ppb"]),
            words.whole(entry["odds"]),
            packages,
            said,
        ),
        narrow=words.sentence(f"{words.count(entry['packages'], 'package')}, beside {said}"),
    )


def _counts(results: Results) -> Table:
    names = ("late", "below_floor", "part", "unusable", "bound_lots")
    return Table(
        name="oxygen-counts",
        caption="Packages by what their readings tell",
        columns=(
            CHART,
            Column("Read", figures=True),
            Column("Of these below the floor", figures=True),
            Column("Late", figures=True),
            Column("Beer side or part only", figures=True),
            Column("Not usable", figures=True, wide=True),
            Column("Lots with bounds only", figures=True, wide=True),
        ),
        rows=tuple(
            Row(
                (
                    signals.chart_name(c),
                    *(
                        words.whole(c[name])
                        for name in (
                            "packages",
                            "below_floor",
                            "late",
                            "part",
                            "unusable",
                            "bound_lots",
                        )
                    ),
                ),
                narrow=words.sentence(
                    f"not usable: {words.whole(c['unusable'])}; "
                    f"lots with bounds only: {words.whole(c['bound_lots'])}"
                ),
            )
            for c in results.oxygen_charts.iter_rows(named=True)
        ),
        frame=results.oxygen_charts.select("line", "format", "lots", "packages", *names),
        source=_source(results),
        empty=EMPTY,
    )


def closing(chart: Cells) -> str:
    """Return what closing added, with bounds where there are any; they may be below nothing."""
    mean = words.whole(chart["split_closing_ppb"])
    lower, upper = chart["split_closing_lower_ppb"], chart["split_closing_upper_ppb"]
    return (
        mean if lower is None else f"{mean} ({words.bounds(lower, upper)})".replace(" ", words.NBSP)
    )


def _split(results: Results) -> Table:
    found = results.oxygen_charts.filter(pl.col("split_lots") > 0)
    return Table(
        name="oxygen-sides",
        caption="Beer side and closing side",
        columns=(
            CHART,
            Column("Total, ppb", figures=True),
            Column("Beer side, ppb", figures=True),
            Column("Closing, ppb", figures=True),
            Column("Lots", figures=True),
        ),
        rows=rows(
            (
                signals.chart_name(c),
                words.whole(c["split_total_ppb"]),
                words.whole(c["split_beer_ppb"]),
                closing(c),
                words.whole(c["split_lots"]),
            )
            for c in found.iter_rows(named=True)
        ),
        frame=found.select("line", "format", pl.col("^split_.*$")),
        source=_source(results),
        empty=(
            "No lot has both its total and its beer side: an unshaken reading (dissolved) beside "
            "totals or shaken ones fills this."
        ),
    )


def _points(results: Results) -> Table:
    newest = results.chart_points.sort(
        "packaged_on", "position", descending=True, maintain_order=True
    ).head(3 * LISTED)
    return Table(
        name="oxygen-lots",
        caption="Lots on the charts, the newest first",
        columns=(
            Column("Lot"),
            CHART,
            Column("Packaged"),
            Column("ppb", figures=True),
            Column("Packages", figures=True, wide=True),
            Column("Running mean, ppb", figures=True, wide=True),
        ),
        rows=rows(
            (
                p["lot"],
                signals.chart_name(p),
                words.day(p["packaged_on"]),
                point(p),
                words.whole(p["packages"]),
                words.whole(p["running_ppb"]),
            )
            for p in newest.iter_rows(named=True)
        ),
        frame=results.chart_points.drop("run_id"),
        source=_source(results),
        empty=EMPTY,
    )


def point(lot: Cells) -> str:
    """Return the oxygen of a lot: a value, or the bound that is known."""
    if lot["ppb"] is not None:
        return words.whole(lot["ppb"])
    at_least, at_most = lot["at_least_ppb"], lot["at_most_ppb"]
    if at_least is not None:
        return f"≥{words.whole(at_least)}"
    return words.NOTHING if at_most is None else f"≤{words.whole(at_most)}"


def _capability(results: Results) -> Table:
    return Table(
        name="oxygen-capability",
        caption="Limits and capability",
        columns=(
            CHART,
            Column("Cpk", figures=True),
            Column("Cpk, 90 %", figures=True),
            Column("Sigma, log ppb", figures=True),
            Column("Step limit, times", figures=True),
            Column("Lots of the limits", figures=True, wide=True),
        ),
        rows=rows(
            (
                signals.chart_name(c),
                words.figure(c["cpk"], 2),
                words.NOTHING
                if c["cpk"] is None
                else f"{words.figure(c['cpk_lower'], 2)} to {words.figure(c['cpk_upper'], 2)}",
                words.figure(c["sd_log"]),
                words.figure(c["step_limit"], 2),
                words.whole(c["limits_lots"]),
            )
            for c in results.oxygen_charts.iter_rows(named=True)
        ),
        frame=results.oxygen_charts.select(
            "line", "format", pl.col("^(cpk|limit).*$"), "centre_ppb", "sd_log", "step_limit"
        ),
        source=_source(results),
        empty=EMPTY,
    )


def _moved(results: Results) -> Table:
    return Table(
        name="oxygen-limits-moved",
        caption="When limits moved",
        columns=(
            CHART,
            Column("Run"),
            Column("Before, ppb", figures=True),
            Column("Then, ppb", figures=True),
            Column("From lots", wide=True),
        ),
        rows=rows(
            (
                signals.chart_name(m),
                f"{m['run_id']}, {words.day(m['finished_at'])}",
                limits(m["lower_before_ppb"], m["upper_before_ppb"]),
                limits(m["limit_lower_ppb"], m["limit_upper_ppb"]),
                f"{words.day(m['limits_first_on'])} to {words.day(m['limits_last_on'])}",
            )
            for m in results.limit_changes.head(LISTED).iter_rows(named=True)
        ),
        frame=results.limit_changes,
        source=_source(results),
        empty="Limits have not moved since the first run that had them.",
    )
