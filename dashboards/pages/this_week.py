"""The page of this week: what is due, what is overdue, what did not come, what changed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import sentences, words
from dashboards.page import Page
from dashboards.pages import this_week_tables

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]


def page(results: Results) -> Page:
    """Return the page of this week."""
    week = next(results.this_week.iter_rows(named=True), None)
    tables = {
        "pulls": this_week_tables.pulls(results, week),
        "tastings": this_week_tables.tastings(results, week),
        "meter_checks": this_week_tables.meter_checks(results, week),
        "retained": this_week_tables.retained(results, week),
        "late_files": this_week_tables.late_files(results, week),
        "date_changes": this_week_tables.date_changes(results),
    }
    return Page(
        file="this-week.html",
        title="This week",
        template="this_week.html",
        context={
            "lead": _lead(results) if week else this_week_tables.NOT_MADE,
            "written": week["written_on"].isoformat() if week else "",
            "seen_from": _seen_from(week) if week else "",
            "waiting": _waiting(results),
            "aside": sentences.set_aside(results),
            "compared": _compared(results),
            **_missed(week),
            **tables,
        },
        tables=tuple(tables.values()),
    )


def _lead(results: Results) -> str:
    pulls, meters = results.week_pulls, results.week_meter_checks
    parts = [_due_and_overdue(_of(pulls, "due"), _of(pulls, "overdue"), "pull")]
    waiting, late = results.week_tastings.height, _of(results.week_tastings, "overdue")
    if waiting:
        said = words.counted(waiting, "sample", "waits to be tasted", "wait to be tasted")
        parts.append(said + (f", {words.in_letters(late)} of them overdue" if late else ""))
    checks = (_of(meters, "due"), _of(meters, "overdue"))
    if any(checks):
        parts.append(_due_and_overdue(*checks, "meter check"))
    counted: tuple[tuple[int, str, str, str], ...] = (
        (_of(meters, "never"), "meter", "was never checked", "were never checked"),
        (int(results.week_retained["samples"].sum()), "retained sample", "may go", "may go"),
        (results.week_late_files.height, "expected file", "did not come", "did not come"),
        (results.date_changes.height, "date", "changed", "changed"),
    )
    parts += [words.counted(*count) for count in counted if count[0]]
    if len(parts) == 1 and pulls.is_empty():
        return "Nothing is due this week."
    return words.sentence("; ".join(parts))


def _of(frame: pl.DataFrame, status: str) -> int:
    return frame.filter(pl.col("status") == status).height


def _due_and_overdue(due: int, overdue: int, noun: str) -> str:
    """Return `three pulls are due this week, two are overdue`."""
    if not overdue:
        return words.counted(due, noun, "is due this week", "are due this week")
    if not due:
        return words.counted(overdue, noun, "is overdue", "are overdue")
    return (
        f"{words.counted(due, noun, 'is due this week', 'are due this week')}, "
        f"{words.in_letters(overdue)} {'is' if overdue == 1 else 'are'} overdue"
    )


def _seen_from(week: Cells) -> str:
    today, written = words.day(week["today"]), words.day(week["written_on"])
    if week["today"] != week["written_on"]:
        return (
            f"As of {today}, which the configuration takes for today (as_of); this page was "
            f"written on {written}."
        )
    return (
        f"As of {today}, for the seven days from then. This page was written on that day; if that "
        f"is not this week, the night did not run."
    )


def _missed(week: Cells | None) -> dict[str, str]:
    """Return what is no longer listed, one line each, nothing where there is none."""
    if week is None:
        return {"pulls_missed": "", "tastings_missed": "", "meters_at_rest": ""}
    long = words.days(week["missed_after_days"])
    said = {
        "pulls_missed": (
            ("planned pull", "was missed", "were missed"),
            f": a later one has been made, or it has been overdue for more than {long}",
        ),
        "tastings_missed": (
            ("sample", "was pulled and never tasted", "were pulled and never tasted"),
            f", overdue for more than {long}",
        ),
        "meters_at_rest": (
            ("meter", "is at rest", "are at rest"),
            f": no check and no reading for more than {long}",
        ),
    }
    return {
        name: words.sentence(words.counted(week[name], *count) + why) if week[name] else ""
        for name, (count, why) in said.items()
    }


def _waiting(results: Results) -> str:
    files = results.files_out.filter(pl.col("outcome") == "waiting")["file"].to_list()
    if not files:
        return ""
    said = words.counted(len(files), "file", "waits to be confirmed", "wait to be confirmed")
    return words.sentence(f"{said}: {words.listed(files)}")


def _compared(results: Results) -> str:
    ago = next(results.week_ago.iter_rows(named=True), None)
    if ago is None or results.date_changes.is_empty():
        return ""
    return (
        f"The newest run beside run {ago['run_id']} of {words.day(ago['finished_at'])}, which "
        f"stood a week ago: days from packaging, kept as said."
    )
