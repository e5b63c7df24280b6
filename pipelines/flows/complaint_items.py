"""The facts on a lot as evidence: for each an item that the odds weigh, and its sentence.

What is assumed stands here, with its number: how much a doubtful meter widens a reading, how alike
neighbouring lots are, what a summer or a head that reads more makes likelier.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from analysis.cases.evidence import OtherComplaints, Oxygen, Sign, Tasted, Warmth, told
from analysis.cases.together import Together
from analysis.kinetics.history import Stages
from pipelines.flows import complaint_sentences as sentences

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from analysis.cases.evidence import Item
    from pipelines.config import Config
    from pipelines.flows.complaint_asked import Asked
    from pipelines.flows.complaint_facts import Facts

Cells = dict[str, Any]

ALIKE = {"this lot": 1.0, "same tank": 0.7, "same line and week": 0.4}
"""What share a neighbour has of what sets a lot apart: assumed."""

DOUBT_LOG_SD = 0.20
"""A meter in doubt widens what it read by so much, SD in logs: assumed."""

WHOLE_OUTLET = 0.5
"""The chance that what kept one package warm kept the others of its outlet so, too: assumed."""

MOST_NEIGHBOURS = 6
WARM_C = 15.0

_Z = 1.645
_WITH_LOT_SD_C, _ON_ROUTE_SD_C = 4.5, 8.0  # of a logger for how this package was kept: assumed
_SUMMER = (6, 7, 8)
_SUMMER_WEEKS = (70, 28)  # days before the complaint: staling peaks 4 to 10 weeks after hot weather
_SUMMER_SIGN = {True: 1.6, False: 0.8}
_START_SIGN = 3.0


@dataclass(frozen=True)
class Piece:
    """One piece of evidence.

    Attributes:
        name: what it is called.
        said: what is known, a sentence.
        item: what the odds make of it; None where it only says how far to trust another piece.
    """

    name: str
    said: str
    item: Item | None = None


def pieces_of(asked: Asked, facts: Facts, config: Config) -> list[Piece]:
    """Return the evidence on a lot, and what is missing of it left out.

    Args:
        asked: The complaint.
        facts: What is known of the lot.
        config: The configuration.
    """
    return [
        *_oxygen(facts),
        *_run(facts),
        *_samples(facts, config),
        *_storage(asked, facts),
        *_heat(asked, facts),
        *_others(facts),
    ]


def _oxygen(facts: Facts) -> Iterator[Piece]:
    lot, doubts = facts.oxygen, facts.found["doubts"]
    wider = DOUBT_LOG_SD if doubts else 0.0
    item: Item | None = None
    name = "oxygen against its line"
    if lot["total_ppb"] is not None:
        se = math.log(lot["upper_ppb"] / lot["lower_ppb"]) / (2.0 * _Z)
        item = Oxygen(name, math.log(lot["total_ppb"]), math.hypot(max(se, 0.02), wider))
    elif lot["at_least_ppb"]:
        item = Oxygen(name, math.log(lot["at_least_ppb"]), math.hypot(0.15, wider), at_least=True)
    if item is not None:
        yield Piece(name, sentences.oxygen(lot), item)
    for doubt in doubts:
        yield Piece("a meter in doubt", sentences.doubt(doubt))


def _run(facts: Facts) -> Iterator[Piece]:
    head, position = facts.found["head"], facts.found["position"]
    if head is not None:
        odds = 1.0 + head["chance"]
        item = Sign("a head that reads more", {"high oxygen": odds, "both": odds})
        yield Piece(item.name, sentences.head(head, facts.lot["line"]), item)
    if position is not None:
        name = "its time in the run"
        start = Sign(name, dict.fromkeys(("high oxygen", "both"), _START_SIGN))
        yield Piece(name, sentences.position(position), start if position["start"] else None)


def _samples(facts: Facts, config: Config) -> Iterator[Piece]:
    samples = facts.found["samples"]
    groups = {
        "retained samples of this lot": [
            s for s in samples if s["whose"] == "this lot" and s["role"] != "returned"
        ],
        "samples of neighbouring lots": _nearest(
            [s for s in samples if s["whose"] != "this lot" and s["role"] != "returned"], facts
        ),
    }
    errors = panel_errors(facts.found["verdicts"])
    for name, group in groups.items():
        parts = tuple(
            Tasted(
                f"{name} {sample['sample']}",
                days=float((sample["pulled_on"] - sample["packaged_on"]).days),
                glasses=sample["tasted"],
                rejected=sample["rejected"],
                stages=_kept(sample, config),
                alike=ALIKE[sample["whose"]],
                **errors,
            )
            for sample in group
            if sample["pulled_on"] > sample["packaged_on"]
        )
        if parts:
            yield Piece(name, sentences.samples(group), Together(name, parts))
    for sample in (s for s in samples if s["role"] == "returned" and s["whose"] == "this lot"):
        name = f"the package that came back, {sample['sample']}"
        days = float((sample["pulled_on"] - sample["packaged_on"]).days)
        if days > 0.0:
            item = Tasted(name, days, sample["tasted"], sample["rejected"], None, **errors)
            yield Piece(name, sentences.samples([sample]), item)


def _nearest(samples: Sequence[Cells], facts: Facts) -> list[Cells]:
    """Return the neighbours' samples kept most like the trade's, the likest lots first."""
    last = facts.route.last_temp_c if facts.route else 20.0
    ranked = sorted(
        samples,
        key=lambda s: (-ALIKE[s["whose"]], abs(s["storage_temp_c"] - last), s["sample"]),
    )
    return ranked[:MOST_NEIGHBOURS]


def _kept(sample: Cells, config: Config) -> Stages:
    placed = sample["placed_on"]
    if placed is None or placed <= sample["packaged_on"]:
        return Stages((math.inf,), (sample["storage_temp_c"],))
    before = sample["before_placing_temp_c"]
    cold = config.storage.before_placing_c if before is None else before
    waited = float((placed - sample["packaged_on"]).days)
    return Stages((waited, math.inf), (cold, sample["storage_temp_c"]))


def panel_errors(counts: Cells) -> dict[str, float]:
    """Return the panel's false alarms and misses, drawn to one in ten by ten glasses.

    Args:
        counts: As `verdict_counts` gives them.
    """
    fresh, aged = counts["fresh_tasted"] or 0, counts["aged_tasted"] or 0
    return {
        "false_alarms": min(((counts["fresh_rejected"] or 0) + 1.0) / (fresh + 10.0), 0.45),
        "misses": min(((counts["aged_accepted"] or 0) + 1.0) / (aged + 10.0), 0.45),
    }


def _storage(asked: Asked, facts: Facts) -> Iterator[Piece]:
    if asked.storage_temp_c is None or facts.route is None:
        return
    name = "how it was kept, as told"
    last = facts.route.last_temp_c
    trade_days = max(facts.day["age_days"] - facts.route.stages.distribution_days, 1.0)
    days = asked.storage_days if asked.storage_days is not None else trade_days
    item = told(name, asked.storage_temp_c - last, days, trade_days)
    yield Piece(name, sentences.told(asked, last), item)


def _heat(asked: Asked, facts: Facts) -> Iterator[Piece]:
    if facts.route is None:
        return
    heat, last = facts.found["heat"], facts.route.last_temp_c
    name = "the season's heat"
    if heat is not None:
        sd = _WITH_LOT_SD_C if heat["with_lot"] else _ON_ROUTE_SD_C
        yield Piece(
            name,
            sentences.logged(heat, facts.route),
            Warmth(name, heat["mean_c"] - last, sd),
        )
    elif last >= WARM_C:
        summer = in_summer(asked)
        likelier = _SUMMER_SIGN[summer]
        item = Sign(name, {"warm trade": likelier, "both": likelier})
        yield Piece(name, sentences.season(summer=summer), item)


def in_summer(asked: Asked) -> bool:
    """Tell whether four to ten weeks before the complaint it was summer, in the north."""
    first, last = (asked.received_on - timedelta(days=days) for days in _SUMMER_WEEKS)
    return first.month in _SUMMER or last.month in _SUMMER


def _others(facts: Facts) -> Iterator[Piece]:
    others = facts.others
    for name, rows, expected, at_outlet in (
        ("other complaints on the lot", others["on_lot"], others["expected_on_lot"], False),
        ("other complaints at the outlet", others["at_outlet"], others["expected_at_outlet"], True),
    ):
        if expected is not None:
            by_age, background = expected
            observed = sum(row["taste"] for row in rows)
            shared = WHOLE_OUTLET if at_outlet else 1.0
            item = OtherComplaints(name, observed, by_age, at_outlet, background, shared)
            told_of = sentences.others(observed, by_age + background, at_outlet=at_outlet)
            yield Piece(name, told_of, item)
