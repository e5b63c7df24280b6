"""A page for each style: what its dates mean, the days, and the tastings that show why."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import charts, findings, sentences, theme, words
from dashboards.page import Chart, Key, Page, style_files
from dashboards.pages import style_effects, style_levers, style_policy, style_tables

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dashboards.results import Results

Cells = dict[str, Any]


def pages(results: Results) -> tuple[Page, ...]:
    """Return the page of every style that has a lot."""
    colours = theme.format_colours(results)
    return tuple(
        _page(results, style, file, colours) for style, file in style_files(results).items()
    )


def _page(results: Results, style: str, file: str, colours: Mapping[str, str]) -> Page:
    stem = file.removesuffix(".html")
    tables = {
        **style_tables.tables(results, style, stem),
        **style_effects.tables(results, style, stem),
        "levers": style_levers.table(results, style, stem),
        "choices": style_policy.table(results, style, stem),
    }
    found = results.styles.filter(pl.col("style") == style)
    counts = next(found.iter_rows(named=True), None)
    run = results.newest_run
    ways = sentences.routes(results)
    on = dict.fromkeys(results.dates.filter(pl.col("style") == style)["route"])
    return Page(
        file=file,
        title=style.capitalize(),
        template="style.html",
        context={
            "lead": _lead(results, style, counts),
            "dated": tables["dates"].frame["best_before_days"].is_not_null().any(),
            "evidence": sentences.evidence(counts) if counts else "",
            "cautions": sentences.cautions(results, style),
            "ways": [ways[route] for route in on],
            "policy_said": style_policy.said(results, style),
            "shelf": style_policy.shelf(results, style),
            "lives": lives(results, style, colours),
            "curve": _curve(results, style, counts),
            "no_curve": _no_curve(counts),
            "arms_chart": _arms(results, style),
            "oxygen_chart": _oxygen(results, style, colours),
            "gap": findings.gap(results, style),
            "real_time": findings.real_time(results, style),
            "curvature": findings.curvature(results),
            "oxygen_said": findings.oxygen(results, style),
            "levers_said": style_levers.said(results, style),
            "trials_said": findings.trials(results, style),
            "scores_said": findings.scores(results, style),
            "readings_said": findings.readings(results, style),
            "sure": words.percent(run["confidence"]) if run else "",
            "counts": _counts(counts),
            "bent": _bent(results),
            **tables,
        },
        tables=tuple(tables.values()),
    )


def _lead(results: Results, style: str, counts: Cells | None) -> list[str]:
    """Return a sentence for each route that carries most of a format, then formats without date."""
    cells = results.dates.filter(pl.col("style") == style)
    if counts and counts["reason"]:
        unsafe = (cells["binding_cause"] == "safety").any()
        return [
            f"Not estimated, because {words.stopped(counts['reason'])}",
            *([f"No date: {words.NO_VALIDATION}"] if unsafe else []),
        ]
    ways = sentences.routes(results)
    main = results.beer_dates.filter(pl.col("style") == style, "main_route")
    chosen = cells.join(main.select("format", "route").unique(), on=["format", "route"], how="semi")
    dated = chosen.filter(pl.col("best_before_days").is_not_null()).sort("route", "format")
    said = [
        sentences.meaning(
            ways[str(route)],
            group.row(0, named=True),
            words.listed(
                [
                    f"{c['format']} at {words.days(c['best_before_days'])}"
                    for c in group.rows(named=True)
                ]
            ),
        )
        for (route, _, _), group in dated.group_by(
            ["route", "share_rejected", "confidence"], maintain_order=True
        )
    ]
    undated = chosen.filter(pl.col("best_before_days").is_null()).sort("format", "route")
    said += [
        words.sentence(
            f"No date for {c['format']} {ways[c['route']].kept}: "
            f"{c['reason'] or words.cause(c['binding_cause'])}"
        )
        for c in undated.iter_rows(named=True)
    ]
    return said or ["No date: no lot of this style goes on a known route."]


def _no_curve(counts: Cells | None) -> str:
    why = words.stopped(counts["reason"] or "") if counts else ""
    begin = f"Not estimated, because {why} " if why else ""
    return f"{begin}Verdicts on aged samples fill this: the tables samples and tastings."


def _counts(counts: Cells | None) -> str:
    if counts is None:
        return "No verdicts on this style."
    return (
        f"This style: {words.whole(counts['brackets'])} series of verdicts (one assessor, lot and "
        f"storage) that bracket an age, {words.whole(counts['uninformative'])} that say nothing; "
        f"{words.count(counts['not_sure'], 'verdict')} “not sure”, left out; "
        f"{words.whole(counts['fresh_rejected'])} of "
        f"{words.count(counts['fresh_verdicts'], 'verdict')} on blind fresh controls were "
        f"rejections, false alarms."
    )


def _bent(results: Results) -> str:
    """Return the test of a curved Arrhenius line in a statistician's words."""
    found = next(results.curvature.iter_rows(named=True), None)
    if found is None:
        return "Curvature of the Arrhenius line: not tested; it takes three storage temperatures."
    return (
        f"Curvature of the Arrhenius line: likelihood ratio {words.figure(found['statistic'], 2)}, "
        f"1{words.NBSP}degree of freedom, p{words.NBSP}={words.NBSP}"
        f"{words.figure(found['p_value'])}; life at {findings.COLD} by the curve "
        f"{words.figure(found['ratio_cold'], 2)} times that by the line."
    )


