"""What of a quarter needs a decision, ranked by what is at stake.

Safety comes first. Then days too many, or to gain, times the packages that they concern; where only
one of the two is known it counts alone, so that what has neither stands last.
"""

from __future__ import annotations

from itertools import groupby
from typing import Any

Cells = dict[str, Any]

_NOT_KEPT = "did not keep"


def needs_of(record: Cells) -> list[Cells]:
    """Return what needs a decision, the most at stake first.

    Args:
        record: The other parts of a review's record.

    Returns:
        Of each its `kind`, the `days` and `packages` at stake (None where not known), and what it
        is about.
    """
    safety = record["complaints"]["safety"]
    first: list[Cells] = []
    if safety:
        first.append({"kind": "safety complaints", "days": None, "packages": None, "of": safety})
    first += [{"kind": "no validation", "days": None, **row} for row in record["unvalidated"]]
    rest = [
        *_dates(record["too_long"]),
        *_oxygen(record["oxygen"]["rows"]),
        *({"kind": "head", **row} for row in record["heads"]),
        *_meters(record["meters"]["rows"]),
        *_complaints(record["complaints"]["told"]),
        *_retained(record),
        *_panel(record["panel"]),
        *_actions(record["actions"], record["before"]),
    ]
    return [*first, *sorted(rest, key=_stake)]


def _stake(need: Cells) -> tuple[float, str]:
    days, packages = need["days"], need["packages"]
    if days is None and packages is None:
        return 0.0, need["kind"]
    return -max(days or 1.0, 1.0) * max(packages or 1, 1), need["kind"]


def _dates(too_long: list[Cells]) -> list[Cells]:
    """Gather dates that are too long by beer: one decision is made about one beer."""
    by_beer = sorted(too_long, key=lambda row: row["beer"])
    found = []
    for beer, group in groupby(by_beer, key=lambda row: row["beer"]):
        formats = list(group)
        packages = [row["packages"] for row in formats if row["packages"] is not None]
        at_stake = sum(row["days"] * (row["packages"] or 0) for row in formats)
        total = sum(packages)
        found.append(
            {
                "kind": "date too long",
                "beer": beer,
                "days": at_stake / total if total else max(row["days"] for row in formats),
                "packages": total if packages else None,
                "of": formats,
            }
        )
    return found


def _oxygen(rows: list[Cells]) -> list[Cells]:
    return [
        {"kind": "more oxygen", "days": None, **row} for row in rows if row["finding"] == "more"
    ]


def _meters(rows: list[Cells]) -> list[Cells]:
    return [{"kind": "meter", "days": None, **row} for row in rows if row["failed"]]


def _complaints(told: list[Cells]) -> list[Cells]:
    return [{"kind": "complaints", "days": None, **row} for row in told]


def _retained(record: Cells) -> list[Cells]:
    """Name lots that did not keep, unless their beer's date is too long: that tells of them."""
    told = {(row["beer"], row["format"]) for row in record["too_long"]}
    return [
        {"kind": "not kept", "days": None, **row}
        for row in record["retained"]["rows"]
        if row["finding"] == _NOT_KEPT and (row["beer"], row["format"]) not in told
    ]


def _panel(panel: Cells) -> list[Cells]:
    none = {"days": None, "packages": None}
    found = []
    if panel["failed"]:
        found.append({"kind": "control failed", "of": panel["failed"], **none})
    lost = [row["code"] for row in panel["apart"] if not row["follows"]]
    if lost:
        found.append({"kind": "assessors", "of": lost, **none})
    return found


def _actions(actions: list[Cells], quarter: str) -> list[Cells]:
    return [
        {"kind": "action open", "quarter": quarter, "days": None, "packages": None, **row}
        for row in actions
        if row["state"] == "agreed"
    ]
