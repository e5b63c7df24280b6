"""What a run says of a style beyond its dates, in plain sentences; nothing where it says nothing.

Bounds are judged as they are shown, rounded outwards.
"""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import words

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

AT_20 = f"at 20{words.NBSP}°C"
COLD = f"8{words.NBSP}°C"
SURE = 0.05  # of curvature: the usual one in twenty
ASSUMED = (
    "Mostly assumed: lots of unlike oxygen, measured and tasted, would tell how strongly this "
    "style reacts."
)
ALLOWED = "wrong verdicts allowed"
TOO_FEW = f"too{words.NBSP}few to{words.NBSP}say"
DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


def of_style(frame: pl.DataFrame, style: str) -> pl.DataFrame:
    """Return the rows of a style."""
    return frame.filter(pl.col("style") == style)


def share(results: Results) -> str:
    """Return the share of the policy in words."""
    return words.glasses((results.newest_run or {"share_rejected": 0.25})["share_rejected"])


def gap(results: Results, style: str) -> str:
    """Say between which ages most glasses turn unseen."""
    found = next(of_style(results.gaps, style).iter_rows(named=True), None)
    if found is None:
        return ""
    begin = f"{words.sentence(words.part(found['share']))[:-1]} of the glasses turn"
    if found["age_to"] is None:
        return (
            f"{begin} after {words.days(found['age_from'])} {AT_20}, where nobody tasted: an "
            f"older pull would tell."
        )
    return (
        f"{begin} between {words.whole(found['age_from'])} and {words.days(found['age_to'])} "
        f"{AT_20}, where nobody tasted: a pull in between would tell."
    )


def real_time(results: Results, style: str) -> str:
    """Set beer kept at the trade's temperature beside what warmer storage had one expect."""
    found = next(of_style(results.real_time, style).iter_rows(named=True), None)
    if found is None:
        return (
            "The cupboard cannot be checked yet: that takes beer tasted at 15 to "
            f"25{words.NBSP}°C, and warmer storage tasted until half the glasses were rejected."
        )
    lower, upper = words.rounded(found["expected_lower"], found["expected_upper"])
    verdict = "the cupboard and the shelf agree"
    if found["rejected"] < lower:
        verdict = "this beer ages more slowly on the shelf than the cupboard says"
    elif found["rejected"] > upper:
        verdict = "this beer ages faster on the shelf than the cupboard says"
    seen = "was" if found["rejected"] == 1 else "were"
    return (
        f"Warmer storage alone would have had us expect {words.whole(found['expected'])} "
        f"rejections ({words.bounds(lower, upper)}) of {words.whole(found['verdicts'])} glasses "
        f"kept at 15 to 25{words.NBSP}°C, up to {words.days(found['oldest_days'])} old; "
        f"{words.whole(found['rejected'])} {seen} seen: {verdict}."
    )


def curvature(results: Results) -> str:
    """Say whether one line serves warm and cold storage, over all beers."""
    found = next(results.curvature.iter_rows(named=True), None)
    if found is None:
        return ""
    if found["p_value"] >= SURE:
        return "Over all beers, warm and cold storage lie on one line, as far as tastings can tell."
    straight = 1.0 / found["ratio_cold"] - 1.0
    return (
        "Over all beers, warm and cold storage do not lie on one line; the line gives "
        f"{words.percent(round(abs(straight), 2))} too {'much' if straight > 0 else 'little'} at "
        f"{COLD}."
    )


def oxygen(results: Results, style: str) -> list[str]:
    """Say what twice the oxygen dose costs in each format, and how much of it is assumed."""
    found = of_style(results.oxygen_effects, style).filter(pl.col("more") == "twice the dose")
    if found.is_empty():
        return []
    costs = words.listed(
        [
            f"{bounded(c, 'days_lost')} in {c['format'].replace(' ', words.NBSP)}"
            for c in found.rows(named=True)
        ]
    )
    said = (
        f"Twice the oxygen dose would cost, in days {AT_20} until {share(results)} is rejected: "
        f"{costs}."
    )
    return [said, ASSUMED] if (found["source"] == "prior").all() else [said]


def age_of_share(results: Results, style: str) -> float | None:
    """Return the days at 20 °C until the policy's share is rejected, as the dates take it."""
    used = pl.col("treatment") == ALLOWED
    return next(iter(of_style(results.treatments, style).filter(used)["days"]), None)


