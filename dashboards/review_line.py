"""What a quarterly report says of the packaging line: oxygen, heads, meters, formats apart."""

from __future__ import annotations

from typing import Any

from dashboards import words
from dashboards.page import Column
from dashboards.review_needs import change, head
from dashboards.review_section import Line, Section

Cells = dict[str, Any]

_FINDINGS = {"more": "more", "less": "less", "noise": "noise", "too few": "too few to say"}


def oxygen(record: Cells) -> Section:
    """Return the section on oxygen by line and format, this quarter against the last."""
    rows, signals = record["oxygen"]["rows"], record["oxygen"]["signals"]
    title = "Package oxygen by line and format"
    if not rows:
        return Section(title, ("No lot was filled in the quarter.",), ("oxygen",))
    moved = [
        words.sentence(f"{_place(row)}: {change(row)} than last quarter, which is a change")
        for row in rows
        if row["finding"] in {"more", "less"}
    ]
    quiet = [_place(row) for row in rows if row["finding"] == "noise"]
    said = list(moved)
    if quiet:
        said.append(
            f"Against last quarter nothing changed beyond what lots differ by on "
            f"{words.listed(quiet)}."
        )
    if not said:
        said.append("Too few lots to tell a change from noise.")
    said += signals
    return Section(
        title,
        tuple(said),
        ("oxygen",),
        (
            Column("Line, format"),
            Column("Lots", figures=True),
            Column("Packages filled", figures=True),
            Column("ppb", figures=True),
            Column("Last quarter, ppb", figures=True),
            Column("Times last quarter", figures=True),
            Column("Change or noise"),
        ),
        tuple(_oxygen(row) for row in rows),
        (
            "Total package oxygen at filling, the middle of the lots. A lot is one measurement.",
            "The bounds of all lines together hold nine times in ten.",
        ),
    )


def _place(row: Cells) -> str:
    packed = row["format"].replace(" ", words.NBSP)
    return f"{row['line']}, {packed}" if row["line"] else f"{packed}, line not recorded"


def _oxygen(row: Cells) -> Line:
    ratio = words.NOTHING
    if row["ratio"] is not None:
        low, high = (words.figure(row[f"ratio_{end}"], 2) for end in ("lower", "upper"))
        ratio = f"{words.figure(row['ratio'], 2)} ({low} to {high})".replace(" ", words.NBSP)
    bound = words.counted(row["bound_lots"], "lot", "is known", "are known")
    return Line(
        (
            _place(row),
            f"{words.whole(row['lots'])}, {words.whole(row['lots_before'])} before",
            words.whole(row["packages"]),
            words.whole(row["ppb"]),
            words.whole(row["ppb_before"]),
            ratio,
            _FINDINGS[row["finding"]],
        ),
        words.sentence(f"{bound} by a bound alone and left out") if row["bound_lots"] else "",
    )


def heads(record: Cells) -> Section:
    """Return the section on heads that stand out."""
    found = record["heads"]
    if not found:
        said: tuple[str, ...] = ("No head of any line stands out.",)
    else:
        said = tuple(head(row) for row in found)
    return Section("Heads", said, ("heads",))


def meters(record: Cells) -> Section:
    """Return the section on meter checks of the quarter."""
    found = record["meters"]
    rows = found["rows"]
    if not rows:
        nothing = "No meter was checked in the quarter: nothing says whether its readings hold."
        return Section("Oxygen meters", (nothing,), ("meters",))
    failed = [row for row in rows if row["failed"]]
    said = "Every meter passed every check of the quarter."
    if failed:
        said = words.sentence(
            "; ".join(
                f"meter {row['meter']} failed {words.of(row['failed'], row['checks'])} checks"
                for row in failed
            )
        )
    effect: tuple[str, ...] = ()
    if found["doubt"] and found["dates"]:
        moved = words.counted(found["dates_moved"], "best-before date", "moves", "move")
        effect = (
            words.sentence(f"where all readings in doubt, whenever read, are left out, {moved}"),
        )
    return Section(
        "Oxygen meters",
        (said, *effect),
        ("meters",),
        (
            Column("Meter"),
            Column("Checks", figures=True),
            Column("Failed", figures=True),
            Column("The last"),
            Column("Lots of the quarter in doubt", figures=True),
            Column("Packages", figures=True),
        ),
        tuple(
            Line(
                (
                    row["meter"],
                    words.whole(row["checks"]),
                    words.whole(row["failed"]),
                    "passed" if row["last_passed"] else "failed",
                    words.whole(row["lots"]),
                    words.whole(row["packages"]) if row["lots"] else words.NOTHING,
                )
            )
            for row in rows
        ),
    )


def formats(record: Cells) -> Section:
    """Return the section on formats apart: the widest gap of each style."""
    rows = record["formats"]
    title = "Formats apart"
    if not rows:
        return Section(title, ("No style was dated in two formats on one route.",), ("formats",))
    sure = [row for row in rows if row["gap_days_lower"] >= 1.0]
    said = "Too few to say that any style keeps longer in one format than in another."
    if sure:
        first = max(sure, key=lambda row: row["gap_days"])
        said = (
            f"{words.sentence(first['style'])[:-1]} keeps {words.days(first['gap_days'])} longer "
            f"in {first['format']} than in {first['other_format']}, {first['kept']}."
        )
    return Section(
        title,
        (said,),
        ("formats",),
        (
            Column("Style"),
            Column("Longer in"),
            Column("Than in"),
            Column("By, days", figures=True),
            Column("Filling", figures=True),
            Column("Ingress", figures=True),
            Column("Kept as"),
        ),
        tuple(_gap(row) for row in rows),
    )


def _gap(row: Cells) -> Line:
    low, high = words.rounded(row["gap_days_lower"], row["gap_days_upper"])
    bounds = f"({words.difference(low)} to {words.difference(high)})"
    gap = f"{words.difference(round(row['gap_days']))} {bounds}"
    return Line(
        (
            row["style"],
            row["format"],
            row["other_format"],
            gap.replace(" ", words.NBSP),
            words.difference(round(row["filling_days"])),
            words.difference(round(row["ingress_days"])),
            row["ends"],
        )
    )
