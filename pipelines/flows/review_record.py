"""What the review of a quarter says, gathered into one record of texts, numbers, lists, objects."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import polars as pl

from analysis.cases.retained import kept_to_date
from dashboards import decided, sentences
from dashboards.page import style_files
from pipelines.flows.review_complaints import complaints_of
from pipelines.flows.review_line import formats_of, heads_of, meters_of, oxygen_of
from pipelines.flows.review_needs import needs_of
from pipelines.flows.review_panel import panel_of

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime

    from analysis.cases.quarter import Quarter
    from dashboards.results import Results
    from pipelines.store.as_it_stood import Known

Cells = dict[str, Any]


@dataclass(frozen=True)
class Asked:
    """A review that is to be made: of what, from what.

    Attributes:
        quarter: The quarter.
        known: How far the store is known.
        run_id: The run that stands for exactly these data; None where they are to be fitted.
        made_at: When it is, or was, made.
        rows_aside: Rows of files that stood aside then: what was mended or taken back since
            would no longer tell.
    """

    quarter: Quarter
    known: Known
    run_id: int | None
    made_at: datetime
    rows_aside: int


def record_of(
    asked: Asked,
    run_id: int | None,
    results: Results,
    rows: Mapping[str, pl.DataFrame],
    counts: Mapping[str, int],
) -> Cells:
    """Gather the record of a review.

    Args:
        asked: What is reviewed, and what is known of it.
        run_id: The run that stands for the data; None where they were fitted for the review.
        results: What is published of the data as they stood.
        rows: What the quarter holds, as `quarter_rows` gives it.
        counts: Rows dated in the quarter, by table.
    """
    quarter, until = asked.quarter, asked.known.data_until
    packages = _packages_out(rows["lots"], until)
    filled = rows["lots"].filter(pl.col("packaged_on").is_between(quarter.first, quarter.last))
    record = {
        **_head(asked, run_id, results),
        "filled": {"lots": filled.height, "packages": _sum(filled["packages"])},
        "compared": results.beer_dates.filter("main_route")["difference_days"].count(),
        "too_long": _dates(results, packages, longer=True),
        "too_short": _dates(results, packages, longer=False),
        "unvalidated": _unvalidated(results, packages),
        "retained": _retained(results, rows["tasted"]),
        "oxygen": oxygen_of(results, rows, quarter),
        "heads": heads_of(results, filled),
        "meters": meters_of(results, rows, quarter),
        "panel": panel_of(results, quarter),
        "complaints": complaints_of(results, quarter, until),
        "formats": formats_of(results),
        "actions": _actions(results, quarter.before),
        "gaps": _gaps(asked, results, rows, filled, counts),
    }
    return record | {"needs": needs_of(record)}


def _head(asked: Asked, run_id: int | None, results: Results) -> Cells:
    quarter, until = asked.quarter, asked.known.data_until
    run = results.newest_run or {}
    load = results.loads.row(by_predicate=pl.col("load_id") == asked.known.load_id, named=True)
    return {
        "quarter": str(quarter),
        "before": str(quarter.before),
        "first_day": quarter.first.isoformat(),
        "last_day": quarter.last.isoformat(),
        "data_until": until.isoformat(),
        "closes_on": quarter.closes_on.isoformat(),
        "made_at": asked.made_at.isoformat(timespec="seconds"),
        "brewery": run["brewery"],
        "load": {"number": load["load_id"], "on": load["finished_at"].date().isoformat()},
        "run": run_id,
        "outcome": run["outcome"],
        "reason": run["reason"],
        "share_rejected": run["share_rejected"],
        "confidence": run["confidence"],
        "question": run["question"],
    }


def _sum(numbers: pl.Series) -> int | None:
    """Add up what is known; None where nothing is."""
    known = numbers.drop_nulls()
    return int(known.sum()) if known.len() else None


def _packages_out(lots: pl.DataFrame, until: date) -> pl.DataFrame:
    """Return the packages of each beer and format whose printed date is still ahead.

    Null where the lots do not say how many they were.
    """
    ahead = pl.col("packages").filter(pl.col("best_before") > until)
    known = ahead.is_not_null().any() | (ahead.len() == 0)
    return lots.group_by("beer", "format").agg(packages=pl.when(known).then(ahead.sum()))


def _dates(results: Results, packages: pl.DataFrame, *, longer: bool) -> list[Cells]:
    """Return printed dates that are longer, or shorter, than supported, most at stake first."""
    ways = sentences.routes(results)
    pages = style_files(results)
    apart = pl.col("difference_days")
    found = results.beer_dates.filter(
        pl.col("main_route"), pl.col("binding_cause").ne_missing("safety"), apart.is_not_null()
    )
    if longer:
        found = found.filter(apart < 0)
    else:
        many = (apart >= decided.MANY_DAYS) & (apart >= decided.MANY_SHARE * pl.col("printed_days"))
        found = found.filter(many)
    found = found.join(packages, on=["beer", "format"], how="left").sort(
        apart.abs() * pl.col("packages").fill_null(0),
        apart.abs(),
        "beer",
        "format",
        descending=[True, True, False, False],
    )
    return [
        {
            **{name: row[name] for name in ("beer", "style", "format", "route", "printed_days")},
            "supported_days": row["supported_days"],
            "days": abs(row["difference_days"]),
            "basis": row["basis"],
            "page": pages[row["style"]],
            "packages": row["packages"],
            "kept": ways[row["route"]].kept,
            "ends": ways[row["route"]].ends,
            "elsewhere": _elsewhere(results, row, ways) if longer else [],
            "first_estimate": decided.first_estimate(results, row["style"], row["format"]),
            "decision": _decision(results, row),
        }
        for row in found.rows(named=True)
    ]


def _elsewhere(results: Results, row: Cells, ways: Mapping[str, sentences.Route]) -> list[Cells]:
    """Return the other routes on which a printed date is too long, or that it is not fit for."""
    others = results.beer_dates.filter(
        pl.col("beer") == row["beer"],
        pl.col("format") == row["format"],
        ~pl.col("main_route"),
        (pl.col("difference_days") < 0) | (pl.col("binding_cause") == "route"),
    ).sort("route")
    return [
        {
            "ends": ways[other["route"]].ends,
            "days": None if other["difference_days"] is None else -other["difference_days"],
        }
        for other in others.rows(named=True)
    ]


def _decision(results: Results, row: Cells) -> Cells | None:
    """Return the decision that holds for a beer and format, the shortest of several."""
    held = decided.holding(results).filter(
        pl.col("beer") == row["beer"], pl.col("format") == row["format"]
    )
    shortest = held.sort("days", "decision_id").head(1).select("decision_id", "days", "because")
    return next(shortest.iter_rows(named=True), None)


def _unvalidated(results: Results, packages: pl.DataFrame) -> list[Cells]:
    """Return beers that carry a date and have no safety validation."""
    found = (
        results.attention.filter(pl.col("what") == "no safety validation")
        .select("beer", "format")
        .join(packages, on=["beer", "format"], how="left")
        .sort("beer", "format")
    )
    return found.to_dicts()


def _retained(results: Results, tasted: pl.DataFrame) -> Cells:
    """Return what samples tasted around their date say of it."""
    run = results.newest_run or {}
    fresh = results.assessors.select(pl.col("fresh_tasted", "fresh_rejected").sum()).row(0)
    false_alarms = fresh[1] / fresh[0] if fresh[0] else 0.0
    judged = kept_to_date(tasted, run["share_rejected"], false_alarms)
    return {
        "false_alarms": false_alarms,
        "limit": false_alarms + (1.0 - false_alarms) * run["share_rejected"],
        "rows": judged.to_dicts(),
    }


def _actions(results: Results, quarter: Quarter) -> list[Cells]:
    """Return what was agreed on in a quarter's review, what is not done first."""
    state = pl.col("state").replace_strict({"agreed": 0, "dropped": 1, "done": 2})
    agreed = results.actions.filter(pl.col("quarter") == str(quarter)).sort(state, "action_id")
    return [
        {
            **{name: row[name] for name in ("action_id", "state", "what", "who", "because")},
            "due_on": row["due_on"] and row["due_on"].isoformat(),
            "on": row["recorded_at"].date().isoformat(),
        }
        for row in agreed.rows(named=True)
    ]


def _gaps(
    asked: Asked,
    results: Results,
    rows: Mapping[str, pl.DataFrame],
    filled: pl.DataFrame,
    counts: Mapping[str, int],
) -> Cells:
    """Return what is missing from the quarter, and what of it."""
    lent = results.dates.filter(pl.col("basis") == "borrowed").select("style", "format").unique()
    unread = filled.filter(~pl.col("measured")).select("lot", "format", "packages")
    late = results.week_late_files.select("expected", "days_late", "last_on").to_dicts()
    return {
        "missing": [table for table, count in counts.items() if not count],
        "late_files": [
            {**row, "last_on": row["last_on"] and row["last_on"].isoformat()} for row in late
        ],
        "without_oxygen": unread.to_dicts(),
        "without_packages": filled.filter(pl.col("packages").is_null()).height,
        "untasted": [
            {**row, "pulled_on": row["pulled_on"].isoformat()}
            for row in rows["untasted"].to_dicts()
        ],
        "lent": lent.sort("style", "format").to_dicts(),
        "rows_aside": asked.rows_aside,
    }
