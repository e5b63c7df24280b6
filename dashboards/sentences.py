"""Findings of a run in plain sentences: what needs a person, cautions, and what a date means."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dashboards.results import Results

Cells = dict[str, Any]

NEEDS = {
    "printed too long": (
        "{packed}: the date printed on the newest lot is {days} longer than the data support{kept}"
    ),
    "not fit for route": (
        "{packed}: not fit for the route{ends}; the way there uses the life up, so there is no date"
    ),
    "route incomplete": (
        "Route '{route}': a stage is missing or has no days, so nothing is dated on it; mend it in "
        "the table route_stages"
    ),
    "lots without beer or format": (
        "{packed}: its lots name a beer or format that was withdrawn, so they are left out"
    ),
    "no safety validation": f"{{packed}}: no date. {words.NO_VALIDATION}",
    "no estimate": "{packed}: not estimated, because {why}",
    "fresh control rejected": (
        "{sessions}: more of the panel rejected the blind fresh control than its false alarms "
        "explain; suspect the sample first"
    ),
    "lent date": (
        "{packed}: not tasted yet; the date{kept}, is lent by other formats: treat it as a trial"
    ),
}

# These concern a beer in a format on any route; the route that comes with them is one of many.
WHATEVER_ROUTE = {"no safety validation", "no estimate"}

CAUTIONS = {
    "one temperature": (
        "All beer of this style was kept at one temperature: how it ages at another is assumed, "
        "not seen."
    ),
    "above 40": (
        f"Some of this beer was kept above 40{words.NBSP}°C, where other reactions take over: what "
        f"it says about the trade's temperature is uncertain."
    ),
    "lent by other formats": (
        "Not tasted yet: {formats}. The date is lent by other formats: treat it as a trial."
    ),
    "first estimate": (
        "First estimate, unchecked{in_formats}: do not change a label on this alone until one set "
        "of retained samples has reached its date."
    ),
    "none at route temperature": (
        "No beer of this style has been tasted at about the temperature where the route ends"
        "{places}. The date rests on other storage."
    ),
    "beyond oldest tasted": (
        "The life estimated goes beyond the oldest beer tasted at about that temperature{places}."
    ),
    "few lots": (
        "Few lots{in_formats} have been tasted: too few to say how much lots differ, so the bounds "
        "lean on what is assumed."
    ),
    "two wordings": (
        "Some verdicts on this style answer an earlier wording of the question and are counted "
        "with the rest, though two wordings are two measurements: taste again with the new one."
    ),
    "assessors left out": (
        "The verdicts of {tasters} are left out of the whole run: blind fresh beer was rejected "
        "more often than mistakes explain, so another question was answered."
    ),
    "samples left out": (
        "{samples} left out of the whole run: placed before the lot was packaged, or pulled before "
        "being placed; mend the days in the tables lots and samples."
    ),
    "oxygen assumed": "The package oxygen{in_formats} was not measured; it is assumed.",
}


@dataclass(frozen=True)
class Route:
    """A storage route in words.

    Attributes:
        name: As the routes table calls it.
        last: Temperature of its last stage, where the beer waits to be drunk.
        stages: All its stages: `14 days at 12 °C, then 21 °C`.
        storage_text: What the package says about storage; may be empty.
    """

    name: str
    last: str
    stages: str
    storage_text: str

    @property
    def ends(self) -> str:
        """The route with its temperature: `ambient, ends at 21 °C`."""
        return f"{self.name}, ends at {self.last}"

    @property
    def kept(self) -> str:
        """How beer is kept on it: `kept as 'ambient' says (about 21 °C)`."""
        return f"kept as '{self.name}' says (about {self.last})"


def routes(results: Results) -> dict[str, Route]:
    """Return every route that a date, of now or a week ago, or the routes table names."""
    stages: dict[str, list[Cells]] = {
        route: list(group)
        for route, group in groupby(
            results.routes.sort("route", "stage_no").iter_rows(named=True), lambda s: s["route"]
        )
    }
    named = {
        *stages,
        *results.dates["route"],
        *results.beer_dates["route"],
        *results.date_changes["route"],
    }
    return {name: _route(name, stages.get(name, [])) for name in sorted(named)}


def _route(name: str, stages: list[Cells]) -> Route:
    parts = [
        words.temperature(s["temp_c"])
        if s["days"] is None
        else f"{words.days(s['days'])} at {words.temperature(s['temp_c'])}"
        for s in stages
    ]
    last = stages[-1] if stages else {"temp_c": None, "storage_text": None}
    return Route(
        name, words.temperature(last["temp_c"]), ", then ".join(parts), last["storage_text"] or ""
    )


def attention(results: Results) -> tuple[str, ...]:
    """Return what needs a person, in sentences, most days at stake first.

    What differs in its beer alone is told in one sentence, where the first of them stands.
    """
    ways = routes(results)
    lines = list(results.attention.sort("rank").iter_rows(named=True))
    told = {line["session"] for line in lines}
    lines += [
        {"what": "fresh control rejected", "session": session}
        for session in results.flagged_sessions["session"]
        if session not in told
    ]
    alike: dict[tuple[Any, ...], list[Cells]] = {}
    for line in lines:
        route = None if line["what"] in WHATEVER_ROUTE else line.get("route")
        why = _why_not(line, results) if line["what"] == "no estimate" else ""
        alike.setdefault((line["what"], route, line.get("days"), why), []).append(line)
    return tuple(
        words.sentence(
            NEEDS.get(what, "{packed}: {what}{kept}").format(
                what=what,
                route=route,
                packed="; ".join(dict.fromkeys(_packed(line) for line in group)),
                kept=f", {ways[route].kept}" if route in ways else "",
                ends=f" '{route}', which ends at {ways[route].last}" if route in ways else "",
                days=words.days(days),
                why=why,
                sessions=_sessions(group, results),
            )
        )
        for (what, route, days, why), group in alike.items()
    )


def set_aside(results: Results) -> str:
    """Return the one line on rows set aside, or nothing when there are none."""
    places = results.set_aside.select("file", "sheet", "row_number").unique()
    if places.is_empty():
        return ""
    files = words.count(places["file"].n_unique(), "file")
    stand = "stands" if places.height == 1 else "stand"
    return f"{words.count(places.height, 'row')} of {files} {stand} aside and wait to be mended."


def _packed(line: Cells) -> str:
    subject = line.get("beer") or line.get("style") or "a beer"
    return f"{subject}, {line['format']}" if line.get("format") else subject


def _why_not(line: Cells, results: Results) -> str:
    found = results.styles.filter(pl.col("style").eq_missing(line.get("style")))["reason"].to_list()
    run = results.newest_run or {}
    return next((r for r in [*found, run.get("reason")] if r), "the reason was not recorded")


def _sessions(group: list[Cells], results: Results) -> str:
    """Return sessions with day and counts: `session 12 (7 Apr 2026, 3 of 8)`."""
    known = {s["session"]: s for s in results.flagged_sessions.iter_rows(named=True)}
    named = [line["session"] for line in group if line.get("session")]
    said = [
        f"{name} ({words.day(s['tasted_on'])}, {words.of(s['fresh_rejected'], s['fresh_tasted'])})"
        if (s := known.get(name))
        else name
        for name in named
    ]
    return f"session{'' if len(said) == 1 else 's'} {words.listed(said)}"


def meaning(route: Route, date: Cells, cells: str) -> str:
    """Return what the dates of a route mean: how sure, which share, and the days of each format."""
    return (
        f"{words.sentence(route.kept)[:-1]}, we are {words.percent(date['confidence'])} sure that "
        f"on this date no more than {words.glasses(date['share_rejected'])} would be rejected by "
        f"our tasters for age: {cells} after packaging."
    )


def evidence(style: Cells) -> str:
    """Return the counts behind a style, and the oldest beer tasted with its temperature."""
    if not style["verdicts"]:
        return "No verdict on aged beer of this style yet."
    tasted = (
        "its age is not known"
        if style["oldest_tasted_days"] is None
        else f"oldest tasted {words.days(style['oldest_tasted_days'])} at "
        f"{words.temperature(style['oldest_tasted_temp_c'])}"
    )
    return (
        f"From {words.count(style['lots'], 'lot')}, {words.count(style['verdicts'], 'verdict')} "
        f"by {words.count(style['assessors'], 'taster')}, "
        f"{words.count(style['rejected'], 'rejection')}; {tasted}."
    )


def cautions(results: Results, style: str, format_: str | None = None) -> tuple[str, ...]:
    """Return the cautions of a style, of one format where given, those alike in one sentence."""
    ways = routes(results)
    found = results.cautions.filter(pl.col("style") == style).sort("caution", maintain_order=True)
    if format_ is not None:
        found = found.filter(pl.col("format").is_null() | (pl.col("format") == format_))
    return tuple(
        _caution(code, list(group), ways)
        for code, group in groupby(found.iter_rows(named=True), lambda c: c["caution"])
    )


def _where(caution: Cells, ways: Mapping[str, Route]) -> str:
    route = ways.get(caution["route"] or "")
    way = f"'{route.name}' ({route.last})" if route else ""
    age = f"{words.days(caution['days'])}" if caution["days"] is not None else ""
    return ", ".join(part for part in (caution["format"] or "", way, age) if part)


def _caution(code: str, group: list[Cells], ways: Mapping[str, Route]) -> str:
    places = "; ".join(dict.fromkeys(place for c in group if (place := _where(c, ways))))
    formats = words.listed([*dict.fromkeys(c["format"] for c in group if c["format"])])
    return CAUTIONS.get(code, "{code}{places}.").format(
        code=code,
        places=f": {places}" if places else "",
        formats=formats or "a format",
        in_formats=f" in {formats}" if formats else "",
        samples=words.count(round(group[0]["days"] or 0), "sample"),
        tasters=words.count(round(group[0]["days"] or 0), "taster"),
    )
