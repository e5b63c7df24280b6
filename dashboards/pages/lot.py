"""The page of one lot: whether its usual date holds, what to do, and what was read."""

from __future__ import annotations

import re
from hashlib import sha256
from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import lot_chart, theme, words
from dashboards.page import Chart, Column, Key, Page, Row, Table, load_source

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dashboards.results import Results

Cells = dict[str, Any]

BASIS = {
    "total": "total",
    "shaken": "shaken",
    "sum": "beer and headspace",
    "partial": "beer or headspace alone",
    "none": "tells no total",
}
LONGEST_NAME = 60


def file_of(lot: str) -> str:
    """Return the name of a lot's page: `lot-26097.html`.

    It keeps small letters and figures. Where that does not tell the lot as it is written, a digest
    does, so that no two lots share a page and no lot's page depends on another lot.
    """
    tame = re.sub(r"[^a-z0-9]+", "-", lot.lower()).strip("-")[:LONGEST_NAME]
    digest = sha256(lot.encode()).hexdigest()[:8]
    return f"lot-{tame}.html" if tame == lot else f"lot-{tame or 'unnamed'}-{digest}.html"


def pages(results: Results) -> tuple[Page, ...]:
    """Return the page of every lot that was judged."""
    return tuple(
        page(results, lot) for lot in results.lots["lot"].unique(maintain_order=True).to_list()
    )


def page(results: Results, lot: str) -> Page:
    """Return the page of a lot that was judged, with a part for each format."""
    formats = results.lots.filter(pl.col("lot") == lot)
    name = file_of(lot).removesuffix(".html")
    parts = [_part(results, row, name) for row in formats.iter_rows(named=True)]
    return Page(
        file=f"{name}.html",
        title=f"Lot {words.short(lot, LONGEST_NAME)}",
        template="lot.html",
        context={"parts": parts, "as_of": _as_of(formats.row(0, named=True))},
        tables=tuple(part["packages"] for part in parts),
    )


def _as_of(row: Cells) -> str:
    asked = f", last asked about on {words.day(row['asked_on'])}" if row["asked_on"] else ""
    return f"As of {words.day(row['judged_on'])}{asked}."


def _part(results: Results, row: Cells, name: str) -> Mapping[str, Any]:
    packages = results.lot_packages.filter(
        pl.col("lot") == row["lot"], pl.col("format") == row["format"]
    )
    known = packages.filter(pl.col("basis") != "none")
    return {
        "row": row,
        "anchor": f"format-{sha256(row['format'].encode()).hexdigest()[:8]}",
        "advice": [words.sentence(line) for line in row["advice"].splitlines()],
        "line": _line(row),
        "packages": _packages(results, row, packages, name),
        "chart": _chart(results, row, known) if known.height else None,
    }


def _line(row: Cells) -> str:
    if row["line_ppb"] is None:
        return (
            "Its line and format have no limits yet, or no run has seen them: a line's limits come "
            "from eight lots with oxygen readings or more."
        )
    where = f"on the line '{row['line']}'" if row["line"] else "on a line that the lots do not name"
    return (
        f"{words.count(row['line_lots'], 'lot')} in this format {where} give the limits: middle "
        f"{words.whole(row['line_ppb'])}, from {words.whole(row['limit_lower_ppb'])} to "
        f"{words.whole(row['limit_upper_ppb'])}{words.NBSP}ppb."
    )


def _packages(results: Results, row: Cells, packages: pl.DataFrame, name: str) -> Table:
    digest = sha256(row["format"].encode()).hexdigest()[:8]
    return Table(
        name=f"{name}-{digest}",
        caption="Its packages, total oxygen at filling",
        columns=(
            Column("Read"),
            Column("Total, ppb", figures=True),
            Column("Head"),
            Column("From", wide=True),
            Column("Run", wide=True),
            Column("Meter", wide=True),
        ),
        rows=tuple(_package(p) for p in packages.iter_rows(named=True)),
        frame=packages,
        source=load_source(results),
        empty="No oxygen reading of this lot: the table oxygen fills this.",
    )


def _package(package: Cells) -> Row:
    read = package["measured_at"]
    basis = BASIS[package["basis"]] + (", late" if package["late"] else "")
    run = package["run_position"] or words.NOTHING
    meter = package["meter"] or words.NOTHING
    return Row(
        (
            f"{words.day(read)}, {read:%H:%M}",
            _ppb(package),
            package["head"] or words.NOTHING,
            basis,
            run,
            meter,
        ),
        narrow=words.sentence(f"{basis}; run {run}; meter {meter}"),
    )


def _ppb(package: Cells) -> str:
    low, high = package["lower_ppb"], package["upper_ppb"]
    if low is None:
        return words.NOTHING
    if high is None:
        return f"at least {words.whole(low)}"
    return words.whole(low) if low == high else f"at most {words.whole(high)}"


def _chart(results: Results, row: Cells, known: pl.DataFrame) -> Chart:
    colours = theme.format_colours(results)
    hue = colours.get(row["format"], theme.OKABE_ITO[0])
    shape = theme.format_shapes(colours).get(row["format"], theme.SHAPES[0])
    limits = row["line_ppb"] is not None
    return Chart(
        name=f"packages-{sha256(row['format'].encode()).hexdigest()[:8]}",
        title=f"What its packages held at filling, {row['format']}",
        summary=f"{words.count(known.height, 'package')} by head; {row['answer']}",
        caption=(
            "Each mark is a package; an arrow is a bound: the package held at least, or at most, "
            "that much. The bar is the lot's mean with the bounds that hold nine times in ten."
            + (" The band is where lots of its line and format usually lie." if limits else "")
        ),
        key=(
            Key("point", "package", hue),
            Key("line", "the lot's mean, with bounds"),
            *((Key("band", "limits of its line"), Key("dashed", "its middle")) if limits else ()),
        ),
        spec=lot_chart.lot_chart(row, known, hue, shape),
    )
