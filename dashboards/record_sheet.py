"""The record sheet of a decision: one page of HTML and PDF, the same bytes from the same record."""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime
from typing import TYPE_CHECKING, Any

from dashboards import decided, words
from dashboards.errors import PdfError
from dashboards.page import environment

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

Cells = dict[str, Any]

SIZES_PT = (9.5, 8.75, 8.0, 7.25)
"""Sizes of the type that are tried, the largest first, until all stands on one page."""

NO_PANGO = (
    "no PDF: the library Pango, which sets its type, is missing. On Debian and Ubuntu: "
    "sudo apt-get install libpango-1.0-0 libpangoft2-1.0-0 fonts-dejavu-core"
)

_CHOICES = {
    "day": "down to whole days",
    "week": "down to whole weeks",
    "month": "down to a month's end, at best",
    "none": "no cap",
    "goes beyond": "beyond the oldest beer tasted",
    "stops there": "at most the oldest beer tasted",
    "0 days": "nothing kept back",
}


def html_of(record: Cells) -> str:
    """Return the sheet of a record as HTML.

    Args:
        record: What was decided, by whom, on what evidence, as `record.json` has it.
    """
    routes, days = record["routes"], record["days"]
    shares = [life["share_rejected"] for life in routes[0]["shelf_lives"]]
    return (
        environment()
        .get_template("record.html")
        .render(
            record=record,
            days=words.days(days),
            decided=_decided(record),
            supported=decided.supported(record["days"], record["supported"]),
            first_estimate=decided.FIRST_ESTIMATE if record["first_estimate"] else "",
            shares=[words.percent(share) for share in shares],
            ways=[_way(route) for route in routes],
            sure=_sure(routes),
            unfit=[decided.undated(route) for route in routes if route["best_before_days"] is None],
            choices=list(_choices(record)),
            own_rule=record["own_rule"],
            evidence=list(_evidence(record)),
            flavour_date=words.FLAVOUR_DATE,
        )
    )


def load_pdf() -> None:
    """Load what sets a PDF and try it, so that the next is quicker.

    Where that fails nothing is said: what is wrong is said when a sheet is set.
    """
    with suppress(Exception):
        pdf_of("<p>")


def pdf_of(html: str, sizes_pt: Sequence[float] = SIZES_PT) -> bytes:
    """Return a sheet as PDF: one page where its type need not go below what can be read.

    Args:
        html: The sheet.
        sizes_pt: Sizes of the type that are tried, the largest first.

    Raises:
        PdfError: Pango, which sets the type, is not there.
    """
    try:
        from weasyprint import CSS, HTML
        from weasyprint.urls import URLFetcher
    except OSError as error:
        raise PdfError(NO_PANGO) from error
    nothing = URLFetcher(allowed_protocols=(), fail_on_errors=True)  # no sheet refers elsewhere
    sheet = HTML(string=html, url_fetcher=nothing)
    for size in sizes_pt:
        made = sheet.render(stylesheets=[CSS(string=f"html {{ font-size: {size}pt !important }}")])
        if len(made.pages) == 1:
            break
    pdf: bytes = made.write_pdf()
    return pdf


def _decided(record: Cells) -> str:
    at = datetime.fromisoformat(record["recorded_at"])
    said = (
        f"Decided for {decided.place(record)}, recorded by {record['recorded_by']} on "
        f"{words.day(at)}, {at:%H:%M}."
    )
    before = "; ".join(
        f"{old['decision']} ({words.days(old['days'])}, {old['recorded_by']}, "
        f"{words.day(datetime.fromisoformat(old['recorded_at']))})"
        for old in record["takes_the_place_of"]
    )
    return f"{said} It takes the place of decision {before}." if before else said


