"""The tables of the page of the panel's performance."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import words
from dashboards.page import Column, Row, Table, rows, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

NO_ATTRIBUTES = (
    "No attribute is scored yet: [attributes.…] in the configuration declares one, and its column "
    "in the table tastings fills this."
)
SCATTER = {
    "level": "tasters' own levels",
    "disagreement": "disagreement",
    "repeat": "the same taster twice",
}
UNDIVIDED = "disagreement and repeats together"


def name_of(attribute: str) -> str:
    """Return an attribute as it is said: `“hop aroma”`."""
    return f"“{attribute.replace('_', ' ')}”"


def counted(results: Results, attributes: pl.DataFrame) -> str:
    """Return where these numbers are from: the run, with glasses and days."""
    tasted = attributes.filter(pl.col("glasses") > 0)
    if tasted.is_empty():
        return run_source(results, "no score")
    first, last = tasted["first_tasted"].min(), tasted["last_tasted"].max()
    most = int(tasted["glasses"].sum())
    days = tasted.select(first=pl.lit(first), last=pl.lit(last)).row(0)
    return run_source(
        results,
        f"{words.count(most, 'score')} from {words.day(days[0])} to {words.day(days[1])}",
    )


def told_apart(results: Results) -> Table:
    """Return what the panel tells apart, by attribute."""
    return Table(
        name="panel-told-apart",
        caption="How far apart two beers must be, four times in five",
        columns=(
            Column("Scored, scale"),
            Column("Points apart (with bounds)", figures=True),
            Column("Tasters of a beer", figures=True),
            Column("Glasses", figures=True),
            Column("Samples", figures=True, wide=True),
            Column("Tasters in all", figures=True, wide=True),
            Column("Second glasses", figures=True, wide=True),
        ),
        rows=tuple(_told(a) for a in results.panel_attributes.rows(named=True)),
        frame=results.panel_attributes.drop("run_id"),
        source=counted(results, results.panel_attributes),
        empty=NO_ATTRIBUTES,
    )


def _told(a: Cells) -> Row:
    known = a["reason"] is None
    counts = [words.whole(a[name]) for name in ("samples", "assessors", "repeats")]
    return Row(
        (
            f"{name_of(a['attribute'])}, {words.plain(a['low'])} to {words.plain(a['high'])}",
            bounded(a, "told_apart") if known else "too few to say",
            words.whole(a["present"]),
            words.whole(a["glasses"]),
            *counts,
        ),
        note="" if known else words.sentence(a["reason"]),
        narrow=f"Samples {counts[0]}, tasters in all {counts[1]}, second glasses {counts[2]}.",
    )


def bounded(cells: Cells, name: str, digits: int = 2) -> str:
    """Return an estimate with its bounds: `0.83 (0.78 to 0.89)`; a dash for none."""
    value, low, high = (cells[name + end] for end in ("", "_lower", "_upper"))
    if value is None:
        return words.NOTHING
    said = f"{words.figure(low, digits)} " + (
        "or more" if high is None else f"to {words.figure(high, digits)}"
    )
    return f"{words.figure(value, digits)} ({said.replace(' ', words.NBSP)})"


def scatter_of(a: Cells) -> list[tuple[str, float, str]]:
    """Return the parts of an attribute's scatter: their words, share of the squares, and column."""
    parts = [part for part in SCATTER if a[f"{part}_sd"] is not None]
    squares = {part: a[f"{part}_sd"] ** 2 for part in parts}
    total = sum(squares.values())
    said = SCATTER if a["repeated"] else SCATTER | {"repeat": UNDIVIDED}
    return [(said[part], squares[part] / total, f"{part}_sd") for part in parts]


def scatter(results: Results) -> Table:
    """Return where the scatter of the scores of one beer comes from."""
    known = results.panel_attributes.filter(pl.col("reason").is_null())
    return Table(
        name="panel-scatter",
        caption="Where scores of one and the same beer scatter from",
        columns=(
            Column("Scored"),
            Column("Because of"),
            Column("Usual size, points (with bounds)", figures=True),
            Column("Share", figures=True),
        ),
        rows=rows(
            (name_of(a["attribute"]), said, bounded(a, column), words.percent(round(share, 2)))
            for a in known.rows(named=True)
            for said, share, column in scatter_of(a)
        ),
        frame=known.select("attribute", "glasses", "repeats", pl.col("^(level|dis|repeat_).*$")),
        source=counted(results, known),
        empty="Too few scores to take their scatter apart: the table tastings fills this.",
    )


def tasters(results: Results, attribute: str, place: int) -> Table:
    """Return each taster beside the others on one attribute, by code."""
    own = results.assessor_scores.filter(pl.col("attribute") == attribute)
    return Table(
        name=f"panel-tasters-{place}",
        caption=f"Each taster, {name_of(attribute)}",
        columns=(
            Column("Code"),
            Column("Glasses", figures=True),
            Column("Goes with the others, −1 to 1", figures=True),
            Column("Above or below them, points", figures=True, wide=True),
            Column("Scale used, times theirs", figures=True, wide=True),
            Column("Same beer twice, points", figures=True, wide=True),
            Column("Tells beers apart, share", figures=True, wide=True),
        ),
        rows=tuple(_taster(s) for s in own.rows(named=True)),
        frame=own.drop("run_id"),
        source=counted(results, results.panel_attributes.filter(pl.col("attribute") == attribute)),
        empty="Too few scores to set tasters beside each other: the table tastings fills this.",
    )


def _taster(s: Cells) -> Row:
    few, seldom = (f"too few to say (n{words.NBSP}={words.NBSP}{s[n]})" for n in _COUNTED)
    agreement, bias, scale = (
        bounded(s, name) if s[name] is not None else few for name in ("agreement", "bias", "scale")
    )
    twice, tells = (
        bounded(s, name) if s[name] is not None else seldom
        for name in ("repeatability", "discrimination")
    )
    return Row(
        (s["code"], words.whole(s["glasses"]), agreement, bias, scale, twice, tells),
        narrow=(
            f"Above or below {bias}. Scale {scale}. Same beer twice {twice}. Tells beers apart "
            f"{tells}."
        ),
    )


_COUNTED = ("shared_samples", "repeats")


def anova(results: Results) -> Table:
    """Return the analysis of variance by attribute."""
    return Table(
        name="panel-anova",
        caption="Analysis of variance",
        columns=(
            Column("Attribute"),
            Column("Source"),
            Column("df", figures=True),
            Column("Mean square", figures=True),
            Column("F", figures=True),
            Column("p", figures=True, wide=True),
        ),
        rows=tuple(
            Row(
                (
                    a["attribute"],
                    a["source"],
                    words.whole(a["freedom"]),
                    words.figure(a["mean_square"]),
                    words.figure(a["f"], 2),
                    chance(a["p"]),
                ),
                narrow="" if a["p"] is None else f"p {chance(a['p'])}.",
            )
            for a in results.panel_anova.rows(named=True)
        ),
        frame=results.panel_anova.drop("run_id"),
        source=counted(results, results.panel_attributes),
        empty="Too few scores: the table tastings fills this.",
    )


def chance(p: float | None) -> str:
    """Return a p to four decimals: `0.0231`, `< 0.0001`."""
    least = 1e-4
    return words.figure(p, 4) if p is None or p >= least else f"<{words.NBSP}0.0001"
