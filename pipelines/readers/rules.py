"""What must hold between the cells of one row, or the rows of one table."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from pipelines.readers.faults import all_faults, faults_where


@dataclass(frozen=True)
class Rule:
    """One thing that must hold.

    Attributes:
        column: The column that the fault is told of.
        holds: The condition; a null says nothing against the row.
        reason: What is wrong where it does not hold.
        expected: What should stand there.
    """

    column: str
    holds: pl.Expr
    reason: str
    expected: str


def _not_before(column: str, other: str) -> Rule:
    return Rule(
        column,
        pl.col(column) >= pl.col(other),
        f"earlier than {other}",
        f"{column} at {other} or after it",
    )


def _one_of(*columns: str) -> Rule:
    names = " or ".join(columns)
    return Rule(
        columns[0],
        pl.any_horizontal(pl.col(columns).is_not_null()),
        f"neither {' nor '.join(columns)} is filled",
        f"{names}, or both",
    )


RULES: dict[str, tuple[Rule, ...]] = {
    "formats": (
        Rule(
            "ingress_ml_o2_per_day",
            pl.any_horizontal(
                pl.col("ingress_ppb_per_day", "ingress_ml_o2_per_day").is_null(),
            ),
            "ingress_ppb_per_day is filled too",
            "the ingress in one of the two units",
        ),
    ),
    "lots": (_not_before("ended_at", "started_at"), _not_before("best_before", "packaged_on")),
    "lot_results": (_one_of("value", "result"),),
    "oxygen": (
        Rule(
            "measured_at",
            # By the day: a reading whose time of day was not noted stands at midnight.
            pl.col("measured_at").dt.date() >= pl.col("filled_at").dt.date(),
            "earlier than filled_at",
            "measured_at at filled_at or after it",
        ),
    ),
    "samples": (_not_before("pulled_on", "placed_on"),),
    "tastings": (
        Rule(
            "verdict",
            pl.col("verdict").is_not_null() | (pl.col("scores") != "{}"),
            "neither a verdict nor a score",
            "accept, reject or not sure, or an attribute's score",
        ),
    ),
    "difference_tests": (
        Rule(
            "correct",
            pl.col("correct") <= pl.col("assessments"),
            "more correct answers than assessments",
            "a number up to assessments",
        ),
    ),
    "route_stages": (
        Rule(
            "days",
            pl.col("days").is_not_null()
            | (pl.col("stage_no") == pl.col("stage_no").max().over("route")),
            "empty, and not the route's last stage",
            "how many days the stage lasts; only the last one lasts until the beer is drunk",
        ),
    ),
    "limits": (_one_of("beer", "style"),),
}


def broken_rules(table: str, typed: pl.DataFrame, text: pl.DataFrame) -> pl.DataFrame:
    """Check the rules of a table.

    Args:
        table: Its name.
        typed: Its rows as values.
        text: The same rows as text.

    Returns:
        A fault frame.
    """
    return all_faults(
        faults_where(
            text,
            ~typed.select(rule.holds.alias("holds"))["holds"],
            column=rule.column,
            value=pl.col(rule.column),
            reason=rule.reason,
            expected=rule.expected,
            kind="value",
        )
        for rule in RULES.get(table, ())
    )
