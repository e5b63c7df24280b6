"""The page of where package oxygen comes from: the one bad head, the run, the lots, the changes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import head_charts, sentences, words
from dashboards.page import Chart, Key, Page
from dashboards.pages import heads_tables as tables
from dashboards.pages.heads_tables import bounded, filled, whose

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

SURE = 0.9


def page(results: Results) -> Page:
    """Return the page of where oxygen comes from."""
    made = {
        "heads": tables.heads(results),
        "sources": tables.sources(results),
        "positions": tables.positions(results),
        "changes": tables.changes(results),
        "change_days": tables.change_days(results),
    }
    said = _findings(results)
    return Page(
        file="heads.html",
        title="Where oxygen comes from",
        template="heads.html",
        context={
            "lead": said[0],
            "other_lines": said[1:],
            "charts": _charts(results),
            "left_out": _left_out(results),
            "sources_said": _sources(results),
            "positions_said": _positions(results),
            "changes_said": _changes(results),
            "gains": _gains(results),
            **made,
        },
        tables=tuple(made.values()),
    )


def _findings(results: Results) -> list[str]:
    """Return a sentence for each line, those with a head that stands out first."""
    found = results.head_findings.rows(named=True)
    if not found:
        return [tables.NO_READINGS]
    named = [_named(f) for f in found if f["finding"] == "named"]
    sound = [whose(f) for f in found if f["finding"] == "none"]
    few = [whose(f) for f in found if f["finding"] == "too few"]
    missing = [whose(f) for f in found if f["finding"] == "not recorded"]
    said = list(named)
    if sound:
        where = f" on {words.listed(sound)}" if len(sound) < len(found) else ""
        said.append(f"No head stands out{where}.")
    if few:
        said.append(f"Too few packages by head to tell on {words.listed(few)}.")
    if missing:
        where = f" ({words.listed(missing)})" if len(missing) < len(found) else ""
        said.append(f"Head not recorded{where}: no head can be named.")
    return said


def _named(found: Cells) -> str:
    ratio = bounded(found, 1, "times the others")
    sure = f"{tables.chance(found['chance'])}{words.NBSP}%".replace(">", "more than ")
    head = f"head {found['head']} of {whose(found)}"
    if found["chance"] >= SURE:
        return words.sentence(f"{head} reads {ratio}; we are {sure} sure that it is this one head")
    return words.sentence(
        f"{head} may read high, {ratio}, but we are only {sure} sure that it is this one head: six "
        f"more packages of each head would tell"
    )


def _charts(results: Results) -> tuple[Chart, ...]:
    charts = []
    for place, found in enumerate(results.head_findings.drop_nulls("chance").rows(named=True)):
        part = results.heads.filter(
            pl.col("line").eq_missing(pl.lit(found["line"], pl.String)),
            pl.col("format").eq_missing(pl.lit(found["format"], pl.String)),
        )
        named = found["head"] if found["finding"] == "named" else None
        charts.append(
            Chart(
                name=f"heads-{place}",
                title=f"{words.sentence(whose(found))[:-1]}: each head against its others",
                summary=(
                    f"{words.count(part.height, 'head')}; head {found['head']} reads most, "
                    f"{bounded(found, 2, 'times the others')}."
                ),
                caption=(
                    f"{words.count(found['packages'], 'package')} of "
                    f"{words.count(found['lots'], 'lot')} from {words.day(found['first_on'])} to "
                    f"{words.day(found['last_on'])}, lots and run positions held equal."
                ),
                key=(
                    Key("point", "best estimate; a square where it stands out"),
                    Key("band", "what it may be", head_charts.HUE),
                ),
                spec=head_charts.heads(part, named),
            )
        )
    return tuple(charts)


def _left_out(results: Results) -> str:
    bounds = int(results.oxygen_lines["bounds"].sum())
    without = int(results.head_findings["without_head"].sum())
    said = []
    if bounds:
        said.append(
            f"{words.count(bounds, 'package')} of which only a bound is known (late, below the "
            f"meter's floor, or read in part) {'is' if bounds == 1 else 'are'} left out of "
            f"everything here but the changes"
        )
    if without:
        are = "names no head and is" if without == 1 else "name no head and are"
        said.append(f"{words.count(without, 'package')} of late {are} left out of the heads")
    return " ".join(words.sentence(part) for part in said)


def _sources(results: Results) -> list[str]:
    """Say for each line and format what makes its packages differ most."""
    said = []
    heads = {
        (f["line"], f["format"]): f["heads"] > 0 for f in results.oxygen_lines.rows(named=True)
    }
    largest = results.oxygen_sources.group_by("line", "format", maintain_order=True).first()
    for most in largest.rows(named=True):
        told = heads[most["line"], most["format"]]
        said.append(
            words.sentence(
                f"{filled(most['line'], most['format'])}: the largest part of what makes packages "
                f"differ, {words.part(most['share'])}, comes "
                f"{tables.source_words(most['source'], heads=told)}"
            )
        )
    return said


def _positions(results: Results) -> list[str]:
    """Say which packages of a run hold more or less than those they are set beside."""
    said = []
    for p in results.run_positions.drop_nulls("ratio").rows(named=True):
        if p["run_position"] == p["beside"] or p["ratio_lower"] <= 1.0 <= p["ratio_upper"]:
            continue
        which, other = (
            tables.POSITIONS.get(p[name], p[name]) for name in ("run_position", "beside")
        )
        said.append(
            words.sentence(
                f"{filled(p['line'], p['format'])}: {which} hold {bounded(p, 1, 'times')} as much "
                f"as {other}"
            )
        )
    return said


def _changes(results: Results) -> list[str]:
    ways = sentences.routes(results)
    days = results.change_days
    said = []
    for c in results.change_oxygen.drop_nulls("ratio").rows(named=True):
        where, when = filled(c["line"], c["format"]), words.day(c["changed_on"])
        start = f"after “{c['what']}” ({when}) {where} held "
        if c["ratio_lower"] <= 1.0 <= c["ratio_upper"]:
            said.append(
                f"{words.sentence(start + 'no more and no less that would show')} "
                f"The difference is {tables.difference(c)} ppb."
            )
            continue
        low, high = sorted(abs(c["difference_ppb" + end]) for end in ("_lower", "_upper"))
        said.append(
            words.sentence(
                f"{start}{words.bounded(abs(c['difference_ppb']), low, high)} ppb "
                f"{'more' if c['ratio'] > 1.0 else 'less'}: {words.whole(c['after_ppb'])} in place "
                f"of {words.whole(c['before_ppb'])}"
            )
        )
        of_change = days.filter(
            pl.col("changed_on") == c["changed_on"],
            pl.col("what") == c["what"],
            pl.col("line").eq_missing(pl.lit(c["line"], pl.String)),
            pl.col("format") == c["format"],
            pl.col("beer").eq_missing(pl.lit(c["beer"], pl.String)),
            pl.col("route").is_in(list(ways)),
        )
        if of_change.height:
            said[-1] += f" {_worst(of_change, ways)}"
    return said


def _worst(days: pl.DataFrame, ways: dict[str, sentences.Route]) -> str:
    """Say what a change is worth in days where it is worth most."""
    most = days.sort(pl.col("days_gained").abs(), descending=True).row(0, named=True)
    way = "gained" if most["days_gained"] > 0 else "lost"
    low, high = sorted(abs(most["days_gained" + end]) for end in ("_lower", "_upper"))
    assumed = ", mostly by what is assumed of oxygen" if most["source"] == "prior" else ""
    days_moved = words.bounded(abs(most["days_gained"]), low, high)
    return words.sentence(
        f"that is worth most on {most['style']}: {days_moved} days {way}, "
        f"{ways[most['route']].kept}{assumed}"
    )


def _gains(results: Results) -> list[str]:
    """Say what a line would hold less if a head that is surely bad read as the others do."""
    said = []
    sure = (pl.col("finding") == "named") & (pl.col("chance") >= SURE)
    for found in results.head_findings.filter(sure).rows(named=True):
        less = [1.0 - found["ratio" + end] ** (-1.0 / found["heads"]) for end in tables.ENDS]
        value, low, high = (100.0 * share for share in less)
        said.append(
            words.sentence(
                f"if head {found['head']} read as the others do, packages of {whose(found)} would "
                f"hold {words.bounded(value, low, high)}{words.NBSP}% less on the average"
            )
        )
    return said
