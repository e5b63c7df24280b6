"""What needs a decision in a quarter, a sentence or two each, from a review's record."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dashboards import decided, words
from dashboards.review_section import PAGES, on, packages

if TYPE_CHECKING:
    from collections.abc import Callable

Cells = dict[str, Any]

SURE = 0.9
"""From such odds on a head is to be mended; below, more packages would tell."""
MOST = 8
"""So many are read out in a meeting; the rest stand in their sections."""


def needs(record: Cells) -> list[tuple[str, tuple[str, str]]]:
    """Return what needs a decision, each with its page (file, title), the most at stake first."""
    return [
        (_WORDS[need["kind"]](need), PAGES[_PAGES[need["kind"]]]) for need in record["needs"][:MOST]
    ]


def more(record: Cells) -> str:
    """Return that there is more, or nothing."""
    left = len(record["needs"]) - MOST
    return "" if left < 1 else f"{words.in_letters(left).capitalize()} more in the sections below."


def line_of(row: Cells) -> str:
    """Return a line in words, or its format where the line was not recorded."""
    return f"the {row['line']} line" if row["line"] else f"{row['format']}, line not recorded"


def _safety(need: Cells) -> str:
    found = need["of"]
    each = "; ".join(
        f"{row['complaint']} ({row['category']}{', by its note' if row['by_note'] else ''}"
        f"{_lot(row)}, {on(row['on'])}, "
        f"{'closed' if row['closed'] else 'open'})"
        for row in found
    )
    touch = words.counted(len(found), "complaint", "touches safety", "touch safety")
    return (
        f"{words.sentence(touch)[:-1]}: {each}. This is the food-safety lead's: keep the packages, "
        "taste nothing, hand over. No number here answers it."
    )


def _lot(row: Cells) -> str:
    return f", lot {row['lot']}" if row["lot"] else ", lot unknown"


def _unvalidated(need: Cells) -> str:
    return (
        f"{need['beer']}, {need['format']}: a date is printed and no safety validation is "
        f"recorded. {words.sentence(packages(need['packages'], ' with a date still ahead'))} "
        f"{words.NO_VALIDATION}"
    )


def _too_long(need: Cells) -> str:
    by_way: dict[str, list[Cells]] = {}
    for row in need["of"]:
        by_way.setdefault(row["kept"], []).append(row)
    ways = "; ".join(
        words.listed(
            [
                f"{row['supported_days']} days instead of {row['printed_days']} in "
                f"{row['format'].replace(' ', words.NBSP)}"
                for row in rows
            ]
        )
        + f", {kept}"
        for kept, rows in by_way.items()
    )
    said = [
        f"{need['beer']}: shorten to {ways}.",
        words.sentence(packages(need["packages"], " with a date still ahead")),
    ]
    held = [row["decision"] for row in need["of"] if row["decision"]]
    if held:
        numbers = words.listed([*dict.fromkeys(f"decision {d['decision_id']}" for d in held)])
        said.append(words.sentence(f"{numbers} stands otherwise"))
    if any(row["first_estimate"] for row in need["of"]):
        said.append(decided.FIRST_ESTIMATE)
    return " ".join(said)


def _oxygen(need: Cells) -> str:
    return (
        f"{words.sentence(line_of(need))[:-1]}, {need['format']}: {change(need)} than last "
        f"quarter. Find what changed; {packages(need['packages'], ' filled in the quarter')}."
    )


def change(row: Cells) -> str:
    """Return by how much oxygen went up or down, with bounds: `30 % more (5 to 61 % more)`."""
    more = row["ratio"] > 1.0
    way = "more" if more else "less"
    low, high = words.rounded(
        *sorted((100 if more else -100) * (row[f"ratio_{end}"] - 1.0) for end in ("lower", "upper"))
    )
    middle = round(100 * abs(row["ratio"] - 1.0))
    return f"{middle}{words.NBSP}% {way} oxygen ({low} to {high}{words.NBSP}%)"


def head(row: Cells) -> str:
    """Return what is known of a head that stands out, and what mending it is worth."""
    sure = f"{words.chance(row['chance'])} sure"
    if row["chance"] < SURE:
        sure = f"but only {sure}"
    worth = ""
    if row["days"] is not None:
        worth = (
            f" Mended, it is worth up to {words.days(row['days'])} ({row['of']}, {row['kept']})."
        )
    low, high = (words.figure(row[f"ratio_{end}"], 1) for end in ("lower", "upper"))
    return (
        f"Head {row['head']} of {line_of(row)} reads {words.figure(row['ratio'], 1)} times the "
        f"others ({low} to {high}), {sure} that it is this one.{worth}"
    )


def _head(need: Cells) -> str:
    filled = packages(need["packages"], " went over that line in the quarter")
    do = "Have it looked at" if need["chance"] >= SURE else "Read six more packages of each head"
    return f"{head(need)} {do}; {filled}."


def _meter(need: Cells) -> str:
    after = "it passed the last" if need["last_passed"] else "it has not passed since"
    lots = (
        f"{words.count(need['lots'], 'lot')} of the quarter read in doubt, "
        f"{packages(need['packages'])}"
        if need["lots"]
        else "no lot of the quarter is in doubt for it"
    )
    return (
        f"Meter {need['meter']} failed {words.of(need['failed'], need['checks'])} checks; {after}: "
        f"have it serviced. {words.sentence(lots)}"
    )


def _complaints(need: Cells) -> str:
    """Say where complaints about taste are more than luck explains; nobody is blamed for it."""
    where = need["name"] or f"no {need['grouping']} given"
    if need["grouping"] == "lot":
        where = f"{need['name']}, {need['format']}"
    return (
        f"{need['grouping'].capitalize()} {where}: {words.whole(need['taste'])} complaints about "
        f"taste in a year, {words.figure(need['expected'], 1)} expected, more than luck explains. "
        f"Look for what they share; about {packages(round(need['packages']), ' drunk')}."
    )


def _not_kept(need: Cells) -> str:
    return (
        f"Lot {need['lot']}, {need['format']} ({need['beer']}) did not keep to its date: "
        f"{words.of(need['rejected'], need['tasted'])} rejected it at "
        f"{words.days(need['age_days'])}, kept at {words.temperature(need['storage_temp_c'])}. "
        f"{words.sentence(packages(need['packages']))}"
    )


def _control(need: Cells) -> str:
    each = "; ".join(
        f"{row['session']} ({on(row['tasted_on'])}, "
        f"{words.of(row['fresh_rejected'], row['fresh_tasted'])})"
        for row in need["of"]
    )
    return f"The blind fresh control was rejected in session {each}: suspect the sample first."


def _assessors(need: Cells) -> str:
    return (
        f"{words.listed(need['of'])}: answers do not follow the rest's. Taste fresh and aged beer "
        "side by side and talk it over."
    )


def _action(need: Cells) -> str:
    due = f", due on {on(need['due_on'])}" if need["due_on"] else ""
    who = f" ({need['who']}{due})" if need["who"] else due
    return (
        f"Agreed on for {need['quarter']} and not done: action {need['action_id']}, "
        f"“{need['what']}”{who}. Keep it or drop it."
    )


_WORDS: dict[str, Callable[[Cells], str]] = {
    "safety complaints": _safety,
    "no validation": _unvalidated,
    "date too long": _too_long,
    "more oxygen": _oxygen,
    "head": _head,
    "meter": _meter,
    "complaints": _complaints,
    "not kept": _not_kept,
    "control failed": _control,
    "assessors": _assessors,
    "action open": _action,
}
_PAGES = {
    "safety complaints": "complaints",
    "no validation": "dates",
    "date too long": "dates",
    "more oxygen": "oxygen",
    "head": "heads",
    "meter": "meters",
    "complaints": "complaints",
    "not kept": "back-test",
    "control failed": "panel",
    "assessors": "assessors",
    "action open": "reviews",
}
