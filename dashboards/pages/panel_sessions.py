"""The part of the panel's page on its sessions, and on the order of the glasses."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import words
from dashboards.page import Column, Row, Table, rows, run_source

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

NO_SESSIONS = "No session yet: the tables samples and tastings fill this."
NO_ORDER = (
    "The place of a glass in its taster's order is not written down: the column position of the "
    "table tastings fills this, and stalecurve sheets lays it out."
)
EFFECTS = {
    "first": "First glass, against later ones",
    "each place later": "Each place later, from the second on",
    "after a rejected": "After a rejected glass, against after an accepted one",
}
SAID = {
    "first": "the first glass of a sitting is rejected {how} than the same beer later",
    "each place later": "from the second on, each place later is rejected {how}",
    "after a rejected": "a glass after a rejected one is rejected {how} than after an accepted one",
}


def context(results: Results) -> dict[str, Any]:
    """Return what `panel_sessions.html` shows, as the value of `panel_sessions`."""
    return {
        "lead": _lead(results),
        "doubtful": _doubtful(results),
        "lacking": _lacking(results),
        "waited": _waited(results),
        "order_lead": _order_lead(results),
        "order": _order(results),
    }


def tables(results: Results) -> tuple[Table, ...]:
    """Return its tables, which the page that shows it downloads."""
    return (_doubtful(results), _lacking(results), _waited(results), _order(results))


def _lead(results: Results) -> str:
    sessions = results.panel_sessions
    if sessions.is_empty():
        return ""
    since = words.day(sessions.select(pl.col("tasted_on").min()).item())
    held = sessions.filter(~pl.col("no_fresh")).height
    if not held:
        return (
            f"None of {words.count(sessions.height, 'session')} since {since} had a blind fresh "
            "control, so nothing tells a strict mood from stale beer."
        )
    failed = sessions.filter("fresh_failed")
    of_all = f"of {words.count(held, 'session')} with a blind fresh control since {since}"
    if failed.is_empty():
        return f"The control failed in none {of_all}."
    newest = failed.row(-1, named=True)
    return (
        f"The control failed in {words.in_letters(failed.height)} {of_all}"
        f"{':' if failed.height == 1 else '; the newest:'} session {newest['session']} "
        f"({words.day(newest['tasted_on'])}), where "
        f"{words.of(newest['fresh_rejected'], newest['fresh_tasted'])} rejected the fresh beer and "
        f"{words.figure(newest['fresh_expected'], 1)} would be usual."
    )


def _fresh(session: Cells) -> str:
    age = words.days(session["fresh_age_days"])
    return f"{age} old, kept at {words.temperature(session['fresh_storage_temp_c'])}"


def _suspect(session: Cells) -> str:
    """Say what to look at first."""
    warm = words.temperature(session["fresh_storage_temp_c"])
    match session["suspect"]:
        case "kept warm":
            return f"Suspect the sample first: it was kept at {warm}, which is not cold."
        case "old":
            return f"Suspect the sample first: it was {_fresh(session)}."
        case "waited":
            waited = words.days(session["fresh_waited_days"])
            return f"Suspect the sample first: it waited {waited} after its pull from {warm}."
        case _:
            return (
                f"Nothing is known against the sample ({_fresh(session)}): taste another "
                "package of that lot, and if it is sound, look at what the panel had that day."
            )


def _doubtful(results: Results) -> Table:
    failed = results.panel_sessions.filter("fresh_failed").reverse()
    return Table(
        name="panel-sessions",
        caption="Sessions whose fresh control failed",
        columns=(
            Column("Session"),
            Column("Tasted"),
            Column("Fresh beer rejected", figures=True),
            Column("Usual", figures=True),
            Column("Fresh beer", wide=True),
        ),
        rows=tuple(
            Row(
                (
                    s["session"],
                    words.day(s["tasted_on"]),
                    words.of(s["fresh_rejected"], s["fresh_tasted"]),
                    words.figure(s["fresh_expected"], 1),
                    _fresh(s),
                ),
                note=_suspect(s),
            )
            for s in failed.rows(named=True)
        ),
        frame=failed.drop("run_id"),
        source=run_source(results, words.count(results.panel_sessions.height, "session")),
        empty=(
            NO_SESSIONS
            if results.panel_sessions.is_empty()
            else "None, as far as blind fresh controls were served: samples with the role fresh "
            "tell."
        ),
    )


def _lacking(results: Results) -> Table:
    lacking = results.panel_sessions.filter(
        pl.any_horizontal("no_fresh", "few_assessors", "many_glasses")
    ).reverse()
    return Table(
        name="panel-sessions-lacking",
        caption="Sessions that lacked something",
        columns=(
            Column("Session"),
            Column("Tasted"),
            Column("Tasters", figures=True),
            Column("Most glasses", figures=True),
            Column("Lacked"),
        ),
        rows=rows(
            (
                s["session"],
                words.day(s["tasted_on"]),
                words.whole(s["assessors"]),
                words.whole(s["most_glasses"]),
                _lacked(s),
            )
            for s in lacking.rows(named=True)
        ),
        frame=lacking.drop("run_id"),
        source=run_source(results, words.count(results.panel_sessions.height, "session")),
        empty=(
            NO_SESSIONS
            if results.panel_sessions.is_empty()
            else "Every session had a fresh control, four tasters and six glasses at most."
        ),
    )


def _lacked(session: Cells) -> str:
    said = {
        "no_fresh": "a fresh control",
        "few_assessors": "a fourth taster",
        "many_glasses": "rest: more than six glasses tire",
    }
    return words.listed([text for flag, text in said.items() if session[flag]])


def _waited(results: Results) -> Table:
    waited = results.waited_samples.sort("waited_days", "sample", descending=[True, False])
    return Table(
        name="panel-waited",
        caption="Samples that waited long between pull and tasting",
        columns=(
            Column("Sample"),
            Column("Beer"),
            Column("Stored at"),
            Column("Tasted"),
            Column("Waited, days", figures=True),
        ),
        rows=rows(
            (
                f"{w['sample']}, {w['role']}",
                f"{w['beer']}, {w['format']}",
                words.temperature(w["storage_temp_c"]),
                words.day(w["tasted_on"]),
                words.whole(w["waited_days"]),
            )
            for w in waited.rows(named=True)
        ),
        frame=waited.drop("run_id"),
        source=run_source(results, words.count(waited.height, "sample")),
        empty=(
            NO_SESSIONS
            if results.panel_sessions.is_empty()
            else "None: every sample was tasted in time."
        ),
    )


def _order_lead(results: Results) -> str:
    verdicts = results.order_effects.filter(outcome="rejected")
    if verdicts.is_empty():
        return ""
    told = verdicts.drop_nulls("estimate")
    if told.is_empty():
        return f"Whether the order matters cannot be said: {verdicts['reason'][0]}."
    shown = told.filter((pl.col("lower") > 0) | (pl.col("upper") < 0))
    if shown.is_empty():
        most = told.select(pl.max_horizontal(pl.col("lower").abs(), "upper").max()).item()
        return (
            "Neither place nor the glass before shows in the verdicts; what may be there all the "
            f"same is at most {words.percent(round(most, 2))} of glasses."
        )
    said = [SAID[e["effect"]].format(how=_how(e)) for e in shown.rows(named=True)]
    return " ".join(words.sentence(text) for text in said)


def _how(effect: Cells) -> str:
    """Say `8 % more often (3 to 13)`, in shares of glasses."""
    low, high = sorted(abs(effect[end]) for end in ("lower", "upper"))
    way = "more" if effect["estimate"] > 0 else "less"
    figures = [words.plain(round(100 * value)) for value in (abs(effect["estimate"]), low, high)]
    return f"{figures[0]}{words.NBSP}% {way} often ({figures[1]} to {figures[2]}{words.NBSP}%)"


def _order(results: Results) -> Table:
    effects = results.order_effects
    return Table(
        name="panel-order",
        caption="What the place of a glass and the glass before it do (90 % sure)",
        columns=(
            Column("Effect"),
            Column("On"),
            Column("More by (with bounds)", figures=True),
            Column("Glasses", figures=True, wide=True),
        ),
        rows=tuple(
            Row(
                (
                    EFFECTS[e["effect"]],
                    "rejections, % of glasses"
                    if e["outcome"] == "rejected"
                    else f"{e['outcome'].replace('_', ' ')}, points",
                    _more(e),
                    words.whole(e["glasses"]),
                ),
                note=words.sentence(e["reason"] or ""),
                narrow=f"Glasses: {words.whole(e['glasses'])}.",
            )
            for e in effects.rows(named=True)
        ),
        frame=effects.drop("run_id"),
        source=run_source(results, "glasses with their place written down"),
        empty=NO_ORDER,
    )


def _more(effect: Cells) -> str:
    if effect["estimate"] is None:
        return words.NOTHING
    scale = 100 if effect["outcome"] == "rejected" else 1
    digits = 0 if effect["outcome"] == "rejected" else 1
    value, low, high = (
        words.figure(scale * effect[end], digits) for end in ("estimate", "lower", "upper")
    )
    return f"{value} ({low} to {high})"
