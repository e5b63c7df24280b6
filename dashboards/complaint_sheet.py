"""The answer to a complaint: one page of HTML, and the same as PDF."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dashboards import complaint_evidence as evidence
from dashboards import complaint_words as said
from dashboards import words
from dashboards.complaint_reply import HEADING, draft
from dashboards.complaint_timeline import timeline
from dashboards.page import environment

if TYPE_CHECKING:
    from collections.abc import Iterator

Cells = dict[str, Any]

_FITS = {
    "yes": "fits",
    "swapped": "fits with day and month swapped",
    "month": "fits the month alone",
    "near": "nearly fits",
    "no": "does not fit",
    "unknown": "is not known of this lot",
}
_OXYGEN = {"usual": "an ordinary lot", "this lot": "this lot, as read"}
_SOURCE_OF_C = "Temperatures worked out backwards like this were 3 to 11 °C off where checked."


def html_of(record: Cells) -> str:
    """Return the page of an answer as HTML.

    Args:
        record: What is known, as the record of the answer has it.
    """
    if record["safety"]:
        return _render("complaint_stop.html", record, _stop(record))
    found = record["known"]
    context: Cells = {"known": [], "unknown": [], "columns": None, "age": ""}
    if found is not None:
        known, unknown = evidence.known(record)
        aged = found["day"]["age_days"] > 0
        context = {
            "known": known,
            "unknown": unknown,
            "columns": evidence.columns(record),
            "age": evidence.age(record) if aged else "",
        }
    return _render(
        "complaint.html",
        record,
        {
            **context,
            "lots": list(_lots(record)),
            "leader": said.CAUSES[said.leading(record)] if record["odds"] else "",
            "odds": list(_odds(record)),
            "only_these": said.ONLY_THESE,
            "explains": list(_explains(record)),
            "off_by": _SOURCE_OF_C,
            "ends_at": words.temperature(found["route"]["last_temp_c"]) if record["odds"] else "",
            "steps": list(_steps(record)),
            "timeline": timeline(record),
            "others": _others(record),
            "reply_heading": HEADING,
            "reply": draft(record),
        },
    )


def _render(template: str, record: Cells, context: Cells) -> str:
    asked = record["asked"]
    return (
        environment()
        .get_template(template)
        .render(
            record=record,
            asked=asked,
            title=said.subject(record),
            subject=", ".join(
                part
                for part in (
                    words.listed(asked["categories"]),
                    f"lot {asked['lot']}" if asked["lot"] else "lot not told",
                    asked["format"] or "",
                    f"received {said.day(asked['received_on'])}",
                )
                if part
            ),
            answer=said.answer(record),
            rests_on=_rests_on(record),
            **context,
        )
    )


def _stop(record: Cells) -> Cells:
    stop = record["stop"]
    by_category: dict[str, list[str]] = {}
    for touch in stop["touched"]:
        told = (
            "by its category"
            if touch["word"] is None
            else f"by “{touch['word'].replace('*', '…')}” in the note ({touch['language']})"
        )
        by_category.setdefault(touch["what"] or "a word of your own list", []).append(told)
    return {
        "because": [
            f"{what}: {words.listed(list(dict.fromkeys(told)))}"
            for what, told in by_category.items()
        ],
        "what_to_do": said.WHAT_TO_DO,
        "lots": [
            f"{lot['beer']}, {lot['format']}, lot {lot['lot']}, packaged "
            f"{said.day(lot['packaged_on'])}: "
            + (words.count(lot["packages"], "package") if lot["packages"] else "packages not known")
            + (f", {lot['status']}" if lot["status"] else "")
            for lot in stop["lots"]
        ],
        "shipped": f"{words.count(stop['shipped'], 'package')} shipped to "
        f"{words.count(stop['customers'], 'customer')}."
        if stop["shipped"]
        else "No shipment of it is written down.",
        "others": [
            f"{row['complaint']}, {said.day(row['received_on'])}: "
            f"{row['category'].replace(';', ', ')}"
            + (f"; {row['outlet']}" if row["outlet"] else "")
            for row in stop["others"]
        ],
    }


def _rests_on(record: Cells) -> str:
    run, load = record["run"], record["newest_load"]
    of_run = "no run yet"
    if run is not None:
        of_run = f"run {run} of {said.day(record['run_finished_at'])}"
    of_load = "nothing loaded" if load is None else f"newest load {load}"
    at = record["answered_at"]
    return (
        f"Answer {record['answer']} of {said.day(at)}, {at[11:16]}; {of_run}, {of_load}; "
        f"stalecurve {record['code_version']}."
    )


def _lots(record: Cells) -> Iterator[Cells]:
    """Yield the lots that it may be, where more than one may."""
    if len(record["candidates"]) == 1 and record["lot_is_ours"] and record["asked"]["lot"]:
        return
    for row in record["candidates"]:
        fits = [
            f"{what} {_FITS[row[key]]}"
            for key, what in (
                ("date_fits", "printed date"),
                ("time_fits", "time"),
                ("code_fits", "code"),
            )
            if row[key] is not None
        ]
        yield {
            "lot": f"{row['lot']}, {row['format']}",
            "beer": row["beer"],
            "packaged": said.day(row["packaged_on"]),
            "printed": said.day(row["printed_on"]),
            "odds": words.chance(row["odds"]),
            "fits": words.listed(fits) or words.NOTHING,
        }


def _odds(record: Cells) -> Iterator[Cells]:
    for row in record["odds"]:
        account = row["account"]
        yield {
            "cause": words.sentence(said.CAUSES[account])[:-1],
            "means": said.MEANS[account],
            "possible": row["possible"],
            "reason": row["reason"] or "",
            "prior": words.chance(row["prior"]) if row["possible"] else words.NOTHING,
            "now": words.chance(row["posterior"]) if row["possible"] else words.NOTHING,
            "bounds": said.between(row["lower"], row["upper"]),
            "in_odds": said.in_odds(row["posterior"]) if row["possible"] else words.NOTHING,
            "likely": said.likely(row["posterior"]) if row["possible"] else "cannot be",
        }


def _explains(record: Cells) -> Iterator[Cells]:
    for row in record["explains"]:
        oxygen = f"{_OXYGEN[row['oxygen']]} ({words.whole(row['total_oxygen_ppb'])} ppb)"
        yield {"share": words.glasses(row["share_rejected"]), "lot": oxygen, "temp": _steady(row)}


def _steady(row: Cells) -> str:
    if row["reached"] == "on the way":
        return "reached before the trade had it"
    if row["reached"] == "not by age":
        return f"above {words.temperature(60)}: not by age"
    low = "colder" if row["lower_c"] is None else words.whole(row["lower_c"])
    high = f"above {words.whole(60)}" if row["upper_c"] is None else words.whole(row["upper_c"])
    return f"{words.whole(row['temp_c'])}{words.NBSP}°C ({low} to {high})"


def _steps(record: Cells) -> Iterator[Cells]:
    for row in record["steps"]:
        yield {
            "step": words.sentence(row["step"])[:-1],
            "decides": words.chance(row["decides"]),
            "moves": words.percent(round(row["moves"], 2)),
        }


def _others(record: Cells) -> Cells:
    found = record["known"]
    if found is None:
        return {"on_lot": [], "at_outlet": []}
    return {
        place: [
            {
                "complaint": row["complaint"],
                "received": said.day(row["received_on"]),
                "category": row["category"].replace(";", ", "),
                "lot": row["lot"] or words.NOTHING,
                "outlet": row["outlet"] or words.NOTHING,
                "safety": row["safety"],
            }
            for row in found[place]
        ]
        for place in ("on_lot", "at_outlet")
    }
