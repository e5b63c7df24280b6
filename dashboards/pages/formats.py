"""The page of formats apart: how many days lie between them, of what, and what would close it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import findings, format_charts, sentences, theme, words
from dashboards.page import Chart, Key, Page
from dashboards.pages import formats_tables, new_format

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dashboards.results import Results

Cells = dict[str, Any]

NO_GAP = (
    "No days to compare yet: that takes lots of one style in two formats that go on one route, and "
    "verdicts on aged beer of it; the tables lots, samples and tastings fill this."
)
PARTS = {
    "ingress": "what the closures let in",
    "filling": "the oxygen at filling",
    "rest": "what oxygen does not explain",
}


def page(results: Results) -> Page:
    """Return the page of formats apart."""
    main = formats_tables.on_main_route(results)
    others = results.format_gaps.join(main, on=formats_tables.GAP, how="anti")
    closes = main.filter(pl.col("closed_days").is_not_null(), sure())
    tables = {
        "gaps": formats_tables.gaps(results, main, "formats-gaps"),
        "other_routes": formats_tables.gaps(results, others, "formats-gaps-other-routes"),
        "closing": formats_tables.closing(results, closes),
        "ratios": formats_tables.ratios(results),
        "ingress": formats_tables.ingress(results),
    }
    run = results.newest_run
    return Page(
        file="formats.html",
        title="Formats apart",
        template="formats.html",
        context={
            "lead": _lead(results, main),
            "assumed": _assumed(main),
            "charts": _charts(results, main),
            "ratios_said": _ratios(results),
            "new": new_format.links(results),
            "sure": words.percent(run["confidence"]) if run else "",
            **tables,
        },
        tables=tuple(tables.values()),
    )


def sure() -> pl.Expr:
    """Tell which gaps are surely longer than nothing, by their bound as it is said."""
    return pl.col("gap_days_lower").floor() > 0


def _lead(results: Results, main: pl.DataFrame) -> list[str]:
    """Return the gap that matters most, taken apart, and what would close it."""
    ranked = main.sort(
        sure(),
        pl.col("gap_days") / pl.col("shelf_life_days"),
        "style",
        "format",
        "other_format",
        "route",
        descending=[True, True, False, False, False, False],
    )
    first = next(ranked.iter_rows(named=True), None)
    if first is None:
        return [NO_GAP]
    kept = sentences.routes(results)[first["route"]].kept
    pair = f"in {first['format']} than in {first['other_format']}"
    bounds = words.bounds(first["gap_days_lower"], first["gap_days_upper"])
    style = f"{'An' if first['style'][:1] in 'aeiou' else 'A'} {first['style']}"
    if first["gap_days_lower"] < 1.0:
        too_few = (
            f"Too few to say that any style keeps longer in one format than in another. The widest "
            f"gap: {first['style']}, {words.days(first['gap_days'])} ({bounds}) longer {pair}, "
            f"{kept}."
        )
        return [too_few]
    apart = f"{style} keeps {words.days(first['gap_days'])} ({bounds}) longer {pair}, {kept}."
    said = [f"{apart} {_parts(first)}"]
    return [*said, _closing(first)] if first["closed_days"] is not None else said


def _parts(gap: Cells) -> str:
    """Say what each part accounts for, the largest first, and what goes the other way."""
    parts = sorted(PARTS, key=lambda name: -gap[f"{name}_days"])
    days = {name: round(gap[f"{name}_days"]) for name in parts}
    gives = words.listed(
        [f"{PARTS[name]} for {words.days(days[name])}" for name in parts if days[name] > 0]
    )
    takes = words.listed(
        [f"{PARTS[name]} takes {words.days(-days[name])}" for name in parts if days[name] < 0]
    )
    accounts = gives.replace(" for ", " accounts for ", 1)
    return words.sentence("; ".join(part for part in (accounts, takes and f"{takes} away") if part))


def _closing(gap: Cells) -> str:
    """Say what the format that keeps shorter would gain with less oxygen."""
    steps = formats_tables.steps(gap)
    bounds = words.bounds(gap["closed_days_lower"], gap["closed_days_upper"])
    return (
        f"To close it, bring {gap['other_format']} {words.listed(steps)}: that would gain "
        f"{words.days(gap['closed_days'])} ({bounds})."
    )


def _assumed(main: pl.DataFrame) -> str:
    """Name the styles whose reaction to oxygen is mostly assumed; nothing where none is."""
    styles = main.filter(pl.col("exponent_source") == "prior")["style"].unique().sort().to_list()
    if not styles:
        return ""
    return (
        f"How strongly {words.listed(styles)} react{'s' if len(styles) == 1 else ''} to oxygen is "
        "mostly assumed, and so is what filling and ingress account for. The days between two "
        "formats that were both tasted are not."
    )


def _charts(results: Results, main: pl.DataFrame) -> tuple[Chart, ...]:
    """Return the gap of each style and its parts, for two formats that were both tasted."""
    colours = theme.format_colours(results)
    ways = sentences.routes(results)
    pairs = main.filter(pl.col("rest_source") == "fitted").with_columns(
        pair=pl.concat_list(
            pl.min_horizontal("format", "other_format"),
            pl.max_horizontal("format", "other_format"),
        )
    )
    return tuple(
        _chart(f"gap-{place}", part, ways[str(route)], colours)
        for place, ((_, route), part) in enumerate(
            pairs.group_by("pair", "route", maintain_order=True)
        )
    )


def _chart(
    name: str, part: pl.DataFrame, way: sentences.Route, colours: Mapping[str, str]
) -> Chart:
    longest = part.sort("gap_days", descending=True).row(0, named=True)
    one, other = longest["format"], longest["other_format"]
    said = "; ".join(
        f"{g['style']}: {words.whole(g['gap_days'])} longer in {g['format']}, of it filling "
        f"{words.whole(g['filling_days'])}, ingress {words.whole(g['ingress_days'])}, the rest "
        f"{words.whole(g['rest_days'])}"
        for g in part.rows(named=True)
    )
    return Chart(
        name=name,
        title=f"Days between {one} and {other}, {way.kept}",
        summary=f"Days. {said}.",
        caption=(
            "A bar points to the format in whose favour it is and has its colour. The thin line is "
            "what is not known. The three parts add up to the gap."
        ),
        key=(
            Key("band", f"in favour of {one}", colours[one]),
            Key("band", f"in favour of {other}", colours[other]),
            Key("point", "best estimate"),
        ),
        spec=format_charts.gaps(part, one, other, colours),
    )


def _ratios(results: Results) -> list[str]:
    """Say how much more oxygen one format is filled with than another, where pairs are enough."""
    return [
        words.sentence(
            f"{_on_line(r['format'], r['line'])} holds {words.figure(r['ratio'], 2)} times the "
            f"oxygen of {_on_line(r['other_format'], r['other_line'])} "
            f"({words.figure(r['ratio_lower'], 2)} to {words.figure(r['ratio_upper'], 2)}, "
            f"{words.count(r['pairs'], 'pair')})"
            + (f": {findings.TOO_FEW} that they differ" if r["ratio_lower"] <= 1.0 else "")
        )
        for r in results.format_ratios.drop_nulls("ratio_lower").rows(named=True)
    ]


def _on_line(format_: str, line: str | None) -> str:
    return format_ if line is None else f"{format_} from the line {line}"
