"""The page of the oxygen meters: their checks, what is in doubt, and what that is worth in days."""

from __future__ import annotations

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
            "effect": _effect(results),
            "compared": _compared(results),
            "charts": _charts(results),
            "left_out": _left_out(results),
            **tables,
        },
        tables=tuple(tables.values()),
    )


def _lead(results: Results) -> str:
    checks, doubts = results.meter_checks, results.meter_doubts
    if checks.is_empty():
        return meter_tables.NO_CHECKS
    since = words.day(checks.select(pl.col("checked_at").min()).item())
    if doubts.is_empty():
        return f"Every meter passed every check since {since}: no reading is in doubt."
    said = [
        _doubt(doubt) for doubt in doubts.sort("first_failed", descending=True).rows(named=True)
    ]
    readings = words.count(int(doubts["readings"].sum()), "reading")
    lots = results.readings_in_doubt.select("lot", "format").n_unique()
    return (
        f"{words.sentence(said[0])} Since {since} {readings} of {words.count(lots, 'lot')} "
        f"{'is' if readings == '1 reading' else 'are'} in doubt."
    )


def _doubt(doubt: Cells) -> str:
    """Say of a span which meter failed, when, and by how much."""
    first, last = words.day(doubt["first_failed"]), words.day(doubt["last_failed"])
    when = (
        f"on {first}"
        if first == last
        else f"{words.count(doubt['failed'], 'time')} from {first} to {last}"
    )
    if doubt["until"] is None:
        when += " and has not passed since"
    way = "high" if doubt["error"] > 0 else "low"
    return (
        f"meter {doubt['meter']} failed its check {when}, at worst reading "
        f"{meter_tables.amount(abs(doubt['error']), doubt['unit'])} {way} at "
        f"{meter_tables.amount(doubt['expected'], doubt['unit'])}"
    )


def _effect(results: Results) -> str:
    """Say what leaving the readings in doubt out does to the dates."""
    effects = results.doubt_effects
    if effects.is_empty():
        return ""
    moved = effects.filter(pl.col("date_with").ne_missing(pl.col("date_without"))).sort(
        (pl.col("date_without") - pl.col("date_with")).abs(), descending=True, nulls_last=False
    )
    if moved.is_empty():
        return "Leaving them out moves no best-before date."
    worst = moved.row(0, named=True)
    kept = sentences.routes(results)[worst["route"]].kept
    return (
        f"Leaving them out moves {words.count(moved.height, 'best-before date')}, most that of "
        f"{worst['style']} in {worst['format']}, {kept}: from {_date(worst['date_with'])} to "
        f"{_date(worst['date_without'])}."
    )


def _date(value: int | None) -> str:
    return "no date" if value is None else words.days(value)


def _left_out(results: Results) -> str:
    if results.meter_doubts.is_empty():
        return ""
    return (
        "The dates hold these readings unless the configuration says otherwise: leave_out_suspect "
        "under [meters] leaves them out of every result."
    )


def _compared(results: Results) -> str:
    said = []
    for pair in results.meter_pairs.rows(named=True):
        both = f"meters {pair['first_meter']} and {pair['second_meter']}"
        if pair["ratio"] is None:
            said.append(f"{both}: too few lots read by both to compare ({pair['lots']}).")
            continue
        low, high = pair["ratio_lower"], pair["ratio_upper"]
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
    keys = results.meter_checks.select("meter", "standard", "unit").unique().sort(pl.all())
    for place, (meter, standard, unit) in enumerate(keys.iter_rows()):
        part = results.meter_checks.filter(
            pl.col("meter") == meter, pl.col("standard") == standard, pl.col("unit") == unit
        )
        failed = part.filter(~pl.col("passed")).height
        charts.append(
            Chart(
                name=f"checks-{place}",
                title=f"Meter {meter}, {standard}: read less expected, {unit}",
                summary=(
                    f"{words.count(part.height, 'check')}, {words.in_letters(failed)} beyond the "
                    f"tolerance; the last on {words.day(part['checked_at'].to_list()[-1])}."
                ),
                caption=(
                    "The band is the tolerance. A point beyond it is a failed check; a square is "
                    "the meter as it was left after an adjustment."
                ),
                key=(
                    Key("point", "passed"),
                    Key("ring", "failed"),
                    Key("band", "tolerance", meter_charts.HUE),
                ),
                spec=meter_charts.checks(part, unit),
            )
        )
    return tuple(charts)
