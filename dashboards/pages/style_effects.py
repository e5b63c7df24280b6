"""The tables of a style's page that stand beside its dates: effects, other readings, scores."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import findings, words
from dashboards.findings import of_style
from dashboards.page import Column, Row, Table, rows, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

MORE = ("twice the dose", "20 ppb more")
SOURCE = {"prior": "mostly assumed", "fitted": "own tastings"}
READINGS = {
    findings.ALLOWED: "any verdict may be wrong; the dates rest on this",
    "widest brackets": "from the last age that all answers accept, to the first that all reject",
    "first rejection": "nothing counts after the first rejection of a series",
    "every glass alone": "each glass by itself, not as part of a series",
}
COURSES = {"zero": "straight line", "first": "towards the end of the scale"}


def tables(results: Results, style: str, stem: str) -> dict[str, Table]:
    """Return these tables by the name that the template calls them.

    Args:
        results: What the store publishes.
        style: The style.
        stem: The page's file name without its ending, which begins the name of each CSV.
    """
    return {
        "oxygen_costs": _oxygen_costs(results, style, stem),
        "trials": _trials(results, style, stem),
        "scores": _scores(results, style, stem),
        "left_out": _left_out(results, style, stem),
        "readings": _readings(results, style, stem),
    }


def _oxygen_costs(results: Results, style: str, stem: str) -> Table:
    found = of_style(results.oxygen_effects, style)
    known = {(c["format"], c["more"]): c for c in found.rows(named=True)}
    formats = found["format"].unique(maintain_order=True).to_list()

    def cost(format_: str, more: str) -> str:
        effect = known.get((format_, more))
        return words.NOTHING if effect is None else findings.bounded(effect, "days_lost")

    def source(format_: str) -> str:
        return words.listed(
            [*dict.fromkeys(SOURCE[c["source"]] for (f, _), c in known.items() if f == format_)]
        )

    return Table(
        name=f"{stem}-oxygen-costs",
        caption=f"What more package oxygen costs, {findings.AT_20} (with bounds)",
        columns=(
            Column("Format"),
            *(Column(f"{more.capitalize()}, days lost", figures=True) for more in MORE),
            Column("From"),
        ),
        rows=rows((f, *(cost(f, more) for more in MORE), source(f)) for f in formats),
        frame=found.drop("run_id"),
        source=run_source(results),
        empty=(
            "No cost of oxygen yet: it needs an estimate of this style; the tables oxygen, samples "
            "and tastings fill this."
        ),
    )


def _trials(results: Results, style: str, stem: str) -> Table:
    found = of_style(results.trial_effects, style)
    return Table(
        name=f"{stem}-trials",
        caption=f"Days gained {findings.AT_20} by each change (with bounds); a minus: days lost",
        columns=(
            Column("Change"),
            Column("Lots", figures=True),
            Column("With its oxygen, days", figures=True),
            Column("Oxygen held equal, days", figures=True),
        ),
        rows=rows(
            (
                name,
                words.whole(max(e["lots"] for e in effects.values())),
                findings.gained(effects.get(False)),
                findings.gained(effects.get(True)),
            )
            for name, effects in findings.by_change(found).items()
        ),
        frame=found.drop("run_id"),
        source=run_source(results),
        empty=(
            "No change is being tried on part of this style's lots: the column trial of the table "
            "lots, or the table changes, fills this."
        ),
    )


def _scores(results: Results, style: str, stem: str) -> Table:
    found = of_style(results.score_crossings, style)
    return Table(
        name=f"{stem}-scores",
        caption=f"The age {findings.AT_20} at which a mean score crosses its cut-off (with bounds)",
        columns=(
            Column("Attribute"),
            Column("By the scores, days", figures=True),
            Column("By the verdicts, days", figures=True),
            Column("Pulls", figures=True),
            Column("Lots", figures=True),
            Column("Course", wide=True),
        ),
        rows=tuple(
            Row(
                (
                    c["attribute"],
                    findings.crossing_days(c),
                    words.whole(c["verdict_days"]),
                    words.whole(c["pulls"]),
                    words.whole(c["lots"]),
                    COURSES.get(c["course"], c["course"]),
                ),
                narrow=f"Course: {COURSES.get(c['course'], c['course'])}.",
                note=words.sentence(c["note"] or ""),
            )
            for c in found.rows(named=True)
        ),
        frame=found.drop("run_id"),
        source=run_source(results),
        empty=(
            "No score crosses a cut-off: name an attribute in the configuration, under attributes, "
            "and score aged and blind fresh samples in the table tastings."
        ),
    )


def _left_out(results: Results, style: str, stem: str) -> Table:
    found = of_style(results.scores_left_out, style)
    return Table(
        name=f"{stem}-scores-left-out",
        caption="Attributes left out, and why",
        columns=(Column("Attribute"), Column("Why")),
        rows=rows((c["attribute"], words.sentence(c["reason"])) for c in found.rows(named=True)),
        frame=found.drop("run_id"),
        source=run_source(results),
        empty="No attribute is left out.",
    )


def _readings(results: Results, style: str, stem: str) -> Table:
    order = {name: place for place, name in enumerate(READINGS)}
    found = of_style(results.treatments, style).sort(
        pl.col("treatment").replace_strict(order, default=len(order), return_dtype=pl.Int64)
    )
    share = findings.share(results)
    return Table(
        name=f"{stem}-readings",
        caption=f"Days {findings.AT_20} until {share} is rejected, each way (with bounds)",
        columns=(Column("Way"), Column("Days", figures=True), Column("How it reads", wide=True)),
        rows=tuple(
            Row(
                (
                    t["treatment"],
                    words.bounded(t["days"], t["days_lower"] or 0.0, t["days_upper"]),
                    READINGS.get(t["treatment"], ""),
                ),
                narrow=words.sentence(READINGS.get(t["treatment"], "")),
                note=words.sentence(f"No estimate: {t['reason']}") if t["reason"] else "",
            )
            for t in found.rows(named=True)
        ),
        frame=found.drop("run_id"),
        source=run_source(results),
        empty=(
            "Nothing to compare yet: verdicts on aged samples fill this, the tables samples and "
            "tastings."
        ),
    )
