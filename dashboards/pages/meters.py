"""The page of the oxygen meters: their checks, what is in doubt, and what that is worth in days."""

from __future__ import annotations

import json
from math import ceil, floor
from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import meter_charts, sentences, words
from dashboards.page import Chart, Key, Page
from dashboards.pages import meter_tables

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]


def page(results: Results) -> Page:
    """Return the page of the meters."""
    tables = {
        "meters": meter_tables.meters(results),
        "doubts": meter_tables.doubts(results),
        "by_format": meter_tables.by_format(results),
        "lots": meter_tables.lots(results),
        "effects": meter_tables.effects(results),
        "pairs": meter_tables.pairs(results),
        "checks": meter_tables.checks(results),
    }
    return Page(
        file="meters.html",
        title="Meters",
        template="meters.html",
        context={
            "lead": _lead(results),
            "unchecked": _unchecked(results),
            "effect": _effect(results),
            "switch": _switch(results),
            "compared": _compared(results),
            "charts": _charts(results),
            "repeated": _repeated(results),
            "deming": _deming(results),
            **tables,
        },
        tables=tuple(tables.values()),
    )


def _lead(results: Results) -> str:
    checks, doubts = results.meter_checks, results.meter_doubts
    if checks.is_empty():
        return meter_tables.NO_CHECKS
    if doubts.is_empty():
        since = words.day(checks.select(pl.col("checked_at").min()).item())
        return f"Every meter passed every check since {since}: no reading is in doubt."
    read = {m["meter"]: m for m in results.meter_readings.rows(named=True)}
    said = [
        (
            -read.get(meter, {"in_doubt": 0})["in_doubt"],
            _doubt(spans, checks.filter(pl.col("meter") == meter).height)
            + _in_doubt(results, read.get(meter)),
        )
        for (meter,), spans in doubts.group_by("meter", maintain_order=True)
    ]
    return " ".join(words.sentence(text) for _, text in sorted(said))


def _doubt(spans: pl.DataFrame, checks: int) -> str:
    """Say of a meter how many checks it failed, when, and by how much."""
    off = pl.col("error").abs() / pl.max_horizontal("tolerance", 1e-9)
    worst = spans.sort(off, descending=True).row(0, named=True)
    failed = int(spans["failed"].sum())
    last = words.day(spans.select(pl.col("last_failed").max()).item())
    when = f"on {last}" if failed == 1 else f"the last on {last}"
    if spans["until"].null_count():
        when += ", and has not passed since"
    way = "high" if worst["error"] > 0 else "low"
    return (
        f"meter {worst['meter']} failed {words.of(failed, checks)} checks, {when}, at worst "
        f"reading {meter_tables.amount(abs(worst['error']), worst['unit'])} {way} at "
        f"{meter_tables.amount(worst['expected'], worst['unit'])}"
    )


def _in_doubt(results: Results, read: Cells | None) -> str:
    if read is None or not read["in_doubt"]:
        return "; none of its readings stands in doubt for it"
    lots = results.readings_in_doubt.filter(pl.col("meter") == read["meter"])
    return (
        f"; {words.whole(read['in_doubt'])} of its "
        f"{words.count(read['readings'], 'reading')}, on "
        f"{words.count(lots.select('lot', 'format').n_unique(), 'lot')}, "
        f"{'is' if read['in_doubt'] == 1 else 'are'} in doubt"
    )


def _unchecked(results: Results) -> str:
    """Name what no check says anything of."""
    if results.meter_checks.is_empty():
        return ""
    known = results.meter_checks["meter"].unique().to_list()
    never = results.meter_readings.filter(
        pl.col("meter").is_not_null(), ~pl.col("meter").is_in(known)
    )
    said = [
        f"meter {m['meter']} was never checked, so nothing says whether its "
        f"{words.count(m['readings'], 'reading')} can be believed."
        for m in never.rows(named=True)
    ]
    nameless = results.meter_readings.filter(pl.col("meter").is_null())
    if nameless.height:
        number = int(nameless["readings"].item())
        said.append(words.counted(number, "reading", "names no meter", "name no meter"))
    return " ".join(words.sentence(text) for text in said)


def _effect(results: Results) -> str:
    """Say what leaving the readings in doubt out does to the dates, and to the days behind them."""
    effects = results.doubt_effects
    if effects.is_empty():
        return ""
    dated = effects.filter(pl.col("date_with").is_not_null() | pl.col("date_without").is_not_null())
    if dated.is_empty():
        return "There is no best-before date that leaving them out could move."
    moved = dated.filter(pl.col("date_with").ne_missing(pl.col("date_without"))).sort(
        (pl.col("date_without") - pl.col("date_with")).abs(), descending=True, nulls_last=False
    )
    return " ".join((_moved(results, moved, dated.height), _lives(results)))


def _moved(results: Results, moved: pl.DataFrame, dates: int) -> str:
    if moved.is_empty():
        return "Leaving them out moves no best-before date."
    worst = moved.row(0, named=True)
    kept = sentences.routes(results)[worst["route"]].kept
    return (
        f"Leaving them out moves {words.of(moved.height, dates)} best-before dates, most that of "
        f"{worst['style']} in {worst['format']}, {kept}: from {_date(worst['date_with'])} to "
        f"{_date(worst['date_without'])}."
    )