def _way(route: Cells) -> Cells:
    risk = route["at_risk"]
    ended = words.cause(route["binding_cause"])
    days = route["best_before_days"]
    return {
        "name": f"{route['route']}, {words.temperature(route['temp_c'])}",
        "kept": _kept(route),
        "supported": "none" if days is None else f"{words.whole(days)}, {ended}",
        "risk": words.NOTHING if risk is None else decided.at_risk(risk),
        "lives": [
            words.bounded(
                life["shelf_life_days"],
                life["shelf_life_days_lower"],
                life["shelf_life_days_upper"],
            )
            for life in route["shelf_lives"]
        ],
        "basis": _basis(route),
    }


def _kept(route: Cells) -> str:
    kept = f"{route['route']} ({route['market']}), ends at {words.temperature(route['temp_c'])}"
    if route["cold"]:
        shelf = route["shelf_days"]
        warm = "no date" if shelf is None else words.days(shelf)
        kept += f"; on a shelf at {words.temperature(21)} {warm}"
    return kept


def _basis(route: Cells) -> str:
    basis = words.BASIS.get(route["basis"], route["basis"])
    verdicts, lots = words.count(route["verdicts"], "verdict"), words.count(route["lots"], "lot")
    oldest = route["oldest_tasted_days"]
    old = "no beer tasted at about that temperature"
    if oldest is not None:
        old = f"oldest beer tasted so {words.days(oldest)}"
    return f"{basis}: {verdicts} on {lots}; {old}"


def _sure(routes: list[Cells]) -> str:
    sure = words.listed([*dict.fromkeys(words.percent(r["rule"]["confidence"]) for r in routes)])
    return (
        f"In brackets the bounds, each {sure} sure: at least, to at most. Days from packaging; "
        "lives before caps and other ends of life."
    )


def _choices(record: Cells) -> Iterator[Cells]:
    """Yield the date as the rule has it, then under each other choice, a cell for each route."""
    rows = record["alternatives"]
    stands = {row["route"]: row["best_before_days"] for row in rows if row["in_force"]}
    if not stands:
        return
    yield {
        "name": "as the rule has it",
        "cells": [
            {"days": words.whole(stands.get(r["route"])), "now": True} for r in record["routes"]
        ],
    }
    asked = dict.fromkeys((r["choice"], r["setting"]) for r in rows if not r["in_force"])
    by_place = {(row["choice"], row["setting"], row["route"]): row for row in rows}
    for choice, setting in asked:
        found = [by_place.get((choice, setting, route["route"])) for route in record["routes"]]
        yield {
            "name": _choice(choice, setting),
            "cells": [
                {
                    "days": words.whole(row["best_before_days"]) if row else words.NOTHING,
                    "now": bool(row and row["in_force"]),
                }
                for row in found
            ],
        }


def _choice(choice: str, setting: str) -> str:
    if choice == "share":
        return f"{words.glasses(float(setting))} rejected"
    if choice == "confidence":
        return f"{words.percent(float(setting))} sure"
    if choice == "cap" and setting != "none":
        return f"cap of {setting}"
    return _CHOICES.get(setting, f"{setting} kept back")


def _evidence(record: Cells) -> Iterator[str]:
    found = record["evidence"]
    of = words.day(datetime.fromisoformat(found["run_finished_at"]))
    load = "no load"
    if found["newest_load"] is not None:
        on = words.day(datetime.fromisoformat(found["load_finished_at"]))
        load = f"newest load {found['newest_load']} of {on}"
    files = words.count(found["input_files"], "file")
    yield f"Run {found['run']} of {of}, {load}; stalecurve {found['code_version']}."
    yield f"Inputs: {files}, checksum (SHA-256) {found['inputs_sha256']}."
    yield f"Question at every tasting: “{found['question']}”"
    rules: dict[str, list[str]] = {}
    for route in record["routes"]:
        rules.setdefault(route["rule_in_words"], []).append(route["route"])
    for rule, routes in rules.items():
        whose = "Rule" if len(rules) == 1 else f"Rule for {words.listed(routes)}"
        yield f"{whose}: {rule}."
