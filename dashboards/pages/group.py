"""The page of a group: its breweries beside each other, by name and never by rank."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import charts, sentences, theme, words
from dashboards.page import Chart, Column, Key, Page, Row, Table, rows

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from dashboards.results import Results

NO_DATES = "No dates yet: stalecurve group takes files in, fits, and fills this."
NO_OXYGEN = "No usable oxygen reading yet: the table oxygen of each brewery fills this."
_DATES = {
    **dict.fromkeys(("brewery", "beer", "style", "format", "route", "reason"), pl.String),
    "main_route": pl.Boolean,
    **dict.fromkeys(("printed_days", "supported_days", "difference_days"), pl.Int32),
}
_OXYGEN = {
    **dict.fromkeys(("brewery", "format"), pl.String),
    "lots": pl.Int64,
    **dict.fromkeys(("median_ppb", "lower_quartile_ppb", "upper_quartile_ppb"), pl.Float64),
}


@dataclass(frozen=True)
class Brewery:
    """One brewery of a group.

    Attributes:
        name: as the group calls it.
        results: what its store publishes; None where it cannot be read.
        problem: why it could not be brought up to date; empty where it could.
        home: its own first page, from the group's folder; empty where there is none.
    """

    name: str
    results: Results | None
    problem: str
    home: str


def counted(number: int) -> str:
    """Return `1 brewery` or `3 breweries`."""
    return f"{number}{words.NBSP}{'brewery' if number == 1 else 'breweries'}"


def page(breweries: Sequence[Brewery]) -> Page:
    """Return the page of a group, its breweries in the order given."""
    dates = (
        _gathered(breweries, "beer_dates", _DATES)
        .filter("main_route")
        .sort("style", "format", "brewery", "beer")
    )
    oxygen = _gathered(breweries, "format_oxygen", _OXYGEN).sort("format", "brewery")
    source = _source(breweries)
    compared = _breweries(breweries, dates, source)
    by_style, by_format = _dates(breweries, dates, source), _oxygen(oxygen, source)
    return Page(
        file="index.html",
        title="Breweries",
        template="group.html",
        context={
            "lead": _lead(breweries, dates),
            "problems": [_problem(b) for b in breweries if b.problem],
            "shared": _shared(dates),
            "breweries": compared,
            "dates": by_style,
            "oxygen": by_format,
            "chart": _chart(oxygen),
        },
        tables=(compared, by_style, by_format),
    )


def _gathered(
    breweries: Sequence[Brewery], view: str, schema: Mapping[str, type[pl.DataType]]
) -> pl.DataFrame:
    """Return a view of all breweries in one frame, the brewery's name first."""
    frames: list[pl.DataFrame] = [
        getattr(b.results, view).select(pl.lit(b.name).alias("brewery"), pl.exclude("run_id"))
        for b in breweries
        if b.results is not None
    ]
    return pl.concat(frames) if frames else pl.DataFrame(schema=dict(schema))


def _problem(brewery: Brewery) -> str:
    shown = "nothing of it is known" if brewery.results is None else "what stands here is older"
    return (
        f"{brewery.name} could not be brought up to date, and {shown}: "
        f"{words.stopped(brewery.problem)}"
    )


def _counts(dates: pl.DataFrame) -> dict[str, int]:
    """Count the printed dates that the data support, that are too long, that cannot be told."""
    printed = dates.filter(pl.col("printed_days").is_not_null())
    return {
        "printed": printed.height,
        "kept": printed.filter(pl.col("difference_days") >= 0).height,
        "too long": printed.filter(pl.col("difference_days") < 0).height,
        "unknown": printed["difference_days"].null_count(),
    }


def _lead(breweries: Sequence[Brewery], dates: pl.DataFrame) -> str:
    n = _counts(dates)
    if not n["printed"]:
        return f"{counted(len(breweries))}, and no printed date to compare yet."
    unknown = f", and {words.whole(n['unknown'])} cannot be told" if n["unknown"] else ""
    return (
        f"{counted(len(breweries))}: of {words.count(n['printed'], 'printed date')}, the data "
        f"support {words.whole(n['kept'])}; {words.whole(n['too long'])} "
        f"{'is' if n['too long'] == 1 else 'are'} too long{unknown}."
    )


def _shared(dates: pl.DataFrame) -> str:
    """Say which styles more than one brewery has."""
    shared = (
        dates.group_by("style")
        .agg(pl.col("brewery").n_unique())
        .filter(pl.col("brewery") > 1)["style"]
        .sort()
        .to_list()
    )
    if not shared:
        return "No style has the same name in two breweries, so none can be set side by side."
    return f"In more than one brewery: {words.listed(shared)}. Their rows stand together."