def lives(results: Results, style: str, colours: Mapping[str, str]) -> Chart | None:
    """Return the shelf life of a style by format and route, with bounds and the dates."""
    ways = sentences.routes(results)
    temperatures = pl.col("route").replace_strict(
        {name: way.last for name, way in ways.items()}, return_dtype=pl.String
    )
    label = pl.concat_str("format", pl.lit("\n"), "route", pl.lit(", "), temperatures)
    cells = results.dates.filter(
        pl.col("style") == style, pl.col("shelf_life_days_lower").is_not_null()
    ).with_columns(row=label)
    if cells.is_empty():
        return None
    printed = (
        results.beer_dates.filter(pl.col("style") == style, pl.col("printed_days").is_not_null())
        .with_columns(row=label)
        .join(cells.select("row"), on="row", how="semi")
    )
    shares = " or ".join(words.glasses(s) for s in cells["share_rejected"].unique().sort())
    sure = " or ".join(words.percent(s) for s in cells["confidence"].unique().sort())
    spans = "; ".join(
        f"{c['format']}, {ways[c['route']].ends}: {_span(c)}" for c in cells.iter_rows(named=True)
    )
    return Chart(
        name="lives",
        title=f"Days until {shares} is rejected for age",
        summary=f"Best estimate and bounds, days. {spans}.",
        caption="All numbers stand in the table above.",
        key=(
            Key("point", "best estimate"),
            Key("band", f"lower to upper bound, each {sure} sure"),
            Key("upright thick", "date the data support"),
            Key("upright", "printed today"),
        ),
        spec=charts.lives(cells, printed, colours),
    )


def _span(cell: Cells) -> str:
    bounds = words.bounds(cell["shelf_life_days_lower"], cell["shelf_life_days_upper"])
    return f"{words.whole(cell['shelf_life_days'])}, {bounds}"


def _curve(results: Results, style: str, counts: Cells | None) -> Chart | None:
    of_style = pl.col("style") == style
    curve = results.curves.filter(of_style)
    run = results.newest_run
    if curve.is_empty() or run is None or counts is None:
        return None
    share = words.glasses(run["share_rejected"])
    drawn = curve.filter(pl.col("share_rejected") >= run["share_rejected"])
    reached = findings.age_of_share(results, style)
    when = (
        f"The curve reaches {share} at {words.days(reached)} at {words.temperature(20)}."
        if not drawn.is_empty() and reached is not None
        else f"The curve does not reach {share} within the ages drawn."
    )
    sure = words.percent(run["confidence"])
    band = findings.of_style(results.turnbull_bands, style)
    # A band from nothing to all at every age says nothing; drawn, it would look like a finding.
    bound = band.filter((pl.col("share_lower") > 0) | (pl.col("share_upper") < 1)).height > 0
    return Chart(
        name="curve",
        title=f"Share rejected for age by days at {words.temperature(20)}",
        summary=(
            f"{when} Rejected in all: {words.of(counts['rejected'], counts['verdicts'])} verdicts."
        ),
        caption=(
            f"{when} Points and steps show all that tasters rejected, by mistake too, which the "
            f"curve leaves out; the counts stand in the list below."
            + ("" if bound else " Too few lots to say what other lots would give.")
        ),
        key=(
            Key("line", "expected", theme.FORECAST),
            Key("band", f"not known; each side {sure} sure", theme.FORECAST),
            Key("step", "straight from the verdicts"),
            Key("dashed", "rises somewhere here"),
            *(
                [Key("dotted", f"other lots, these tasters; each side {sure} sure")]
                if bound
                else []
            ),
            Key("point", "a pull, all its verdicts"),
        ),
        spec=charts.rejected_by_age(
            curve,
            results.turnbull.filter(of_style),
            band if bound else band.clear(),
            results.pulls.filter(of_style),
            run["share_rejected"],
        ),
    )


def _arms(results: Results, style: str) -> Chart | None:
    arms = results.arms.filter(pl.col("style") == style, pl.col("verdicts") > 0)
    if arms.is_empty():
        return None
    said = "; ".join(
        f"{words.temperature(a['storage_temp_c'])}: {a['rejected']} of {a['verdicts']} rejected"
        + (
            f", {words.whole(a['expected_rejected'])} expected"
            if a["expected_rejected"] is not None
            else ""
        )
        for a in arms.iter_rows(named=True)
    )
    return Chart(
        name="arms",
        title="Rejected and expected, by storage temperature",
        summary=f"{said}.",
        caption=(
            "Where the two lie far apart, the warm cupboard does not tell of the trade's "
            "temperature."
        ),
        key=(Key("point", "rejected"), Key("upright thick", "expected", theme.FORECAST)),
        spec=charts.warm_and_cold(arms),
    )


def _oxygen(results: Results, style: str, colours: Mapping[str, str]) -> Chart | None:
    lots = results.lot_oxygen.filter(
        pl.col("style") == style, pl.col("total_oxygen_ppb").is_not_null()
    )
    if lots.is_empty():
        return None
    spans = lots.group_by("format").agg(
        low=pl.col("total_oxygen_ppb").min(), high=pl.col("total_oxygen_ppb").max(), n=pl.len()
    )
    said = "; ".join(
        f"{s['format']}: {words.whole(s['low'])} to {words.whole(s['high'])} ppb in "
        f"{words.count(s['n'], 'lot')}"
        for s in spans.sort("format").iter_rows(named=True)
    )
    return Chart(
        name="oxygen",
        title="Total package oxygen at filling, each lot",
        summary=f"Lowest to highest lot. {said}.",
        caption=f"Lowest to highest lot. {said}.",
        key=(),
        spec=charts.oxygen_by_lot(lots, colours),
    )
