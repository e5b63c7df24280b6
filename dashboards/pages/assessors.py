"""The page of the assessors, by code: their errors, and who moves. No names, no ranks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from dashboards import assessor_charts, theme, words
from dashboards.page import Chart, Key, Page
from dashboards.pages import assessor_days, assessor_tables

if TYPE_CHECKING:
    from dashboards.results import Results

VERDICT = "verdict"
_MOVING = ("drifts", "may drift")


def page(results: Results) -> Page:
    """Return the page of the assessors."""
    tables = {
        "errors": assessor_tables.errors(results),
        "rest": assessor_tables.with_the_rest(results),
        "quarters": assessor_tables.quarters(results),
        "days": assessor_days.table(results),
    }
    return Page(
        file="assessors.html",
        title="Assessors",
        template="assessors.html",
        context={
            "lead": _lead(results),
            "alike": _alike(results),
            "lost": _lost(results),
            "moving": _moving(results),
            "measure": _measure(results),
            "days_lead": assessor_days.lead(results),
            "error_charts": _error_charts(results),
            "drift_charts": _drift_charts(results),
            **tables,
        },
        tables=tuple(tables.values()),
    )


def _lead(results: Results) -> str:
    found = results.assessors
    if found.is_empty():
        return assessor_tables.NOBODY
    fresh, wrong, aged, missed = (
        int(found[name].sum())
        for name in ("fresh_tasted", "fresh_rejected", "aged_tasted", "aged_accepted")
    )
    glasses = words.count(int(found["glasses"].sum()), "glass")
    said = [f"{words.count(found.height, 'assessor')} tasted {glasses} in all"]
    if fresh:
        said.append(f"rejected {words.of(wrong, fresh)} glasses of blind fresh beer")
    if aged:
        said.append(f"let {words.of(missed, aged)} of beer known to be aged pass")
    return f"{words.listed(said)}."


def _alike(results: Results) -> str:
    pairs = int(results.alike_names["pairs"].sum())
    if not pairs:
        return ""
    counted = words.counted(pairs, "pair", "of names looks", "of names look")
    return words.sentence(
        f"{counted} like one person written two ways. Nothing was joined: stalecurve assessors "
        "says which, and the column also_written of the table assessors settles it"
    )


def _lost(results: Results) -> str:
    codes = results.assessors.filter(~pl.col("follows"))["code"].to_list()
    if not codes:
        return ""
    answers = "answers do" if len(codes) == 1 else "answers of each do"
    return (
        f"{words.listed(codes)}: the {answers} not follow what the rest find in the same glasses. "
        "A few sessions of blind fresh and aged beer side by side, talked over afterwards, would "
        "help; so would a look at whether these glasses were as cold and in the same order."
    )


def _moving(results: Results) -> str:
    """Say of each who moves against the rest which way, and how sure that is."""
    said = []
    for a in results.assessors.filter(pl.col("drift").is_in(_MOVING)).rows(named=True):
        stricter = a["drift_a_year"] > 0
        low, high = words.rounded(
            *sorted(100 * abs(a[f"drift_a_year_{end}"]) for end in ("lower", "upper"))
        )
        doubt = "" if a["drift"] == "drifts" else "perhaps "
        if a["measure"] == VERDICT:
            what = f"rejects {'more' if stricter else 'fewer'} glasses than before"
            by = f"{low} to {high} in a hundred"
        else:
            end = "further from" if stricter else "nearer to"
            what = f"scores {a['measure']} {end} the good end than before"
            by = f"{low} to {high}{words.NBSP}%"
        said.append(f"{a['code']} {doubt}{what} in the same beer, beside the rest: by {by} a year.")
    if not said:
        return ""
    return " ".join(
        (
            *said,
            "A session with references, old and fresh, brings a level back.",
        )
    )


def _measure(results: Results) -> str:
    measures = results.assessors["measure"].drop_nulls().unique().to_list()
    if not measures:
        return ""
    if measures == [VERDICT]:
        return (
            "It is read from verdicts, as no attribute is scored on half of the glasses; scores "
            "would show a drift in half the time."
        )
    return f"It is read from the scores of {measures[0]}, which say more than verdicts do."


def _error_charts(results: Results) -> tuple[Chart, ...]:
    shown = results.assessors.filter(
        pl.any_horizontal(pl.col(*assessor_charts.KINDS).is_not_null())
    )
    if shown.is_empty():
        return ()
    said = (
        f"{words.count(shown.height, 'assessor')}, in the order of their codes. A bar is what the "
        "counts leave open; where two bars overlap, the counts do not tell these two apart."
    )
    return (
        Chart(
            name="errors",
            title="False alarms and misses",
            summary=said,
            caption=said,
            key=(
                Key("point", "false alarms"),
                Key("ring", "misses"),
                Key("band", "90 % sure", theme.FORECAST),
            ),
            spec=assessor_charts.errors(shown),
        ),
    )


def _drift_charts(results: Results) -> tuple[Chart, ...]:
    charts = []
    for a in results.assessors.filter(pl.col("drift").is_in(_MOVING)).rows(named=True):
        part = results.assessor_quarters.filter(pl.col("code") == a["code"])
        if part.is_empty():
            continue
        said = (
            f"{words.count(int(part['glasses'].sum()), 'glass')} in "
            f"{words.count(part.height, 'quarter')}, each beside what the rest found in the same "
            "samples. Above 0 is stricter than this assessor usually is."
        )
        charts.append(
            Chart(
                name=f"drift-{a['code']}",
                title=f"Assessor {a['code']}, by quarter",
                summary=said,
                caption=said,
                key=(
                    Key("point", "this quarter"),
                    Key("band", "90 % sure", theme.FORECAST),
                ),
                spec=assessor_charts.quarters(part, assessor_tables.quarter),
            )
        )
    return tuple(charts)
