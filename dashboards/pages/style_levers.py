"""What moves the date of a style: days gained by less oxygen, another closure, a colder way."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import sentences, words
from dashboards.findings import gained, of_style, share
from dashboards.page import Column, Row, Table, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

LEVERS = {
    "20 ppb less": "20 ppb less at filling",
    "scavenging liner": "scavenging liner",
    "bad head mended": "bad head mended",
    "cold warehouse": "cold on the way",
}
CHANGES = {
    "20 ppb less": f"20{words.NBSP}ppb less at filling",
    "scavenging liner": "a scavenging liner",
    "bad head mended": "mending the bad head",
}


def table(results: Results, style: str, stem: str) -> Table:
    """Return the days that each change would gain, a row for each format and route.

    Args:
        results: What the store publishes.
        style: The style.
        stem: The page's file name without its ending, which begins the name of the CSV.
    """
    ways = sentences.routes(results)
    found = of_style(results.levers, style)
    pulled = [name for name in LEVERS if name in found["lever"].to_list()]
    return Table(
        name=f"{stem}-levers",
        caption=f"Days gained until {share(results)} is rejected (with bounds)",
        columns=(
            Column("Format"),
            Column("Kept as"),
            Column("From", wide=True),
            *(
                Column(f"{LEVERS[name].capitalize()}, days", figures=True, wide=True)
                for name in pulled
            ),
        ),
        rows=tuple(
            Row(
                (
                    str(format_),
                    ways[str(route)].ends,
                    _source(by_lever),
                    *(gained(by_lever.get(name)) for name in pulled),
                ),
                narrow=words.sentence(
                    "; ".join(
                        f"{LEVERS[name]} {gained(by_lever[name])}"
                        for name in pulled
                        if name in by_lever
                    )
                    + f"; {_source(by_lever)}"
                ),
            )
            for (format_, route), part in found.group_by("format", "route", maintain_order=True)
            for by_lever in [{lever["lever"]: lever for lever in part.rows(named=True)}]
        ),
        frame=found.drop("run_id"),
        source=run_source(results),
        empty=(
            "Nothing to weigh yet: it takes an estimate of this style and a route; the tables "
            "oxygen, samples, tastings and routes fill this."
        ),
    )


def _source(by_lever: dict[str, Cells]) -> str:
    """Say what the days of a row rest on."""
    prior = any(lever["source"] == "prior" for lever in by_lever.values())
    return "partly assumed" if prior else "own tastings"


def said(results: Results, style: str) -> list[str]:
    """Return what surely gains most in each format on its main route, and what is assumed."""
    ways = sentences.routes(results)
    main = results.beer_dates.filter(pl.col("style") == style, "main_route")
    found = of_style(results.levers, style).join(
        main.select("format", "route").unique(), on=["format", "route"], how="semi"
    )
    best = (
        found.sort("days_gained", descending=True)
        .group_by("format", "route", maintain_order=True)
        .first()
        .sort("format", "route")
    )
    lines = [
        f"Most is gained in {b['format']}, {ways[b['route']].kept}, by {_change(b)}: "
        f"{words.days(b['days_gained'])} "
        f"({words.bounds(b['days_gained_lower'], b['days_gained_upper'])})."
        for b in best.rows(named=True)
        if floor(b["days_gained_lower"]) > 0
    ]
    return [*lines, *_assumed(of_style(results.levers, style))]


def _change(lever: Cells) -> str:
    """Say a change with what it changes from and to."""
    digits = 0 if lever["unit"] == "ppb" else 1
    now, then = (words.plain(round(lever[f"value_{when}"], digits)) for when in ("now", "then"))
    unit = f"{words.NBSP}{lever['unit']}"
    if lever["lever"] == "cold warehouse":
        return f"keeping it at {then}{unit} on the way (now up to {now}{unit})"
    return f"{CHANGES[lever['lever']]} ({now} to {then}{unit})"


def _assumed(found: pl.DataFrame) -> list[str]:
    """Say what the days rest on where data have not told it yet."""
    prior = found.filter(pl.col("source") == "prior")["lever"].unique().to_list()
    lines = []
    if set(prior) - {"cold warehouse"}:
        lines.append(
            "Partly assumed: how strongly this style reacts to oxygen. Lots of unlike oxygen, "
            "measured and tasted, would tell."
        )
    if "cold warehouse" in prior:
        lines.append(
            "Partly assumed: how much the cold slows this style. Samples kept at two temperatures "
            "or more would tell."
        )
    return lines