def readings(results: Results, style: str) -> str:
    """Set what the dates rest on beside the readings that trust every verdict."""
    found = of_style(results.treatments, style).filter(pl.col("days").is_not_null())
    used = age_of_share(results, style)
    others = found.filter(pl.col("treatment") != ALLOWED)["days"].sort().to_list()
    if used is None or not others:
        return ""
    low, high = words.whole(others[0]), words.whole(others[-1])
    spread = words.days(others[0]) if low == high else f"{low} to {words.days(others[-1])}"
    why = (
        " A false alarm looks like staling to them, so they come out short."
        if others[-1] < used
        else ""
    )
    return (
        f"Where any verdict may be wrong, {share(results)} is rejected at {words.days(used)} "
        f"{AT_20}, and the dates rest on that. Ways that take every verdict as right say {spread}."
        f"{why}"
    )


def scores(results: Results, style: str) -> list[str]:
    """Say where each attribute's mean score crosses its cut-off, beside the verdicts."""
    return [_crossing(c) for c in of_style(results.score_crossings, style).rows(named=True)]


def _crossing(crossing: Cells) -> str:
    attribute, verdict_days = crossing["attribute"], crossing["verdict_days"]
    beside = "" if verdict_days is None else f"; the verdicts say {words.days(verdict_days)}"
    apart = "disagrees" in (crossing["note"] or "")
    if crossing["days"] is None:
        return f"The panel's mean score for “{attribute}” does not reach its cut-off{beside}."
    return (
        f"The panel's mean score for “{attribute}” crosses its cut-off at "
        f"{crossing_days(crossing)} days {AT_20}{beside}. "
        + ("The two disagree: the cut-off and the question may not ask the same." if apart else "")
    ).strip()


def crossing_days(crossing: Cells) -> str:
    """Return the age of a crossing with its bounds, which may be open or missing."""
    lower, upper = crossing["days_lower"], crossing["days_upper"]
    days = words.NOTHING if crossing["days"] is None else words.whole(crossing["days"])
    if lower is None and upper is None:
        return days if crossing["days"] is None else f"{days} (bounds{words.NBSP}open)"
    return f"{days} ({words.bounds(lower or 0.0, upper).replace(' ', words.NBSP)})"


def trials(results: Results, style: str) -> list[str]:
    """Say what each change being tried did to the style's life."""
    found = of_style(results.trial_effects, style)
    return [_trial(name, effects) for name, effects in by_change(found).items()]


def by_change(effects: pl.DataFrame) -> dict[str, dict[bool, Cells]]:
    """Return the effects of each change, its oxygen held equal or not."""
    changes: dict[str, dict[bool, Cells]] = {}
    for effect in effects.rows(named=True):
        changes.setdefault(change(effect["trial"]), {})[effect["oxygen_held"]] = effect
    return changes


def change(name: str) -> str:
    """Return the name of a change with its day, if it ends with one, as a reader says it."""
    what, _, on = name.rpartition(", ")
    return f"{what}, {words.day(date.fromisoformat(on))}" if DAY.fullmatch(on) else name


def _trial(name: str, effects: dict[bool, Cells]) -> str:
    lots = words.count(next(iter(effects.values()))["lots"], "lot")
    how = {True: "with the oxygen held equal", False: "with the oxygen that came with it"}
    parts = [f"{how[held]}, {_gain(effects[held])}" for held in (False, True) if held in effects]
    return f"“{name}”, on {lots}: {'; '.join(parts)}."


def _gain(effect: Cells) -> str:
    lower, upper = words.rounded(effect["days_gained_lower"], effect["days_gained_upper"])
    if lower <= 0 <= upper:
        return f"{TOO_FEW} (from {words.difference(lower)} to {words.difference(upper)} days)"
    if lower > 0:
        return f"{words.days(effect['days_gained'])} gained ({words.bounds(lower, upper)})"
    return f"{words.days(-effect['days_gained'])} lost ({words.bounds(-upper, -lower)})"


def gained(effect: Cells | None) -> str:
    """Return the days gained with bounds for a table's cell, or that there is too little."""
    if effect is None:
        return words.NOTHING
    lower, upper = words.rounded(effect["days_gained_lower"], effect["days_gained_upper"])
    bounds = f"{words.difference(lower)} to {words.difference(upper)}".replace(" ", words.NBSP)
    if lower <= 0 <= upper:
        return f"{TOO_FEW} ({bounds})"
    return f"{words.difference(round(effect['days_gained']))} ({bounds})"


def bounded(effect: Cells, name: str) -> str:
    """Return a number of an effect with its bounds."""
    return words.bounded(effect[name], effect[f"{name}_lower"], effect[f"{name}_upper"])