def _lives(results: Results) -> str:
    """Say by how much the shelf lives move, by the temperature at which their routes end."""
    ends = {name: route.last for name, route in sentences.routes(results).items()}
    most = (
        results.doubt_effects.drop_nulls("difference_days")
        .group_by(end=pl.col("route").replace_strict(ends, return_dtype=pl.String))
        .agg(most=pl.col("difference_days").abs().max().ceil())
        .sort("most", "end")
    )
    if most.is_empty():
        return ""
    (end, days), *others = most.rows()
    said = [
        f"{words.days(days)} on routes that end at {end}",
        *(f"{words.whole(days)} at {end}" for end, days in others),
    ]
    return f"Shelf lives move by at most {words.listed(said)}."


def _date(value: int | None) -> str:
    return "no date" if value is None else words.days(value)


def _switch(results: Results) -> str:
    """Say whether the run holds the readings in doubt."""
    run = results.newest_run
    if run is None or not results.meter_readings["in_doubt"].sum():
        return ""
    if json.loads(run["settings"]).get("meters", {}).get("leave_out_suspect", False):
        return (
            "The dates and all other results leave them out, because leave_out_suspect under "
            "[meters] in the configuration says so."
        )
    return (
        "The dates and all other results hold them; leave_out_suspect = true under [meters] in "
        "the configuration leaves them out."
    )


def _compared(results: Results) -> str:
    said = []
    for pair in results.meter_pairs.rows(named=True):
        both = f"meters {pair['first_meter']} and {pair['second_meter']}"
        if pair["ratio"] is None:
            said.append(f"{both}: too few lots read by both to compare ({pair['lots']}).")
            continue
        # Judged as said, rounded outwards, so that the sentence keeps to its own numbers.
        low, high = floor(100 * pair["ratio_lower"]) / 100, ceil(100 * pair["ratio_upper"]) / 100
        if low <= 1.0 <= high:
            found = "no difference between them shows"
        else:
            way = "higher" if low > 1.0 else "lower"
            found = f"{pair['second_meter']} reads {way}"
        said.append(
            f"{both} on {words.count(pair['lots'], 'lot')} that both have read: {found}; "
            f"{pair['second_meter']} reads {words.figure(pair['ratio'], 2)} times what "
            f"{pair['first_meter']} does ({words.figure(low, 2)} to {words.figure(high, 2)})."
        )
    return " ".join(words.sentence(line) for line in said)


def _charts(results: Results) -> tuple[Chart, ...]:
    charts = []
    keys = ("meter", "standard", "unit")
    limits = {
        tuple(b[key] for key in keys): (b["limit_lower"], b["limit_upper"])
        for b in results.meter_bias.drop_nulls("limit_lower").rows(named=True)
    }
    for place, key in enumerate(results.meter_checks.select(keys).unique().sort(keys).rows()):
        meter, standard, unit = key
        part = results.meter_checks.filter(
            pl.col("meter") == meter, pl.col("standard") == standard, pl.col("unit") == unit
        )
        failed = part.filter(~pl.col("passed")).height
        dashed = [Key("dashed", "19 in 20 days' means lie between")] if key in limits else []
        said = (
            f"{words.count(part.height, 'check')}, "
            f"{words.in_letters(failed) if failed else 'none'} beyond the tolerance; "
            f"the last on {words.day(part['checked_at'].to_list()[-1])}."
        )
        charts.append(
            Chart(
                name=f"checks-{place}",
                title=f"Meter {meter}, {standard}: read less expected, {unit}",
                summary=said,
                caption=said,
                key=(
                    Key("point", "passed"),
                    Key("ring", "failed"),
                    Key("band", "tolerance", meter_charts.HUE),
                    *dashed,
                ),
                spec=meter_charts.checks(part, unit, limits.get(key, ())),
            )
        )
    return tuple(charts)


def _repeated(results: Results) -> tuple[str, ...]:
    """Return what repeats of a standard show, in a statistician's words."""
    return tuple(
        f"Meter {b['meter']}, {b['standard']}, {b['unit']}: SD within a day "
        f"{words.figure(b['short_term_sd'], 2)}, of the days' means "
        f"{words.figure(b['between_sd'], 2)}, limits {words.figure(b['limit_lower'], 2)} to "
        f"{words.figure(b['limit_upper'], 2)}."
        for b in results.meter_bias.drop_nulls("short_term_sd").rows(named=True)
    )


def _deming(results: Results) -> tuple[str, ...]:
    """Return the line through two meters' log ppb, in a statistician's words."""
    return tuple(
        f"Log ppb of {p['second_meter']} on {p['first_meter']}: slope {_bounded(p, 'slope')}, "
        f"intercept {_bounded(p, 'intercept')}."
        for p in results.meter_pairs.drop_nulls("slope").rows(named=True)
    )


def _bounded(cells: Cells, name: str) -> str:
    value, low, high = (words.figure(cells[name + end], 2) for end in ("", "_lower", "_upper"))
    return f"{value} ({low} to {high})"
