"""The page On the way: which stage or week takes most of a life, and what loggers read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import route_charts, sentences, words
from dashboards.page import Chart, Column, Key, Page, Row, Table, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

NOTHING = (
    "Nothing to say of the way yet: that takes an estimate and a route; the tables routes, "
    "route_stages, samples and tastings fill this."
)
_PLACE = ["style", "format", "route"]


def page(results: Results) -> Page:
    """Return the page On the way."""
    by_route = _use(results)
    trips = _trips(results)
    cupboards = _cupboards(results)
    return Page(
        file="routes.html",
        title="On the way",
        template="routes.html",
        context={
            "lead": _lead(results),
            "off": _off(results),
            "routes": [
                (table, chart) for table, chart in zip(by_route, _charts(results), strict=True)
            ],
            "trips": trips,
            "cupboards": cupboards,
        },
        tables=(*by_route, trips, cupboards),
    )


def _planned(results: Results) -> pl.DataFrame:
    """Return what stages take as planned, with their names."""
    named = results.routes.select("route", "stage_no", "stage")
    return results.route_use.filter(pl.col("variant") == "planned").join(
        named, on=["route", "stage_no"], how="left", maintain_order="left"
    )


def _stage(stage: Cells) -> str:
    name = stage["stage"] or f"stage {stage['stage_no']}"
    return f"{name} at {words.temperature(stage['temp_c'])}"


def _share(stage: Cells) -> str:
    share, *bounds = (
        words.whole(100 * stage[f"life_share{bound}"]) for bound in ("", "_lower", "_upper")
    )
    return f"{share} ({bounds[0]} to {bounds[1]})"


def _lead(results: Results) -> list[str]:
    """Return the stage that takes most a day, and the logged week that cost most."""
    planned = _planned(results).filter("most_per_day", pl.col("share_per_day") > 0.0)
    worst = planned.sort(["share_per_day", *_PLACE], descending=[True, False, False, False])
    first = next(worst.iter_rows(named=True), None)
    if first is None:
        return [NOTHING]
    stage = (
        f"No day costs more than one on '{first['route']}', {_stage(first)}: it takes "
        f"{words.figure(100 * first['share_per_day'], 1)}{words.NBSP}% of the life of "
        f"{first['style']} in {first['format']}, and the stage in all {_share(first)}"
        f"{words.NBSP}% of it."
    )
    week = next(_costliest(results).iter_rows(named=True), None)
    if week is None:
        return [stage, "No logger has been on a route yet: the table temperature_log fills this."]
    return [stage, _week(week)]


def _costliest(results: Results) -> pl.DataFrame:
    """Return, of each trip, the style and format to which its hottest week cost most."""
    logged = results.route_lives.filter(pl.col("variant") == "logged")
    return (
        logged.sort(["hottest_cost_days", *_PLACE], descending=[True, False, False, False])
        .group_by("route", "logger", "begins_at", maintain_order=True)
        .first()
    )


def _week(week: Cells) -> str:
    days = words.days(week["hottest_days"])
    span = "week" if round(week["hottest_days"]) == 7 else days  # noqa: PLR2004 - a week
    return (
        f"The hottest {span} that a logger saw, on '{week['route']}' from "
        f"{words.day(week['hottest_from'])}: {_celsius(week['hottest_c'])} where "
        f"{_celsius(week['hottest_planned_c'])} was planned; it cost {week['style']} in "
        f"{week['format']} {_cost(week, 'hottest_cost_days')} days of life."
    )


def _celsius(value: float) -> str:
    return f"{words.figure(value, 1)}{words.NBSP}°C"


def _cost(row: Cells, name: str) -> str:
    """Return days to a tenth with their bounds: a hot week may cost less than a day."""
    middle, low, high = (words.figure(row[f"{name}{b}"], 1) for b in ("", "_lower", "_upper"))
    return f"{middle} ({low} to {high})"


def _use(results: Results) -> tuple[Table, ...]:
    """Return, for each route, what its stages take of each life, a row a style and format."""
    planned = _planned(results)
    lives = {
        (row["variant"], *(row[name] for name in _PLACE)): row
        for row in results.route_lives.filter(pl.col("variant") != "logged").rows(named=True)
    }
    return tuple(
        _table(results, str(route), part, lives, place)
        for place, ((route,), part) in enumerate(
            planned.group_by("route", maintain_order=True), start=1
        )
    )


def _table(
    results: Results,
    route: str,
    part: pl.DataFrame,
    lives: dict[tuple[str, ...], Cells],
    place: int,
) -> Table:
    stages = part.unique("stage_no", maintain_order=True).sort("stage_no").rows(named=True)
    rows = []
    for (style, format_), cell in part.group_by(["style", "format"], maintain_order=True):
        plan = lives["planned", str(style), str(format_), route]
        summer = lives.get(("summer", str(style), str(format_), route))
        shares = [_share(stage) for stage in cell.sort("stage_no").rows(named=True)]
        kinetic = words.figure(plan["mean_kinetic_c"], 1)
        energy = f"{words.whole(plan['energy_kj_mol'])}{words.NBSP}kJ/mol, {_source(plan)}"
        dates = [words.whole(plan["best_before_days"]), _summer(summer)]
        said = "; ".join(
            f"{_stage(stage)}: {share}" for stage, share in zip(stages, shares, strict=True)
        )
        rows.append(
            Row(
                (f"{style}, {format_}", *shares, kinetic, energy, *dates),
                narrow=words.sentence(f"% of the life: {said}; with {energy}"),
            )
        )
    return Table(
        name=f"routes-{place}",
        caption=f"{sentences.routes(results)[route].ends}: what each stage takes of the life",
        columns=(
            Column("Style, format"),
            *(Column(f"{_stage(stage)}, %", figures=True, wide=True) for stage in stages),
            Column("As one temperature, °C", figures=True),
            Column("With an energy of", wide=True),
            Column("Date as planned, days", figures=True),
            Column("In a summer (assumed), days", figures=True),
        ),
        rows=tuple(rows),
        frame=part.drop("run_id"),
        source=run_source(results),
        empty=NOTHING,
    )


def _source(life: Cells) -> str:
    return "own tastings" if life["energy_source"] == "fitted" else "partly assumed"


def _summer(life: Cells | None) -> str:
    """Say the date of an assumed summer with its temperature; a dash where none is assumed."""
    if life is None:
        return words.NOTHING
    days = life["best_before_days"]
    return f"{'none' if days is None else words.whole(days)} at {_warmth(life['last_temp_c'])}"


def _warmth(value: float) -> str:
    return words.temperature(round(value, 1))


def _trips(results: Results) -> Table:
    """Return each trip with the life that its hottest week cost most."""
    names = {
        (row["route"], row["stage_no"]): row["stage"] for row in results.routes.rows(named=True)
    }
    logged = results.route_lives.filter(pl.col("variant") == "logged")
    shown = _costliest(results).sort(
        "begins_at", "route", "logger", descending=[True, False, False]
    )
    return Table(
        name="routes-logged",
        caption="Logged against planned: the beer to which each trip's hottest week cost most",
        columns=(
            Column("Logger, from"),
            Column("Route"),
            Column("Days", figures=True, wide=True),
            Column("Read, °C", figures=True),
            Column("Planned, °C", figures=True),
            Column("Beer", wide=True),
            Column("Hottest week cost, days", figures=True),
            Column("Life against plan, days", figures=True, wide=True),
            Column("Date so (as planned), days", figures=True),
        ),
        rows=tuple(
            Row(
                (
                    f"{row['logger']}, {words.day(row['begins_at'])}",
                    f"{row['route']}, {_placed(row, results, names)}",
                    words.figure(row["logged_days"], 1),
                    words.figure(row["mean_kinetic_c"], 1),
                    words.figure(row["planned_kinetic_c"], 1),
                    f"{row['style']}, {row['format']}",
                    _cost(row, "hottest_cost_days"),
                    _cost(row, "difference_days"),
                    _dates(row),
                ),
                narrow=f"{row['style']}, {row['format']}.",
            )
            for row in shown.rows(named=True)
        ),
        frame=logged.drop("run_id"),
        source=run_source(results),
        empty=(
            "No logger has been on a route: the table temperature_log, with a route and best with "
            "the lot it lay with, fills this."
        ),
    )


def _dates(row: Cells) -> str:
    """Return the date as logged and as planned, with where the route ends."""
    so, planned = _date(row["best_before_days"]), _date(row["planned_best_before_days"])
    return f"{so} ({planned}) at {_warmth(row['last_temp_c'])}"


def _date(days: int | None) -> str:
    return "none" if days is None else words.whole(days)


def _placed(row: Cells, results: Results, names: dict[tuple[str, int], str | None]) -> str:
    """Say where on its route a trip is taken to lie."""
    if row["placed_by"] == "lot":
        return f"from day {words.whole(row['from_day'])} of its lot"
    stages = results.routes.filter(pl.col("route") == row["route"]).sort("stage_no")
    begins = 0.0
    for stage in stages.rows(named=True):
        if begins == row["from_day"]:
            name = names[row["route"], stage["stage_no"]] or f"stage {stage['stage_no']}"
            return f"from '{name}' on (assumed)"
        begins += stage["days"] or 0.0
    return f"from day {words.whole(row['from_day'])} on (assumed)"


def _cupboards(results: Results) -> Table:
    places = results.place_temperatures
    return Table(
        name="routes-cupboards",
        caption="Cupboards and rooms: what loggers read beside what the samples say",
        columns=(
            Column("Place"),
            Column("Samples say, °C", figures=True),
            Column("It was, °C", figures=True),
            Column("Lowest to highest, °C", figures=True, wide=True),
            Column("Readings", figures=True, wide=True),
            Column("100 days were worth, days", figures=True),
        ),
        rows=tuple(
            Row(
                (
                    row["place"],
                    words.NOTHING
                    if row["storage_temp_c"] is None
                    else words.plain(row["storage_temp_c"]),
                    words.figure(row["mean_kinetic_c"], 1) + (" (off)" if row["off"] else ""),
                    f"{words.figure(row['lowest_c'], 1)} to {words.figure(row['highest_c'], 1)}",
                    words.whole(row["readings"]),
                    words.whole(row["worth_days"]),
                )
            )
            for row in places.rows(named=True)
        ),
        frame=places.drop("run_id"),
        source=run_source(results),
        empty=(
            "No logger has stood in a cupboard: the table temperature_log, with the place as the "
            "samples name it, fills this."
        ),
    )


def _off(results: Results) -> list[str]:
    """Name each place that was off, with what that does to the ages of its samples."""
    return [
        f"{row['place']} was at {_celsius(row['mean_kinetic_c'])} where "
        f"{words.count(row['samples'], 'sample')} say {words.temperature(row['storage_temp_c'])}: "
        f"100{words.NBSP}days there were worth {words.days(row['worth_days'])}. The dates count "
        f"them as 100; beer there {_then(row)} Write the true temperature into the table samples."
        for row in results.place_temperatures.filter("off").rows(named=True)
    ]


def _then(row: Cells) -> str:
    older = row["worth_days"] > 100.0  # noqa: PLR2004 - of a hundred days
    return (
        "aged more than was counted, so that lives come out too short."
        if older
        else "aged less than was counted, so that lives come out too long."
    )


def _charts(results: Results) -> list[Chart]:
    ways = sentences.routes(results)
    charts: list[Chart] = []
    for route in _planned(results)["route"].unique(maintain_order=True):
        plan = results.routes.filter(pl.col("route") == route).sort("stage_no")
        stages = [(s["days"], s["temp_c"]) for s in plan.rows(named=True)]
        last = results.route_lives.filter(pl.col("route") == route, pl.col("variant") == "summer")[
            "last_temp_c"
        ].to_list()
        summer = [*stages[:-1], (stages[-1][0], last[0])] if last else []
        read = results.route_trips.filter(pl.col("route") == route)
        number = read.select("logger", "begins_at").n_unique() if read.height else 0
        logged = f" {words.count(number, 'trip')} of loggers beside it." if number else ""
        keys = [Key("step", "as planned")]
        keys += [Key("dashed", "a summer, assumed", route_charts.SUMMER)] if summer else []
        keys += [Key("line", "a logger, with its extremes", route_charts.LOGGED)] if number else []
        charts.append(
            Chart(
                name=f"way-{len(charts)}",
                title=f"Temperature on '{route}'",
                summary=f"{ways[str(route)].stages}.{logged}",
                caption="The last stage lasts until the beer is drunk.",
                key=tuple(keys),
                spec=route_charts.way(stages, summer, read),
            )
        )
    return charts
