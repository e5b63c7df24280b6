"""The tables of the page of formats apart."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import sentences, words
from dashboards.page import Column, Row, Table, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

GAP = ("style", "format", "other_format", "route")
TIGHT = {"can", "keg"}
SOURCE = {"prior": "mostly assumed", "fitted": "own tastings"}
NO_DAYS = (
    "No gap here: the tables lots, samples and tastings fill this, with one style in two formats "
    "that go on one route."
)


def on_main_route(results: Results) -> pl.DataFrame:
    """Return the gaps on a route that carries most of one of the two formats."""
    main = results.beer_dates.filter("main_route").select("style", "format", "route").unique()
    gaps = results.format_gaps
    carried = [
        gaps.join(main, left_on=["style", whose, "route"], right_on=main.columns, how="semi")
        for whose in ("format", "other_format")
    ]
    return pl.concat(carried).unique().sort(GAP)


def gaps(results: Results, found: pl.DataFrame, name: str) -> Table:
    """Return gaps with their parts, one row for a style, two formats and a route."""
    ways = sentences.routes(results)
    return Table(
        name=name,
        caption="Days that a style keeps longer in one format than in another (with bounds)",
        columns=(
            Column("Style, formats"),
            Column("Kept as"),
            Column("Apart, days", figures=True),
            Column("Filling, days", figures=True, wide=True),
            Column("Ingress, days", figures=True, wide=True),
            Column("Rest, days", figures=True, wide=True),
        ),
        rows=tuple(
            Row(
                (
                    pair(g),
                    ways[g["route"]].ends,
                    days(g, "gap"),
                    *(days(g, part) for part in ("filling", "ingress", "rest")),
                ),
                narrow=(
                    f"Filling {days(g, 'filling')}, ingress {days(g, 'ingress')}, rest "
                    f"{days(g, 'rest')}."
                ),
                note=(
                    "One of them was not tasted: what oxygen does not explain is lent by others."
                    if g["rest_source"] == "lent"
                    else ""
                ),
            )
            for g in found.rows(named=True)
        ),
        frame=found.drop("run_id"),
        source=run_source(results),
        empty=NO_DAYS,
    )


def pair(gap: Cells) -> str:
    """Return a style with the format that keeps longer, then the other."""
    longer, shorter = (gap[name].replace(" ", words.NBSP) for name in ("format", "other_format"))
    return f"{gap['style']}: {longer} over {shorter}"


def days(gap: Cells, part: str) -> str:
    """Return a part of a gap with its bounds."""
    return words.bounded(*(gap[f"{part}_days{end}"] for end in ("", "_lower", "_upper")))


def steps(gap: Cells) -> list[str]:
    """Return what the format that keeps shorter would be brought to, in words."""
    said = []
    if gap["closed_total_oxygen_ppb"] is not None:
        now, then = gap["other_total_oxygen_ppb"], gap["closed_total_oxygen_ppb"]
        said.append(f"from {words.whole(now)} to {words.whole(then)}{words.NBSP}ppb at filling")
    if gap["closed_ingress_ppb_per_day"] is not None:
        now, then = gap["other_ingress_ppb_per_day"], gap["closed_ingress_ppb_per_day"]
        said.append(
            f"from {words.plain(round(now, 2))} to {words.plain(round(then, 2))}{words.NBSP}ppb a "
            "day through the closure"
        )
    return said


def closing(results: Results, found: pl.DataFrame) -> Table:
    """Return what would close each gap that is sure."""
    ways = sentences.routes(results)
    return Table(
        name="formats-closing",
        caption="What would close the gap",
        columns=(
            Column("Style, formats"),
            Column("Kept as", wide=True),
            Column("Bring the second"),
            Column("Would gain, days", figures=True),
            Column("Apart, days", figures=True, wide=True),
            Column("From", wide=True),
        ),
        rows=tuple(
            Row(
                (
                    pair(g),
                    ways[g["route"]].ends,
                    words.listed(steps(g)),
                    days(g, "closed"),
                    days(g, "gap"),
                    SOURCE[g["exponent_source"]],
                ),
                narrow=(
                    f"{words.sentence(ways[g['route']].ends)[:-1]}; apart {days(g, 'gap')} days; "
                    f"{SOURCE[g['exponent_source']]}."
                ),
            )
            for g in found.rows(named=True)
        ),
        frame=found.drop("run_id"),
        source=run_source(results),
        empty="No gap is sure and has less oxygen to close it with.",
    )


def ratios(results: Results) -> Table:
    """Return the oxygen of one format over another's."""
    return Table(
        name="formats-oxygen",
        caption="Oxygen at filling, same beer and same batch or weeks (with bounds)",
        columns=(
            Column("Holds more"),
            Column("Than"),
            Column("Times", figures=True),
            Column("Pairs", figures=True),
            Column("From one batch", figures=True, wide=True),
            Column("Bounds only", figures=True, wide=True),
        ),
        rows=tuple(
            Row(
                (
                    _format(r["format"], r["line"]),
                    _format(r["other_format"], r["other_line"]),
                    _times(r),
                    words.whole(r["pairs"]),
                    words.whole(r["pairs_by_batch"]),
                    words.whole(r["pairs_bounds"]),
                ),
                narrow=(
                    f"{words.whole(r['pairs_by_batch'])} from one batch, "
                    f"{words.whole(r['pairs_bounds'])} known as bounds only."
                ),
            )
            for r in results.format_ratios.rows(named=True)
        ),
        frame=results.format_ratios.drop("run_id"),
        source=run_source(results, words.count(int(results.format_ratios["pairs"].sum()), "pair")),
        empty=(
            "No beer was filled into two formats within four weeks and measured in both: the table "
            "oxygen fills this; the column batch of the table lots sharpens it."
        ),
    )