def _source(breweries: Sequence[Brewery]) -> str:
    runs = [
        f"{b.name}, run{words.NBSP}{run['run_id']} of {words.day(run['finished_at'])}"
        for b in breweries
        if b.results is not None and (run := b.results.newest_run) is not None
    ]
    return f"from {'; '.join(runs)}" if runs else "from no run yet"


def _breweries(breweries: Sequence[Brewery], dates: pl.DataFrame, source: str) -> Table:
    found = [_brewery(b, dates.filter(pl.col("brewery") == b.name)) for b in breweries]
    return Table(
        name="breweries",
        caption="Each brewery, by name",
        columns=(
            Column("Brewery"),
            Column("Newest run"),
            Column("Printed dates kept", figures=True),
            Column("Too long", figures=True),
            Column("Rows aside", figures=True),
        ),
        rows=rows(
            (
                f["brewery"],
                words.day(f["newest_run"]),
                words.of(f["kept"], f["printed"]) if f["printed"] else words.NOTHING,
                words.whole(f["too_long"]) if f["printed"] else words.NOTHING,
                words.whole(f["rows_aside"]),
            )
            for f in found
        ),
        frame=pl.DataFrame(found),
        source=source,
        empty=NO_DATES,
    )


def _brewery(brewery: Brewery, dates: pl.DataFrame) -> dict[str, Any]:
    results, n = brewery.results, _counts(dates)
    run = None if results is None else results.newest_run
    return {
        "brewery": brewery.name,
        "newest_run": None if run is None else run["finished_at"].date(),
        "printed": n["printed"],
        "kept": n["kept"],
        "too_long": n["too long"],
        "cannot_be_told": n["unknown"],
        "rows_aside": None
        if results is None
        else results.set_aside.select("file", "sheet", "row_number").unique().height,
        "problem": brewery.problem or None,
    }


def _dates(breweries: Sequence[Brewery], dates: pl.DataFrame, source: str) -> Table:
    ways = {b.name: sentences.routes(b.results) for b in breweries if b.results is not None}
    return Table(
        name="group-dates",
        caption="The newest lot of each beer and format, on the way that most of it goes",
        columns=(
            Column("Style, format"),
            Column("Brewery: beer"),
            Column("Printed, days", figures=True),
            Column("Data support, days", figures=True),
            Column("Difference, days", figures=True, wide=True),
            Column("Kept as", wide=True),
        ),
        rows=tuple(_date(d, ways[d["brewery"]][d["route"]].ends) for d in dates.rows(named=True)),
        frame=dates,
        source=source,
        empty=NO_DATES,
    )


def _date(date: dict[str, Any], kept: str) -> Row:
    why = words.sentence(f"No date: {date['reason']}") if date["reason"] else ""
    difference = words.difference(date["difference_days"])
    apart = "" if date["difference_days"] is None else f"Difference {difference}{words.NBSP}days. "
    return Row(
        (
            f"{date['style']}, {date['format'].replace(' ', words.NBSP)}",
            f"{date['brewery']}: {date['beer']}",
            words.whole(date["printed_days"]),
            words.whole(date["supported_days"]),
            difference,
            kept,
        ),
        narrow=f"{apart}{words.sentence(kept)}",
        note=why,
    )


def _oxygen(oxygen: pl.DataFrame, source: str) -> Table:
    return Table(
        name="group-oxygen",
        caption="Total package oxygen at filling, by format",
        columns=(
            Column("Format"),
            Column("Brewery"),
            Column("Lots", figures=True),
            Column("Median, ppb", figures=True),
            Column("Middle half of the lots, ppb", figures=True),
        ),
        rows=rows(
            (
                o["format"],
                o["brewery"],
                words.whole(o["lots"]),
                words.whole(o["median_ppb"]),
                words.bounds(o["lower_quartile_ppb"], o["upper_quartile_ppb"]),
            )
            for o in oxygen.rows(named=True)
        ),
        frame=oxygen,
        source=source,
        empty=NO_OXYGEN,
    )


def _chart(oxygen: pl.DataFrame) -> Chart | None:
    if oxygen.is_empty():
        return None
    said = [
        f"{o['format']}, {o['brewery']}: {words.whole(o['median_ppb'])} ppb"
        for o in oxygen.rows(named=True)
    ]
    return Chart(
        name="oxygen",
        title="Total package oxygen at filling, by format",
        summary=f"{'; '.join(said)}.",
        caption=(
            "The point is the median of the lots, the bar holds the middle half of them. Less "
            "oxygen is longer life; meters and habits of measuring differ between breweries."
        ),
        key=(Key("point", "median"), Key("band", "middle half of the lots", theme.FORECAST)),
        spec=charts.oxygen_by_format(
            oxygen.with_columns(row=pl.concat_str("format", "brewery", separator="\n"))
        ),
    )
