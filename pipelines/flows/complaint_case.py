"""A complaint weighed: the facts on its lot made a case, and what the odds make of it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import polars as pl

from analysis.cases.accounts import is_of_age
from analysis.cases.ages import ages_drunk
from analysis.cases.case import Case
from analysis.cases.drunk import mean_days
from analysis.cases.odds import weigh
from analysis.cases.questions import ask_for_readings, ask_how_kept, ask_the_day, taste
from analysis.dating.risk import at_risk
from analysis.oxygen.dose import DOSE_DAYS
from pipelines.flows.complaint_items import panel_errors, pieces_of
from pipelines.store.lots import doses_of_newest_run, of_newest_run

if TYPE_CHECKING:
    import duckdb

    from analysis.cases.odds import Weighed
    from analysis.cases.questions import Question
    from analysis.kinetics.history import Stages
    from pipelines.config import Config
    from pipelines.flows.complaint_asked import Asked
    from pipelines.flows.complaint_facts import Facts
    from pipelines.flows.complaint_items import Piece

Cells = dict[str, Any]

NOT_OF_AGE = "it is no question of age; what is known of the lot is below"

USUAL_LOG_SD = 0.35
"""How lots of a line differ in oxygen where too few are known, SD in logs: assumed."""

PANEL = 8
"""Tasters who would sit down to one package."""

READINGS_LOG_SE = 0.15
"""Standard error of the mean of six packages, in logs: assumed."""


@dataclass(frozen=True)
class Draws:
    """What the newest run keeps, of all styles: draws, doses of lots, doses of each lot."""

    draws: pl.DataFrame
    doses: pl.DataFrame
    by_lot: pl.DataFrame

    @classmethod
    def of(cls, connection: duckdb.DuckDBPyConnection) -> Draws:
        """Read it."""
        return cls(
            of_newest_run(connection, "risk_draws"),
            of_newest_run(connection, "risk_doses"),
            doses_of_newest_run(connection),
        )


@dataclass(frozen=True)
class Looked:
    """One lot looked at.

    Attributes:
        facts: what is known of it.
        pieces: the evidence.
        share: share of glasses rejected for age on its day on its route, with its bounds; None
            where nothing is estimated.
        case: what is weighed; None where it cannot be, for the reason `why_not`.
        weighed: what the odds make of it; None likewise.
        why_not: in words; empty where it is weighed.
    """

    facts: Facts
    pieces: list[Piece]
    share: Cells | None
    case: Case | None = None
    weighed: Weighed | None = None
    why_not: str = ""


def look_at(asked: Asked, facts: Facts, drawn: Draws, config: Config, *, ask: bool) -> Looked:
    """Weigh a complaint on one lot.

    Args:
        asked: The complaint.
        facts: What is known of the lot.
        drawn: What the newest run keeps.
        config: The configuration.
        ask: Whether to work out what to ask for next.
    """
    pieces = pieces_of(asked, facts, config)
    place = (pl.col("style") == facts.lot["style"], pl.col("format") == facts.lot["format"])
    draws, doses = drawn.draws.filter(*place), drawn.doses.filter(*place)
    age, route = facts.day["age_days"], facts.route
    why_not, not_of_age = _why_not(facts, draws), not is_of_age(asked.categories)
    if why_not or route is None:
        return Looked(facts, pieces, None, why_not=NOT_OF_AGE if not_of_age else why_not)
    share = None
    if doses.height:
        found = at_risk(draws, doses, route.stages, age, config.policy.confidence)
        share = {"share": found.share, "lower": found.lower, "upper": found.upper}
    if not_of_age:
        return Looked(facts, pieces, share, why_not=NOT_OF_AGE)
    case = _case(asked, facts, route.stages, pieces, draws, _ingress_dose(facts, drawn.by_lot))
    if not ask:
        case = replace(case, questions=())
    return Looked(facts, pieces, share, case, weigh(case, config.complaints.priors))


def _why_not(facts: Facts, draws: pl.DataFrame) -> str:
    lot, day = facts.lot, facts.day
    if not day["age_days"] > 0.0:
        return (
            "the complaint came before the lot was packaged: the lot, or a day, is not as written"
        )
    if facts.route is None:
        return f"no route carries this kind of package ({lot['kind']}): see the table routes"
    if draws.is_empty():
        return f"nothing is estimated for {lot['style']} in {lot['format']} yet"
    return ""


def _ingress_dose(facts: Facts, by_lot: pl.DataFrame) -> float:
    found = by_lot.filter(
        pl.col("lot") == facts.lot["lot"], pl.col("format") == facts.lot["format"]
    )["ingress_ppb_per_day"].drop_nulls()
    return DOSE_DAYS * float(found[0]) if len(found) else 0.0


def _case(
    asked: Asked,
    facts: Facts,
    stages: Stages,
    pieces: list[Piece],
    draws: pl.DataFrame,
    ingress_ppb: float,
) -> Case:
    day, printed = facts.day, facts.day["printed_days"]
    return Case(
        draws=draws,
        usual_log_ppb=_usual(facts),
        stages=stages,
        ages_drunk=ages_drunk(facts.went["shipments"], printed, mean_days(facts.lot["kind"])),
        kind=facts.lot["kind"],
        categories=asked.categories,
        age_days=day["age_days"],
        age_sd=day["age_sd"],
        printed_days=None if printed is None or printed <= 0 else float(printed),
        light=facts.lot["light"],
        ingress_dose_ppb=ingress_ppb,
        trade_from_days=facts.went["trade_from_days"],
        items=tuple(piece.item for piece in pieces if piece.item is not None),
        questions=_questions(asked, facts),
    )


def _usual(facts: Facts) -> tuple[float, float]:
    """Return mean and SD of the log oxygen of the line's lots."""
    chart, reckoned = facts.found["chart"], facts.oxygen["reckoned_ppb"]
    if chart is not None and chart["centre_ppb"]:
        return math.log(chart["centre_ppb"]), max(chart["sd_log"] or USUAL_LOG_SD, 0.10)
    return math.log(reckoned or 60.0), USUAL_LOG_SD


def _questions(asked: Asked, facts: Facts) -> tuple[Question, ...]:
    """Return what could still be asked, tasted or measured."""
    age, route = facts.day["age_days"], facts.route
    if route is None:
        return ()
    errors = panel_errors(facts.found["verdicts"])
    asks = []
    if facts.day["age_sd"] > 0.0:
        asks.append(ask_the_day("the day on which it was opened"))
    if asked.storage_temp_c is None:
        trade_days = max(age - route.stages.distribution_days, 1.0)
        asks.append(ask_how_kept(trade_days, "how warm it was kept, and for how long"))
    back = f"an unopened package from the same place, tasted by {PANEL} once it is released"
    asks.append(taste(back, age, PANEL, None, **errors))
    kept = f"a retained package of this lot kept as its route says, tasted by {PANEL}"
    asks.append(taste(kept, age, PANEL, route.stages, **errors))
    if facts.oxygen["total_ppb"] is None:
        asks.append(ask_for_readings(_usual(facts), READINGS_LOG_SE))
    return tuple(asks)
