"""The tables of this week, each with its place, temperature and days; the most urgent first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dashboards import sentences, words
from dashboards.page import Column, Row, Table, load_source, rows, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

NOT_MADE = "These lists are made together with the pages: run stalecurve publish"
OVERDUE = Column("Overdue, days", figures=True)
NONE_PRINTED = "none printed; by the longest date of the style"


def _source(results: Results, week: Cells | None) -> str:
    return f"as of {words.day(week['today'])}, {load_source(results)}" if week else ""


def _packed(item: Cells) -> str:
    return f"{item['lot']}, {item['format'].replace(' ', words.NBSP)}"


def _storage(item: Cells) -> str:
    return ", ".join(
        part for part in (item["place"], words.temperature(item["storage_temp_c"])) if part
    )


def _late(item: Cells) -> str:
    return words.whole(item["days_late"] or None)


def pulls(results: Results, week: Cells | None) -> Table:
    """Return the samples to pull."""
    return Table(
        name="week-pulls",
        caption="Take these out of their storage",
        columns=(
            Column("Lot, format"),
            Column("Due"),
            OVERDUE,
            Column("Days in storage", figures=True),
            Column("Storage", wide=True),
            Column("Beer", wide=True),
        ),
        rows=tuple(
            Row(
                (
                    _packed(p) + (f", sample {p['sample']}" if p["sample"] else ""),
                    words.day(p["due_on"]),
                    _late(p),
                    words.whole(p["age_days"]),
                    _storage(p),
                    p["beer"],
                ),
                narrow=words.sentence(f"{_storage(p)}; {p['beer']}"),
            )
            for p in results.week_pulls.rows(named=True)
        ),
        frame=results.week_pulls,
        source=_source(results, week),
        empty=_no_pulls(week),
    )


def _no_pulls(week: Cells | None) -> str:
    if week is None:
        return NOT_MADE
    if not week["samples"]:
        return "No sample was placed yet: the table samples fills this."
    if not week["planned"]:
        return (
            "No pull is written down for this week. The configuration can say when to pull, under "
            "pulls.plan; a row of samples whose pull lies ahead is a planned pull too."
        )
    return "No pull is due this week, and none is overdue."


def tastings(results: Results, week: Cells | None) -> Table:
    """Return the samples that were pulled and wait to be tasted."""
    within = words.days(week["taste_within_days"]) if week else ""
    return Table(
        name="week-tastings",
        caption=f"Pulled and not tasted; to be tasted within {within} of the pull",
        columns=(
            Column("Sample"),
            Column("Pulled"),
            Column("Taste by"),
            OVERDUE,
            Column("Lot, format; beer", wide=True),
            Column("Storage", wide=True),
        ),
        rows=tuple(
            Row(
                (
                    t["sample"],
                    words.day(t["pulled_on"]),
                    words.day(t["due_on"]),
                    _late(t),
                    f"{_packed(t)}; {t['beer']}",
                    f"{_storage(t)}, {words.days(t['age_days'])}",
                ),
                narrow=words.sentence(
                    f"{_packed(t)}; {t['beer']}; {_storage(t)}, {words.days(t['age_days'])}"
                ),
            )
            for t in results.week_tastings.rows(named=True)
        ),
        frame=results.week_tastings,
        source=_source(results, week),
        empty=_no_tastings(week),
    )


def _no_tastings(week: Cells | None) -> str:
    if week is None:
        return NOT_MADE
    if not week["samples"]:
        return "No sample was pulled yet: the tables samples and tastings fill this."
    return "No sample that was pulled waits to be tasted."


def meter_checks(results: Results, week: Cells | None) -> Table:
    """Return the meters to check."""
    every = words.days(week["check_every_days"]) if week else ""
    empty = "No meter is known yet: the tables meter_checks and oxygen, column meter, fill this."
    if week is None or week["meters"]:
        empty = f"No meter check is due: each was made within {every}." if week else NOT_MADE
    return Table(
        name="week-meter-checks",
        caption=f"Check these meters against a standard, every {every}",
        columns=(
            Column("Meter"),
            Column("Last check"),
            Column("Due"),
            OVERDUE,
            Column("Last reading", wide=True),
        ),
        rows=rows(
            (
                m["meter"],
                words.day(m["checked_on"]) if m["checked_on"] else "never",
                words.day(m["due_on"]) if m["due_on"] else "now",
                _late(m),
                words.day(m["read_on"]),
            )
            for m in results.week_meter_checks.rows(named=True)
        ),
        frame=results.week_meter_checks,
        source=_source(results, week),
        empty=empty,
    )


def retained(results: Results, week: Cells | None) -> Table:
    """Return the retained samples that may go."""
    keep = words.days(week["keep_days_past_date"]) if week else ""
    return Table(
        name="week-retained",
        caption=f"In storage, their lot past its date by more than {keep}",
        columns=(
            Column("Lot, format"),
            Column("Date of the lot"),
            Column("Days past", figures=True),
            Column("Samples", figures=True),
            Column("Storage", wide=True),
            Column("Which", wide=True),
        ),
        rows=tuple(
            Row(
                (
                    _packed(r),
                    words.day(r["ended_on"]) + ("" if r["printed"] else f" ({NONE_PRINTED})"),
                    words.whole(r["days_past"]),
                    words.whole(r["samples"]),
                    _storage(r),
                    r["names"],
                ),
                narrow=f"{words.sentence(_storage(r))} {r['names']}.",
                note=f"Its next pull is written down for {words.day(r['pull_on'])}.",
            )
            for r in results.week_retained.rows(named=True)
        ),
        frame=results.week_retained,
        source=_source(results, week),
        empty=f"None: no lot in storage is past its date by more than {keep}."
        if week
        else NOT_MADE,
    )


def late_files(results: Results, week: Cells | None) -> Table:
    """Return the files that were expected and did not come."""
    empty = (
        "No file is expected: the configuration can name those that come regularly, under expected."
    )
    if week is None or week["expected"]:
        empty = "Every file that was expected came." if week else NOT_MADE
    return Table(
        name="week-late-files",
        caption="Expected, and did not come",
        columns=(
            Column("Expected"),
            Column("Every, days", figures=True),
            Column("Last came"),
            OVERDUE,
            Column("Last file", wide=True),
        ),
        rows=tuple(
            Row(
                (
                    f["expected"],
                    words.whole(f["every_days"]),
                    words.day(f["last_on"]) if f["last_on"] else "never",
                    _late(f),
                    f["last_file"] or words.NOTHING,
                ),
                narrow=words.stopped(f["last_file"] or ""),
            )
            for f in results.week_late_files.rows(named=True)
        ),
        frame=results.week_late_files,
        source=_source(results, week),
        empty=empty,
    )


def date_changes(results: Results) -> Table:
    """Return the dates that are others than a week ago."""
    ways = sentences.routes(results)
    return Table(
        name="week-dates",
        caption="Best-before dates, a week ago and now",
        columns=(
            Column("Style, format"),
            Column("A week ago, days", figures=True),
            Column("Now, days", figures=True),
            Column("Difference", figures=True),
            Column("Kept as", wide=True),
            Column("Ends by", wide=True),
        ),
        rows=tuple(_change(c, ways) for c in results.date_changes.rows(named=True)),
        frame=results.date_changes,
        source=run_source(results),
        empty=_no_changes(results),
    )


def _change(change: Cells, ways: dict[str, sentences.Route]) -> Row:
    kept, ends_by = ways[change["route"]].ends, _ends_by(change)
    difference = change["difference_days"]
    return Row(
        (
            f"{change['style']}, {change['format'].replace(' ', words.NBSP)}",
            words.whole(change["old_days"]),
            words.whole(change["new_days"]),
            change["change"] if difference is None else words.difference(difference),
            kept,
            ends_by,
        ),
        narrow=words.sentence(f"{kept}; {ends_by}"),
    )


def _ends_by(change: Cells) -> str:
    now, before = words.cause(change["binding_cause"]), words.cause(change["old_cause"])
    if change["change"] == "lost":
        return change["reason"] or now
    return now if now == before or change["change"] == "new" else f"{now}, before: {before}"


def _no_changes(results: Results) -> str:
    run, ago = results.newest_run, next(results.week_ago.iter_rows(named=True), None)
    if run is None:
        return "No run yet."
    if ago is None:
        return "No run a week ago yet: there is nothing to compare with."
    stood = f"run {ago['run_id']} of {words.day(ago['finished_at'])}"
    if ago["run_id"] == run["run_id"]:
        return f"No run in the last week: the dates of {stood} stand."
    return f"No date is another than a week ago, in {stood}."
