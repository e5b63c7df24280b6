"""What a quarterly report says of the panel, complaints, last quarter's actions, and data gaps."""

from __future__ import annotations

from typing import Any

from dashboards import words
from dashboards.page import Column
from dashboards.review_section import Line, Section, on, packages

Cells = dict[str, Any]

_MOST = 8
_STATES = {"agreed": "not done", "done": "done", "dropped": "dropped"}
_VERDICTS = {
    "more": "more than luck explains",
    "perhaps more": "more than expected, but luck brings as many now and then",
    "fewer": "fewer than luck explains",
    "as expected": "as expected",
    "cannot say": "nobody can say",
}
_TABLES = {
    "lots": "no lot was filled",
    "oxygen": "no oxygen was read",
    "meter_checks": "no meter was checked",
    "tastings": "nothing was tasted",
    "shipments": "no shipment is written down",
    "complaints": "no complaint is written down",
    "temperature_log": "no logger was read",
    "changes": "no change was written down",
}
_QUIET = {"complaints", "changes"}
"""Tables that a good quarter may leave empty."""


def panel(record: Cells) -> Section:
    """Return the section on the sittings of the quarter."""
    found = record["panel"]
    pages = ("panel", "assessors")
    if not found["sessions"]:
        return Section("Panel performance", ("No session was held in the quarter.",), pages)
    usual = words.count(round(found["assessors"]), "taster")
    sessions = words.counted(found["sessions"], "session", "was held", "were held")
    said = [words.sentence(f"{sessions}, usually by {usual}"), _control(found)]
    lacks = [
        words.counted(found[name], "session", does, does)
        for name, does in (
            ("few", "had too few tasters"),
            ("without_control", "had no blind fresh control"),
        )
        if found[name]
    ]
    if lacks:
        said.append(words.sentence(words.listed(lacks)))
    lost = [row["code"] for row in found["apart"] if not row["follows"]]
    moving = [row["code"] for row in found["apart"] if row["drift"] != "none shows"]
    if lost:
        said.append(f"Answers that do not follow the rest's: {words.listed(lost)}.")
    if moving:
        said.append(
            f"{words.listed(moving)} {'moves' if len(moving) == 1 else 'move'}, or may, beside the "
            "rest from quarter to quarter."
        )
    return Section("Panel performance", (" ".join(filter(None, said)),), pages)


def _control(found: Cells) -> str:
    """Say how the blind fresh control fared; nothing where there was none."""
    if not found["fresh_tasted"]:
        return ""
    failed = "; ".join(
        f"{row['session']} ({on(row['tasted_on'])}, "
        f"{words.of(row['fresh_rejected'], row['fresh_tasted'])})"
        for row in found["failed"]
    )
    fared = f"failed in session {failed}: suspect the sample first" if failed else "held throughout"
    fresh = words.of(found["fresh_rejected"], found["fresh_tasted"])
    return f"Of blind fresh beer {fresh} glasses were rejected; the control {fared}."


def complaints(record: Cells) -> Section:
    """Return the section on complaints of the quarter, beside those expected."""
    found = record["complaints"]
    title = "Complaints"
    if not found["now"] and not found["before"]:
        return Section(title, ("No complaint is written down for the quarter.",), ("complaints",))
    came = words.counted(found["now"], "complaint", "came", "came")
    earlier = words.in_letters(found["before"]) if found["before"] else "none"
    said = words.sentence(f"{came} in the quarter, {earlier} before")
    safety = words.counted(len(found["safety"]), "complaint", "touches safety", "touch safety")
    return Section(
        title,
        (f"{said} {_expected(found)}", words.sentence(safety)),
        ("complaints",),
        (
            Column("Category"),
            Column("This quarter", figures=True),
            Column("Last quarter", figures=True),
        ),
        tuple(
            Line((row["category"], words.whole(row["now"]), words.whole(row["before"])))
            for row in found["rows"]
        ),
        (
            "A complaint of two categories counts in both.",
            "Expected: by the brewery's own rate, at the age of the beer when it was drunk.",
        ),
    )