def _format(format_: str, line: str | None) -> str:
    name = format_.replace(" ", words.NBSP)
    return name if line is None else f"{name}, {line}"


def _times(ratio: Cells) -> str:
    if ratio["ratio"] is None:
        return words.NOTHING
    value = words.figure(ratio["ratio"], 2)
    if ratio["ratio_lower"] is None:
        return f"{value} (too few)"
    low, high = (words.figure(ratio[f"ratio_{end}"], 2) for end in ("lower", "upper"))
    return f"{value} ({low} to {high})".replace(" ", words.NBSP)


def ingress(results: Results) -> Table:
    """Return what each format's closure lets in, and when that overtakes the filling."""
    return Table(
        name="formats-ingress",
        caption="What closures let in at 20 °C, beside what was filled in",
        columns=(
            Column("Format"),
            Column("Closure", wide=True),
            Column("Lets in, ppb a day", figures=True),
            Column("mL O₂ a day", figures=True, wide=True),
            Column("At filling, ppb", figures=True),
            Column("Lots", figures=True, wide=True),
            Column("Overtakes the filling"),
        ),
        rows=tuple(
            Row(
                (
                    i["format"],
                    i["closure"] or "not said",
                    words.plain(round(i["ingress_ppb_per_day"], 2)),
                    words.plain(round(i["ingress_ml_o2_per_day"], 6)),
                    _filled(i),
                    words.whole(i["lots"]),
                    overtakes(i),
                ),
                narrow=(f"Closure: {i['closure'] or 'not said'}; {words.count(i['lots'], 'lot')}."),
                note=_closures(i),
            )
            for i in results.ingress.rows(named=True)
        ),
        frame=results.ingress.drop("run_id"),
        source=run_source(results, words.count(int(results.ingress["lots"].sum()), "lot")),
        empty="No lot yet: the tables formats, lots and oxygen fill this.",
    )


def _filled(ingress: Cells) -> str:
    total, lower = ingress["total_oxygen_ppb"], ingress["total_oxygen_ppb_lower"]
    if lower is None:
        return words.whole(total)
    return words.bounded(total, lower, ingress["total_oxygen_ppb_upper"])


def overtakes(ingress: Cells) -> str:
    """Say from which week on more oxygen has come in than was filled in."""
    if ingress["ingress_ppb_per_day"] == 0.0:
        if not ingress["ingress_given"] and ingress["kind"] not in TIGHT:
            return "not known: the table formats does not say what the closure lets in"
        return f"never: a {ingress['kind']} lets nothing in"
    if ingress["overtakes_week"] is None:
        return "not known: no lot was measured"
    week, low, high = (ingress[f"overtakes_week{end}"] for end in ("", "_lower", "_upper"))
    said = f"from week {words.whole(week)} on"
    if low is None or (low == high == week):
        return said
    return f"{said} (week {words.whole(low)} to {words.whole(high)})"


def _closures(ingress: Cells) -> str:
    others = ingress["lots_other_closure"]
    if not others:
        return ""
    have = "has" if others == 1 else "have"
    return (
        f"{words.count(others, 'lot')} {have} another closure; the table formats gives one ingress "
        "for all lots of a format."
    )
