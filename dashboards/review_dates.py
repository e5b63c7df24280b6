"""What a quarterly report says of printed dates, and of the samples retained to check them."""

from __future__ import annotations

from typing import Any

from dashboards import decided, words
from dashboards.page import Column
from dashboards.review_section import Line, Section, cut

Cells = dict[str, Any]

MOST = 12

_DATES = (
    Column("Beer, format"),
    Column("Kept as"),
    Column("Printed, days", figures=True),
    Column("Data support", figures=True),
    Column("Too long by", figures=True),
    Column("Packages", figures=True),
)


def too_long(record: Cells) -> Section:
    """Return the section on dates that are longer than the data support."""
    rows = record["too_long"]
    title = "Printed dates that are too long"
    if record["outcome"] != "estimated":
        why = record["reason"] or "the reason was not recorded"
        return Section(title, (f"Nothing could be dated, because {why}.",), ("dates",))
    if not record["compared"]:
        nothing = "No lot has both a printed date and one that the data support."
        return Section(title, (nothing,), ("dates",))
    if not rows:
        all_ = words.of(record["compared"], record["compared"])
        return Section(title, (f"{all_} printed dates are supported by the data.",), ("dates",))
    lines, left = cut([_line(row) for row in rows], MOST)
    counted = words.counted(len(rows), "printed date", "is longer", "are longer")
    first = rows[0]
    said = words.sentence(
        f"{counted} than the data support; most is at stake with {first['beer']}, "
        f"{first['format']}: {words.days(first['days'])} too long, {first['kept']}"
    )
    return Section(
        title,
        (said,),
        ("dates", "decisions"),
        _DATES,
        lines,
        tuple(filter(None, (left, _meaning(record)))),
    )


def too_short(record: Cells) -> Section:
    """Return the section on dates that could be much longer."""
    rows = record["too_short"]
    title = "Printed dates that could be longer"
    if not rows:
        nothing = (
            f"No printed date could be longer by both {words.days(decided.MANY_DAYS)} and "
            f"{words.percent(decided.MANY_SHARE)}."
        )
        return Section(title, (nothing,), ("dates",))
    columns = (*_DATES[:4], Column("Could be longer by", figures=True), _DATES[5])
    lines, left = cut([_line(row) for row in rows], MOST // 2)
    first = rows[0]
    said = (
        f"Most for {first['beer']}, {first['format']}: {words.days(first['days'])} longer, "
        f"{first['kept']}. A longer date is never needed; it is a choice."
    )
    return Section(title, (said,), ("dates", "decisions"), columns, lines, (left,) if left else ())


def _line(row: Cells) -> Line:
    cells = (
        f"{row['beer']}, {row['format'].replace(' ', words.NBSP)}",
        row["ends"],
        words.whole(row["printed_days"]),
        words.whole(row["supported_days"]),
        words.whole(row["days"]),
        words.whole(row["packages"]),
    )
    notes = [
        f"{way['ends']}: "
        + ("not fit for it" if way["days"] is None else f"{words.days(way['days'])} too long")
        for way in row["elsewhere"]
    ]
    said = [words.sentence(f"Also {'; '.join(notes)}")] if notes else []
    if held := row["decision"]:
        why = f", “{held['because']}”" if held["because"] else ""
        said.append(
            words.stopped(f"Decision {held['decision_id']}: {words.days(held['days'])}{why}")
        )
    if row["basis"] != "fitted":
        said.append(words.sentence(words.BASIS[row["basis"]]))
    if row["first_estimate"]:
        said.append(decided.FIRST_ESTIMATE)
    return Line(cells, " ".join(said), row["page"])


def _meaning(record: Cells) -> str:
    return (
        f"Days from packaging, kept as the row says; we are {words.percent(record['confidence'])} "
        f"sure that by then no more than {words.glasses(record['share_rejected'])} would be "
        "rejected for age. Packages: those whose printed date is still ahead. In the order of days "
        "times packages."
    )


def retained(record: Cells) -> Section:
    """Return the section on samples that were tasted around the printed date of their lot."""
    found = record["retained"]
    rows = found["rows"]
    title = "Retained samples against their date"
    if not rows:
        nothing = (
            "No retained sample was tasted within two weeks of its lot's printed date in the "
            "quarter, so nothing says whether a date was kept."
        )
        return Section(title, (nothing,), ("back-test",))
    counts = {
        finding: sum(row["finding"] == finding for row in rows)
        for finding in ("kept", "did not keep", "too few")
    }
    said = (
        f"Of {words.count(len(rows), 'sample')} tasted within two weeks of the date, "
        f"{_how_many(counts['kept'])} kept to it, {_how_many(counts['did not keep'])} did not, and "
        f"for {_how_many(counts['too few'])} the glasses are too few to say. "
        f"{_together(rows, found['limit'])}"
    )
    order = sorted(rows, key=lambda row: row["finding"] != "did not keep")
    told = [_sample(row) for row in order if row["finding"] != "too few"]
    few = "; ".join(
        _few(row)
        for row in rows
        if row["finding"] == "too few" and row["rejected"] > found["limit"] * row["tasted"]
    )
    lines, left = cut(told, MOST)
    return Section(
        title,
        (said,),
        ("back-test",),
        (
            Column("Lot, format"),
            Column("Beer"),
            Column("Date, days", figures=True),
            Column("Tasted at", figures=True),
            Column("Kept at", figures=True),
            Column("Rejected", figures=True),
            Column("The date was"),
        )
        if lines
        else (),
        lines,
        tuple(
            filter(
                None, (left, f"Too few glasses to say, and rejected by many: {few}." if few else "")
            )
        ),
    )


def _how_many(number: int) -> str:
    return words.in_letters(number) if number else "none"


def _together(rows: list[Cells], limit: float) -> str:
    """Add the glasses up by storage, beside what a date that holds would let through."""
    parts = []
    for temperature in sorted({row["storage_temp_c"] for row in rows}):
        own = [row for row in rows if row["storage_temp_c"] == temperature]
        parts.append(
            f"{words.of(sum(r['rejected'] for r in own), sum(r['tasted'] for r in own))} glasses "
            f"kept at {words.temperature(temperature)}"
        )
    return (
        f"Rejected were {words.listed(parts)}; up to {words.percent(round(limit, 2))} would be, "
        "false alarms included, where a date just holds."
    )


def _sample(row: Cells) -> Line:
    return Line(
        (
            f"{row['lot']}, {row['format'].replace(' ', words.NBSP)}",
            row["beer"],
            words.whole(row["printed_days"]),
            words.whole(row["age_days"]),
            words.temperature(row["storage_temp_c"]),
            words.of(row["rejected"], row["tasted"]),
            "kept" if row["finding"] == "kept" else "not kept",
        )
    )


def _few(row: Cells) -> str:
    return (
        f"{row['lot']}, {row['format']} ({words.temperature(row['storage_temp_c'])}), "
        f"{words.of(row['rejected'], row['tasted'])}"
    )
