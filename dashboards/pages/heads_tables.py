"""The tables of where oxygen comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import findings, sentences, words
from dashboards.page import Column, Row, Table, rows, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

ENDS = ("", "_lower", "_upper")
NO_READINGS = (
    "No package oxygen has been measured yet, so nothing can be said of where it comes from: the "
    "table oxygen fills this."
)
NOT_RECORDED = (
    "Head not recorded: no head can be named. The column head of the table oxygen fills this."
)
SOURCE = {"prior": "mostly assumed", "fitted": "own tastings"}
SOURCES = {
    "lot": "from lot to lot: the day, the tank",
    "position": "along the run: start, restart, end",
    "head": "from head to head",
    "rest": "from package to package, and the meter",
}
REST_WITH_HEADS = "from package to package, the heads and the meter"
POSITIONS = {
    "start": "first packages of a run",
    "restart": "packages after a restart",
    "middle": "packages from the middle",
    "end": "last packages of a run",
}


def filled(line: str | None, format_: str) -> str:
    """Return a line and format as `canning, can 440`."""
    packed = format_.replace(" ", words.NBSP)
    return packed if line is None else f"{line}, {packed}"


def whose(cells: Cells) -> str:
    """Return whose heads they are: `the canning line`, or the format where no line is named."""
    return cells["format"] if cells["line"] is None else f"the {cells['line']} line"


def bounded(cells: Cells, digits: int, of: str = "") -> str:
    """Return a ratio with its bounds: `1.83 (1.73 to 1.94)`, or `1.8 times (1.7 to 1.9)`."""
    if cells["ratio"] is None:
        return words.NOTHING
    value, lower, upper = (words.figure(cells["ratio" + end], digits) for end in ENDS)
    bounds = f"({lower} to {upper})".replace(" ", words.NBSP)
    return f"{value}{words.NBSP}{of} {bounds}" if of else f"{value}{words.NBSP}{bounds}"


def source(results: Results) -> str:
    """Return where the numbers are from, with the packages behind them."""
    lines = results.oxygen_lines
    packages, lots = int(lines["packages"].sum()), int(lines["lots"].sum())
    return run_source(
        results, f"{words.count(packages, 'package')} of {words.count(lots, 'lot')} read"
    )


def heads(results: Results) -> Table:
    """Return the heads of every line side by side."""
    return Table(
        name="heads",
        caption="Each head against its others (with bounds), and the chance that it is the bad one",
        columns=(
            Column("Line, head"),
            Column("Packages", figures=True),
            Column("Times the others", figures=True),
            Column("Bad one, %", figures=True),
        ),
        rows=tuple(
            Row(
                (
                    f"{h['format'] if h['line'] is None else h['line']}, head {h['head']}",
                    words.whole(h["packages"]),
                    bounded(h, 2),
                    chance(h["chance"]),
                ),
                note="" if h["told"] else "Too few packages to tell.",
            )
            for h in results.heads.rows(named=True)
        ),
        frame=results.heads.drop("run_id"),
        source=source(results),
        empty=NOT_RECORDED if results.oxygen_lines.height else NO_READINGS,
    )


def chance(value: float) -> str:
    """Return a chance in whole per cent, as a number that is never 0 and never 100."""
    if value < 0.01:  # noqa: PLR2004 - below one in a hundred
        return "<1"
    if value > 0.99:  # noqa: PLR2004 - above ninety-nine
        return ">99"
    return words.whole(100.0 * value)


def sources(results: Results) -> Table:
    """Return how much each source makes packages differ."""
    with_heads = {
        (line["line"], line["format"]): line["heads"] > 0
        for line in results.oxygen_lines.rows(named=True)
    }
    return Table(
        name="oxygen-sources",
        caption="What makes packages of a line and format differ (with bounds)",
        columns=(
            Column("Line, format"),
            Column("Source"),
            Column("Part of the spread, %", figures=True),
        ),
        rows=rows(
            (
                filled(s["line"], s["format"]),
                source_words(s["source"], heads=with_heads[s["line"], s["format"]]),
                findings_percent(s),
            )
            for s in results.oxygen_sources.rows(named=True)
        ),
        frame=results.oxygen_sources.drop("run_id"),
        source=source(results),
        empty=(
            "Nothing can be taken apart yet: it needs several packages of each of several lots, in "
            "the table oxygen."
            if results.oxygen_lines.height
            else NO_READINGS
        ),
    )


def source_words(name: str, *, heads: bool) -> str:
    """Return a source in words; where heads are not told apart they are in the rest."""
    return REST_WITH_HEADS if name == "rest" and not heads else SOURCES[name]


def findings_percent(cells: Cells) -> str:
    """Return a share with its bounds in whole per cent: `49 (24 to 88)`."""
    return words.bounded(*(100.0 * cells["share" + end] for end in ENDS))


def positions(results: Results) -> Table:
    """Return what packages hold by their position in the run."""
    return Table(
        name="run-positions",
        caption="Packages by their position in the run, lots and heads held equal (with bounds)",
        columns=(
            Column("Line, format"),
            Column("Which packages"),
            Column("Packages", figures=True),
            Column("Times those it is set beside", figures=True),
        ),
        rows=rows(
            (
                filled(p["line"], p["format"]),
                POSITIONS.get(p["run_position"], p["run_position"]),
                words.whole(p["packages"]),
                beside(p),
            )
            for p in results.run_positions.rows(named=True)
        ),
        frame=results.run_positions.drop("run_id"),
        source=source(results),
        empty=(
            "No run position can be compared: the column run_position of the table oxygen (start, "
            "middle, end, restart) fills this."
            if results.oxygen_lines.height
            else NO_READINGS
        ),
    )


def beside(position: Cells) -> str:
    """Return a position's ratio, or that it is what the others are set beside."""
    if position["run_position"] == position["beside"]:
        return "1, set beside"
    if position["ratio"] is None:
        return "no lot has both"
    return bounded(position, 2)


