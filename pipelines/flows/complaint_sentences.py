"""Each fact about a complaint's lot in a sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from analysis.dating.lot_today import ENOUGH
from dashboards import words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analysis.dating.routes import Route
    from pipelines.flows.complaint_asked import Asked

Cells = dict[str, Any]

_PLACES = {
    "this lot": "this lot",
    "same tank": "the same tank in another format",
    "same line and week": "the same beer and line in that week",
}


def oxygen(lot: Cells) -> str:
    """Say what was read of a lot's oxygen, beside its line; `lot` is a row of `judged`."""
    late = lot["late"] + lot["part"]
    if lot["total_ppb"] is not None:
        bounds = words.bounds(lot["lower_ppb"], lot["upper_ppb"])
        packages = words.count(lot["packages"], "package")
        read = f"{words.whole(lot['total_ppb'])} ppb ({bounds}) from {packages}"
    else:
        read = f"at least {words.whole(lot['at_least_ppb'])} ppb"
    if late:
        read += f", {late} of them late or in part, which count as at least that much"
    line = "no usual level of its line is known yet"
    if lot["line_ppb"] is not None:
        limits = f"{words.whole(lot['limit_lower_ppb'])} to {words.whole(lot['limit_upper_ppb'])}"
        beyond = "above its line's limit" if lot["above_line"] else "within its line's limits"
        line = f"{beyond}, usual {words.whole(lot['line_ppb'])} (limits {limits})"
    few = f"; fewer than {ENOUGH} packages say little" if lot["packages"] < ENOUGH else ""
    return f"Oxygen at filling: {read}; {line}{few}."


def doubt(row: Cells) -> str:
    """Say which readings a meter in doubt took."""
    readings = words.count(row["readings"], "reading")
    return (
        f"{words.sentence(readings)[:-1]} of this lot came from meter {row['meter']} while it was "
        "in doubt, between a failed check and the good ones around it: the oxygen counts for less."
    )


def head(row: Cells, line: str | None) -> str:
    """Say which head of the line reads more than the others."""
    ratio = words.figure(row["ratio"], 1)
    chance = words.chance(row["chance"])
    return (
        f"Head {row['head']} of {line or 'the line'}, one of {row['heads']}, reads {ratio} times "
        f"the others about that time ({chance} sure); which head filled this package is not known."
    )


def position(row: Cells) -> str:
    """Say where in the run a package was filled."""
    minutes = words.count(row["minutes"], "minute")
    if not row["start"]:
        return f"Its printed time is {minutes} into the run, not at its start."
    reads = row["reads"]
    more = (
        f", where packages read {words.figure(reads['ratio'], 1)} times the rest" if reads else ""
    )
    return f"Its printed time is {minutes} into the run: at its start{more}."


def samples(group: Sequence[Cells]) -> str:
    """Say how samples were judged, those kept alike together, the warmest last."""
    said = []
    for (whose, temp_c), rows in _kept_alike(group).items():
        ages = sorted({(row["pulled_on"] - row["packaged_on"]).days for row in rows})
        span = words.days(ages[0]) if len(ages) == 1 else f"{ages[0]} to {words.days(ages[-1])}"
        judged = words.of(sum(r["rejected"] for r in rows), sum(r["tasted"] for r in rows))
        place = "" if whose == "this lot" else f", {_PLACES[whose]}"
        said.append(f"kept at {words.temperature(temp_c)}, {span} old{place}: {judged} rejected")
    doubted = sum(row["doubted"] for row in group)
    caution = ""
    if doubted:
        caution = (
            f" The fresh control failed in a session of {doubted} of them: believe these less."
        )
    return f"{words.sentence('; '.join(said))}{caution}"


def _kept_alike(group: Sequence[Cells]) -> dict[tuple[str, float], list[Cells]]:
    alike: dict[tuple[str, float], list[Cells]] = {}
    for row in sorted(group, key=lambda r: (r["storage_temp_c"], r["whose"])):
        alike.setdefault((row["whose"], row["storage_temp_c"]), []).append(row)
    return alike


def told(asked: Asked, last_c: float) -> str:
    """Say how a package was kept, as somebody told, beside its route."""
    days = "" if asked.storage_days is None else f" for {words.days(asked.storage_days)}"
    return (
        f"Said to have been kept at {words.temperature(asked.storage_temp_c)}{days}; its route "
        f"ends at {words.temperature(last_c)}."
    )


def logged(heat: Cells, route: Route) -> str:
    """Say what loggers read in the weeks before."""
    mean, high = round(heat["mean_c"], 1), round(heat["highest_c"], 1)
    loggers = words.count(heat["loggers"], "logger")
    where = "with this lot" if heat["with_lot"] else f"with other beer on '{route.name}'"
    return (
        f"In the eight weeks before, {loggers} {where} read "
        f"{words.temperature(mean)} on average, {words.temperature(high)} at most; the route ends "
        f"at {words.temperature(route.last_temp_c)}."
    )


def season(*, summer: bool) -> str:
    """Say which season it was, where no logger lay."""
    when = "It was summer" if summer else "It was not summer"
    return f"{when} four to ten weeks before (June to August: assumed); no logger lay on its route."


def others(observed: int, expected: float, *, at_outlet: bool) -> str:
    """Say how many other complaints about taste there were, beside how many were to be expected."""
    place = "on other lots at this outlet within a year" if at_outlet else "on this lot so far"
    number = words.counted(observed, "other taste complaint", "was made", "were made")
    return (
        f"{words.sentence(number)[:-1]} {place}; {words.figure(expected, 2)} were to be expected "
        "of so many packages drunk."
    )
