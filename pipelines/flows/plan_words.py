"""What is said of a planned study."""

from __future__ import annotations

from collections import Counter
from math import ceil, floor
from typing import TYPE_CHECKING

import numpy as np

from analysis.dating.pressure import WARM_ABOVE_C
from analysis.dating.shelf_life import ABOUT_THE_TEMPERATURE_C
from analysis.dating.study import SPOILT_ABOVE_C
from pipelines.flows.lot_words import day

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from analysis.dating.neighbours import Neighbour
    from analysis.dating.plan import Outlook, Target
    from analysis.dating.pressure import Package, StoredAt
    from analysis.dating.rounding import BestBefore

BURST = (
    "Warm, carbonated packages can burst: guards, gloves, eye protection, the maker's limits, "
    "local rules."
)
_MAY_RISE = "Pressure may rise above this figure. Do not force this beer in glass."
_FORCED = (
    f"Above {SPOILT_ABOVE_C:g} °C beer ages in ways that it does not take on the shelf, and a date "
    "made from there comes out wrong: store cooler, and some of it at the trade's own temperature."
)
_ENDS = {
    "cap": "the policy's own cap ends it first",
    "oldest tasted": "no beer that old would have been tasted at about that temperature",
    "route": "the rest of it goes on the way",
}


def plan_lines(
    outlook: Outlook,
    larger: Sequence[Neighbour],
    target: Target,
    stored: Sequence[StoredAt],
    package: Package,
    no_fit: str | None,
    wish_days: int | None,
) -> Iterator[str]:
    """Say what a study would bring, what would help, and what the packages can take.

    Args:
        outlook: Of the study.
        larger: Studies with one thing more, the best for its packages first.
        target: The date.
        stored: Every storage that was asked for.
        package: The package.
        no_fit: Why there is no fit; None where there is one.
        wish_days: The date that is wished for.
    """
    yield from _today(outlook, target, no_fit)
    yield _study(outlook)
    yield from _brings(outlook, target, wish_days)
    yield from additions_lines(larger)
    yield from _pressure(stored, package)
    yield from _cautions(outlook, target, stored)


def _today(outlook: Outlook, target: Target, no_fit: str | None) -> Iterator[str]:
    study, route = outlook.study, target.route
    sure = round(200.0 * target.rule.confidence - 100.0)
    lower, middle, upper = outlook.today
    yield (
        f"{study.style}, {study.format}, kept as '{route.name}' says (about "
        f"{route.last_temp_c:g} °C): today {middle:.0f} days, {sure} % sure between {lower:.0f} "
        f"and {upper:.0f}."
    )
    if no_fit is not None:
        yield f"There is no estimate yet ({no_fit}): all of this is assumed, nothing measured."
    elif target.life is None:
        yield "None of it was filled yet: its days are lent by others, or assumed."


def _study(outlook: Outlook) -> str:
    study = outlook.study
    arms = "; ".join(
        f"at {arm.temp_c:g} °C pulls on day {_and([str(pull) for pull in arm.pulls])}"
        for arm in study.arms
    )
    return (
        f"The study: {_count(study.lots, 'lot')}, {arms}; "
        f"{_count(len(study.assessors), 'taster')}, {100 * study.attendance:.0f} % "
        "of whom come. "
        f"{_count(study.samples, 'sample')}, {_count(study.sittings, 'sitting')} with a fresh "
        f"control, {_count(study.packages, 'package')}; {day(study.begins)} to {day(study.ends)}."
    )


def _brings(outlook: Outlook, target: Target, wish_days: int | None) -> Iterator[str]:
    narrow, wide = np.nanquantile(outlook.widths, (0.1, 0.9))
    low, high = np.quantile(outlook.lower, (0.1, 0.9))
    tried, settled = len(outlook.days), int(outlook.settled.sum())
    yield (
        f"In {settled} simulated studies the bounds end {outlook.width:.0f} days apart on average "
        f"({narrow:.0f} to {wide:.0f} in eight of ten); today it is {outlook.width_today:.0f}. The "
        f"lower bound, which the date is made from, is {outlook.today[0]:.0f} days today and then "
        f"{low:.0f} to {high:.0f} in eight of ten."
    )
    if settled < tried:
        yield f"{tried - settled} more did not settle on an estimate and are left out."
    if wish_days is None:
        return
    now = target.date(float(outlook.today[0]))
    supported = now.days is not None and now.days >= wish_days
    yield (
        f"A date of {wish_days} days at about {target.route.last_temp_c:g} °C: today "
        f"{_given(now)}; the study supports it in {_how_often(outlook, wish_days)}"
        f"{_why_not(outlook, wish_days, supported=supported)}."
    )


