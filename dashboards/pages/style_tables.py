"""The tables of a style's page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import sentences, words
from dashboards.page import Column, Row, Table, rows, run_source

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dashboards.results import Results

Cells = dict[str, Any]


def tables(results: Results, style: str, stem: str) -> dict[str, Table]:
    """Return the tables of a style by the name that its template calls them.

    Args:
        results: What the store publishes.
        style: The style.
        stem: The page's file name without its ending, which begins the name of each CSV.
    """
    return {
        "dates": dates(results, style, stem),
        "pulls": pulls(results, style, stem),
        "arms": _arms(results, style, stem),
        "oxygen": _oxygen(results, style, stem),
        "parameters": _parameters(results, stem),
        "laws": _laws(results, stem),
    }


def dates(results: Results, style: str, stem: str) -> Table:
    """Return the date of each format on each route, and the days until shares are rejected."""
    of_style = pl.col("style") == style
    ways = sentences.routes(results)
    cells = results.dates.filter(of_style)
    lives = results.shelf_life.filter(of_style)
    shares = lives["share_rejected"].unique().sort().to_list()
    run = results.newest_run or {}
    others = [share for share in shares if share != run.get("share_rejected")]
    known = {(c["format"], c["route"], c["share_rejected"]): c for c in lives.rows(named=True)}
    shown = tuple(
        Row(
            (
                c["format"],
                ways[c["route"]].ends,
                words.whole(c["best_before_days"]),
                words.cause(c["binding_cause"]),
                *(_span(known.get((c["format"], c["route"], share))) for share in shares),
                words.BASIS.get(c["basis"], c["basis"]),
            ),
            narrow=_besides(
                c, {share: known.get((c["format"], c["route"], share)) for share in others}
            ),
            note=words.sentence(f"No date: {c['reason']}") if c["reason"] else "",
        )
        for c in cells.rows(named=True)
    )
    return Table(
        name=f"{stem}-dates",
        caption="The date, and the days from packaging until each share is rejected (with bounds)",
        columns=(
            Column("Format"),
            Column("Kept as"),
            Column("Best before, days", figures=True),
            Column("Ended by", wide=True),
            *(
                Column(f"{words.percent(s)} rejected, days", figures=True, wide=s in others)
                for s in shares
            ),
            Column("Basis", wide=True),
        ),
        rows=shown,
        frame=_wide(cells.drop("run_id"), lives, shares),
        source=run_source(results),
        empty=(
            "No format of this style goes on a known route: the tables routes and route_stages, "
            "with the kinds of package that go each way, fill this."
        ),
    )


def _besides(cell: Cells, lives: Mapping[float, Cells | None]) -> str:
    """Return what a phone has no columns for: what ended the life, the other shares, the basis."""
    ended = f"Ended by {words.cause(cell['binding_cause'])}" if cell["best_before_days"] else ""
    rejected = [
        f"{words.percent(share)} rejected at {_span(life)}{words.NBSP}days"
        for share, life in lives.items()
        if life is not None
    ]
    basis = words.BASIS.get(cell["basis"], cell["basis"])
    return words.sentence("; ".join(part for part in (ended, *rejected, basis) if part))


def _wide(cells: pl.DataFrame, lives: pl.DataFrame, shares: list[float]) -> pl.DataFrame:
    """Return the cells with the life and its bounds at each share in columns of their own."""
    key = ["format", "route"]
    for share in shares:
        of_share = lives.filter(pl.col("share_rejected") == share).select(
            *key,
            *(
                pl.col(f"shelf_life_days{end}").alias(f"days_at_{share * 100:g}_pct{end}")
                for end in ("", "_lower", "_upper")
            ),
        )
        cells = cells.join(of_share, on=key, how="left", maintain_order="left")
    return cells


def _span(life: Cells | None) -> str:
    """Return a life with its bounds: `112 (98 to 131)`, or `112 (98 or more)`."""
    if life is None or life["shelf_life_days"] is None:
        return words.NOTHING
    return words.bounded(
        life["shelf_life_days"], life["shelf_life_days_lower"], life["shelf_life_days_upper"]
    )


def pulls(results: Results, style: str, stem: str) -> Table:
    """Return every pull of a style with its counts."""
    found = results.pulls.filter(pl.col("style") == style).sort(
        "storage_temp_c", "age_days", "format", "lot", "sample"
    )
    return Table(
        name=f"{stem}-pulls",
        caption="Every pull: kept at, age, and what the tasters said",
        columns=(
            Column("Lot"),
            Column("Format"),
            Column("Kept at, °C", figures=True),
            Column("Age, days", figures=True),
            Column("Days at 20 °C", figures=True),
            Column("Rejected", figures=True),
            Column("Not sure", figures=True),
            Column("Expected", figures=True),
        ),
        rows=rows(
            (
                p["lot"],
                p["format"],
                words.plain(p["storage_temp_c"]),
                words.whole(p["age_days"]),
                words.whole(p["equivalent_days"]),
                words.of(p["rejected"], p["tasted"]),
                str(p["not_sure"]),
                words.figure(p["expected_rejected"], 1),
            )
            for p in found.rows(named=True)
        ),
        frame=found.drop("run_id"),
        source=run_source(results),
        empty="No aged sample has been tasted: the tables samples and tastings fill this.",
    )


def _arms(results: Results, style: str, stem: str) -> Table:
    arms = results.arms.filter(pl.col("style") == style)
    return Table(
        name=f"{stem}-temperatures",
        caption="Each storage temperature: rejected, and expected",
        columns=(
            Column("Kept at, °C", figures=True),
            Column("Pulls", figures=True),
            Column("Oldest, days", figures=True),
            Column("Rejected", figures=True),
            Column("Expected", figures=True),
        ),
        rows=rows(
            (
                words.plain(a["storage_temp_c"]),
                words.whole(a["pulls"]),
                words.whole(a["oldest_days"]),
                words.of(a["rejected"], a["verdicts"]),
                words.figure(a["expected_rejected"], 1),
            )
            for a in arms.rows(named=True)
        ),
        frame=arms.drop("run_id"),
        source=run_source(results),
        empty="Nothing kept and tasted yet: the tables samples and tastings fill this.",
    )


def _oxygen(results: Results, style: str, stem: str) -> Table:
    lots = results.lot_oxygen.filter(pl.col("style") == style)
    return Table(
        name=f"{stem}-oxygen",
        caption="Package oxygen of each lot",
        columns=(
            Column("Lot"),
            Column("Format"),
            Column("Packaged"),
            Column("Packages measured", figures=True),
            Column("At filling, ppb (with bounds)", figures=True),
            Column("Let in, ppb a day", figures=True),
            Column("Dose over 90 days, ppb", figures=True),
        ),
        rows=rows(
            (
                o["lot"],
                o["format"],
                words.day(o["packaged_on"]),
                words.whole(o["packages"]),
                words.at_filling(o),
                words.figure(o["ingress_ppb_per_day"], 1),
                words.whole(o["dose_ppb"]),
            )
            for o in lots.rows(named=True)
        ),
        frame=lots.drop("run_id"),
        source=run_source(results),
        empty="No lot of this style: the tables lots and oxygen fill this.",
    )


def _hundredths(share: float | None) -> str:
    """Return a share as a whole number of hundredths, whose unit stands in the heading."""
    return words.NOTHING if share is None else words.whole(share * 100)


def _parameters(results: Results, stem: str) -> Table:
    return Table(
        name=f"{stem}-parameters",
        caption="Parameters of the best law, the spreads last",
        columns=(
            Column("Parameter"),
            Column("Unit", wide=True),
            Column("Estimate", figures=True),
            Column("Standard error", figures=True),
            Column("Prior mean", figures=True, wide=True),
            Column("Prior SD", figures=True, wide=True),
            Column("How far the data moved it, %", figures=True),
            Column("From"),
        ),
        rows=tuple(
            Row(
                (
                    p["name"],
                    p["unit"],
                    words.figure(p["estimate"]),
                    words.figure(p["standard_error"]),
                    words.figure(p["prior_mean"]),
                    words.figure(p["prior_sd"]),
                    _hundredths(p["narrowed"]),
                    p["source"],
                ),
                narrow=f"Unit: {p['unit']}. Prior: mean {words.figure(p['prior_mean'])}, SD "
                f"{words.figure(p['prior_sd'])}.",
            )
            for p in results.parameters.rows(named=True)
        ),
        frame=results.parameters.drop("run_id"),
        source=run_source(results),
        empty="No parameters: the newest run gave no estimate.",
    )


def _laws(results: Results, stem: str) -> Table:
    return Table(
        name=f"{stem}-laws",
        caption="Laws compared by their marginal log-likelihood",
        columns=(
            Column("Law"),
            Column("Log-likelihood", figures=True),
            Column("Weight, %", figures=True),
            Column("Best"),
        ),
        rows=tuple(
            Row(
                (
                    law["distribution"],
                    words.figure(law["log_likelihood"], 2),
                    _hundredths(law["weight"]),
                    "yes" if law["chosen"] else "no",
                ),
                note=words.sentence(law["reason"] or ""),
            )
            for law in results.laws.rows(named=True)
        ),
        frame=results.laws.drop("run_id"),
        source=run_source(results),
        empty="No laws: the newest run gave no estimate.",
    )