def changes(results: Results) -> Table:
    """Return package oxygen before and after each change."""
    return Table(
        name="change-oxygen",
        caption="Package oxygen before and after each change, ppb (with bounds)",
        columns=(
            Column("Change"),
            Column("Before", figures=True),
            Column("After", figures=True),
            Column("Difference", figures=True),
            Column("Lots before, after", figures=True, wide=True),
            Column("Line, format", wide=True),
        ),
        rows=tuple(
            Row(
                (
                    f"{c['what']}, {words.day(c['changed_on'])}",
                    words.whole(c["before_ppb"]),
                    words.whole(c["after_ppb"]),
                    difference(c),
                    f"{c['lots_before']}, {c['lots_after']}",
                    filled(c["line"], c["format"]),
                ),
                narrow=(
                    f"{words.sentence(filled(c['line'], c['format']))[:-1]}; "
                    f"{words.count(c['lots_before'], 'lot')} before, {c['lots_after']} after."
                ),
                note=_note(c),
            )
            for c in results.change_oxygen.rows(named=True)
        ),
        frame=results.change_oxygen.drop("run_id"),
        source=source(results),
        empty=(
            "No change with lots on either side: the table changes (changed_on, what, line, "
            "format) fills this."
        ),
    )


def difference(change: Cells) -> str:
    """Return the difference in ppb with its bounds: `+21 (+3 to +44)`."""
    if change["ratio"] is None:
        return words.NOTHING
    value, lower, upper = (change["difference_ppb" + end] for end in ENDS)
    low, high = words.rounded(lower, upper)
    bounds = f"({words.difference(low)} to {words.difference(high)})"
    return f"{words.difference(round(value))} {bounds}".replace(" ", words.NBSP)


def _note(change: Cells) -> str:
    same = (
        "Another change concerns these lots on the same day: the two cannot be told apart."
        if change["same_day"]
        else ""
    )
    return " ".join(part for part in (words.sentence(change["reason"] or ""), same) if part)


def change_days(results: Results) -> Table:
    """Return what each change in oxygen is worth in days."""
    ways = sentences.routes(results)
    return Table(
        name="change-days",
        caption="What that difference in oxygen is worth in days of life (with bounds)",
        columns=(
            Column("Change"),
            Column("Style"),
            Column("Days gained", figures=True),
            Column("Kept", wide=True),
            Column("From", wide=True),
        ),
        rows=tuple(
            Row(
                (
                    f"{d['what']}, {filled(d['line'], d['format'])}",
                    d["style"],
                    findings.gained(d),
                    ways[d["route"]].kept,
                    SOURCE[d["source"]],
                ),
                narrow=words.sentence(f"{ways[d['route']].kept}; {SOURCE[d['source']]}"),
            )
            for d in results.change_days.filter(pl.col("route").is_in(list(ways))).rows(named=True)
        ),
        frame=results.change_days.drop("run_id"),
        source=source(results),
        empty=(
            "No days: they need a change with lots on either side, and an estimate of the style "
            "(the tables changes, oxygen, samples and tastings)."
        ),
    )