def _how_often(outlook: Outlook, wish_days: int) -> str:
    """Say in how many simulated studies, and what so many of them can tell."""
    count, tried = outlook.supporting(wish_days), len(outlook.dates)
    low, high = (100.0 * share for share in outlook.chance(wish_days))
    if count == 0:
        return f"none of {tried}, so in at most {ceil(high)} % of such studies"
    if count == tried:
        return f"all {tried}, so in at least {floor(low)} % of such studies"
    return f"{count} of {tried}, so in {floor(low)} to {ceil(high)} % of such studies"


def _given(now: BestBefore) -> str:
    return "no date is supported" if now.days is None else f"{now.days} are supported"


def _why_not(outlook: Outlook, wish_days: int, *, supported: bool) -> str:
    """Say what holds it back most often, where that is not the beer's flavour."""
    short = [d.binding_cause for d in outlook.dates if d.days is None or d.days < wish_days]
    if supported or 2 * len(short) < len(outlook.dates):
        return ""
    ((cause, number),) = Counter(short).most_common(1)
    if cause == "flavour" or 2 * number < len(short):
        return ""
    return f"; {_ENDS.get(cause, f'{cause} ends it first')}"


def additions_lines(larger: Sequence[Neighbour]) -> Iterator[str]:
    """Say what each larger study brings, the best for its packages first, and which helps most."""
    yield "One thing more: days narrower, packages and sittings more"
    longest = max(len(found.what) for found in larger)
    for found in larger:
        days = f"{found.narrower_days:.0f}" if found.helps else "too few to tell"
        yield f"  {found.what:<{longest}}  {days:>15}  {found.packages:3}  {found.sittings:3}"
    helping = [found for found in larger if found.helps]
    if not helping:
        yield "None of them narrows the date by a day that is more than the simulation's scatter."
        return
    best = helping[0]
    most = "; for its packages it helps most" if best.packages else ""
    yield f"Adding {best.what} narrows the date by {_narrower(best)} for {_cost(best)}{most}."
    by_sitting = max(helping, key=lambda found: found.by_sitting)
    if by_sitting is not best:
        yield (
            f"For its sittings {by_sitting.what} helps most: {_narrower(by_sitting)} for "
            f"{_cost(by_sitting)}."
        )
    widest = max(helping, key=lambda found: found.narrower_days)
    if widest not in (best, by_sitting):
        yield (
            f"Most of all {widest.what} narrows it: by {_narrower(widest)}, for {_cost(widest)}."
        )


def _cost(found: Neighbour) -> str:
    taken = ((found.packages, "package"), (found.sittings, "sitting"))
    more = [_count(number, noun) for number, noun in taken if number]
    return " and ".join(more) or "no more packages or sittings"


def _narrower(found: Neighbour) -> str:
    return _count(round(found.narrower_days), "day")


def _pressure(stored: Sequence[StoredAt], package: Package) -> Iterator[str]:
    if package.co2_volumes is None:
        yield (
            "The pressure in the warm is not known: no lot of it has co2_volumes or co2_g_per_l."
        )
    else:
        yield (
            f"Pressure above the atmosphere by its CO2 alone, {package.co2_volumes:.1f} volumes "
            f"at most; {_limit(package)}:"
        )
    for at in stored:
        told = [] if at.bar is None else [f"{at.bar:.1f} bar"]
        told += ["within the limit"] if at.within else []
        told += [] if at.left_out is None else [f"left out of the study: {at.left_out}"]
        if told:
            yield f"  {at.temp_c:g} °C: {', '.join(told)}"
    if package.at_rest is None:
        yield (
            "Whether it holds live yeast or sugar is not known (beers: live_yeast_or_sugar), so "
            f"nothing is said to be within the limit. {_MAY_RISE}"
        )
    elif not package.at_rest:
        yield f"It holds live yeast or sugar. {_MAY_RISE}"


def _limit(package: Package) -> str:
    if package.limit_bar is None:
        return "the package's limit is not known (formats: pressure_limit_bar): ask its maker"
    return f"the package's limit is {package.limit_bar:g} bar"


def _cautions(outlook: Outlook, target: Target, stored: Sequence[StoredAt]) -> Iterator[str]:
    temps = [arm.temp_c for arm in outlook.study.arms]
    last = target.route.last_temp_c
    if all(abs(temp_c - last) > ABOUT_THE_TEMPERATURE_C for temp_c in temps):
        yield (
            f"No storage of the study is near {last:g} °C, where the beer waits to be drunk: "
            "the date would rest on beer kept warmer or colder."
        )
    if max(temps) > SPOILT_ABOVE_C:
        yield _FORCED
    if any(at.temp_c > WARM_ABOVE_C for at in stored):
        yield BURST
    yield "Tasting is drinking: small pours, spitting, nobody obliged, nobody driving."


def _and(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"