def _expected(found: Cells) -> str:
    """Say how many were about taste, beside those expected, and the rate."""
    rate, before = found["rate"], found["rate_before"]
    if rate is None or rate["per_million"] is None:
        return "Without shipments nobody can say how many were to be expected."
    luck = f"{words.whole(rate['luck_lower'])} to {words.whole(rate['luck_upper'])}"
    per = words.bounded(rate["per_million"], rate["lower"], rate["upper"])
    earlier = ""
    if before is not None and before["per_million"] is not None:
        earlier = f"; {words.whole(before['per_million'])} last quarter"
    about = words.counted(rate["taste"], "complaint", "was", "were")
    return (
        f"{words.sentence(about)[:-1]} about a taste that age could explain, where "
        f"{words.figure(rate['expected'], 1)} were expected and luck alone brings {luck}: "
        f"{_VERDICTS[rate['verdict']]}. That is {per} per million packages drunk{earlier}."
    )


def actions(record: Cells) -> Section:
    """Return the section on what was agreed on for the quarter before."""
    rows = record["actions"]
    title = f"Agreed on for {record['before']}"
    if not rows:
        nothing = (
            f"No action is recorded for {record['before']}: stalecurve action records what a "
            "meeting agrees on."
        )
        return Section(title, (nothing,), ("reviews",))
    counts = {state: sum(row["state"] == state for row in rows) for state in _STATES}
    said = (
        f"Of {words.count(len(rows), 'action')} {words.in_letters(counts['done'])} "
        f"{'is' if counts['done'] < 2 else 'are'} done, "  # noqa: PLR2004 - one is, two are
        f"{words.in_letters(counts['agreed'])} not, {words.in_letters(counts['dropped'])} dropped."
    )
    return Section(
        title,
        (said,),
        ("reviews",),
        (Column("No.", figures=True), Column("Action"), Column("Who, by when"), Column("It is")),
        tuple(_action(row) for row in rows),
    )


def _action(row: Cells) -> Line:
    due = on(row["due_on"]) if row["due_on"] else ""
    state = _STATES[row["state"]]
    when = f"{state}, {on(row['on'])}" if row["state"] != "agreed" else state
    return Line(
        (str(row["action_id"]), row["what"], ", ".join(filter(None, (row["who"], due))), when),
        f"“{row['because']}”" if row["because"] else "",
    )


def gaps(record: Cells) -> Section:
    """Return the section on what is missing from the quarter."""
    found = record["gaps"]
    said: list[str] = []
    missing = [_TABLES[table] for table in found["missing"] if table not in _QUIET]
    if missing:
        said.append(words.sentence(f"in the whole quarter {words.listed(missing)}"))
    quiet = [_TABLES[table] for table in found["missing"] if table in _QUIET]
    if quiet:
        said.append(words.sentence(f"{words.listed(quiet)}: was there none, or no file"))
    for row in found["late_files"]:
        last = f"the last came on {on(row['last_on'])}" if row["last_on"] else "none ever came"
        said.append(f"The file {row['expected']} is late: {last}.")
    if unread := found["without_oxygen"]:
        lots = words.listed(_some([f"{row['lot']} ({row['format']})" for row in unread]))
        known = [row["packages"] for row in unread if row["packages"] is not None]
        had = packages(sum(known) if known else None)
        said.append(f"Without any oxygen reading: {lots}; {had}.")
    if untasted := found["untasted"]:
        samples = words.listed(_some([f"{row['sample']} ({row['lot']})" for row in untasted]))
        said.append(f"Pulled and not tasted: {samples}.")
    if lent := found["lent"]:
        cells = words.listed(_some([f"{row['style']} in {row['format']}" for row in lent]))
        said.append(f"Never tasted, dated by other formats: {cells}.")
    said += _counted(found, record["complaints"])
    return Section(
        "What is missing", tuple(said) or ("Nothing that is known of.",), ("this week", "data")
    )


def _counted(found: Cells, complained: Cells) -> list[str]:
    said = []
    if number := complained["without_lot"]:
        said.append(f"{words.of(number, complained['now'])} complaints name no lot of ours.")
    if number := found["without_packages"]:
        said.append(words.sentence(words.counted(number, "lot", "says", "say") + " no packages"))
    if number := found["rows_aside"]:
        stand = words.counted(number, "row", "of a file stands", "of files stand")
        said.append(words.sentence(f"{stand} aside, to be mended"))
    return said


def _some(names: list[str]) -> list[str]:
    left = len(names) - _MOST
    return names if left < 1 else [*names[:_MOST], f"{left} more"]
