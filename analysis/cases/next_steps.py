r"""What would decide a complaint: each question, over all its answers.

    chance(answer)  = Σ π(account) · R(account, answer) / the same over all answers
    decides         = Σ chance(answer) · [decided, given the answer]
    moves           = Σ chance(answer) · ½ Σ |p(account | answer) − p(account)|

Exact over the answers and particles: an answer is weighed as it would be if it were known.
Reference: Lindley, Ann. Math. Stat. 27, 1956, 986-1005, for the worth of what is not yet observed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.cases.posterior import posterior

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.cases.questions import Question
    from analysis.cases.sums import Sums

    Array = NDArray[np.float64]

_SCHEMA = {"step": pl.String, "decides": pl.Float64, "moves": pl.Float64}


def next_steps(sums: Sums, prior: Array) -> pl.DataFrame:
    """Return what each question is worth.

    Args:
        sums: of the complaint.
        prior: of its accounts, shape (accounts,).

    Returns:
        step, decides (chance that its answer decides the complaint), moves (by how much it moves
        the odds on average, 0 to 1: half the sum of all changes); what decides most first, to a
        hundredth, then what moves most.
    """
    now = posterior(sums.without()[0], prior).share
    rows = []
    for question in sums.case.questions:
        answers = answered(sums, question)
        weights = np.array([float((prior @ ratios).sum()) for ratios in answers])
        chance = weights / weights.sum()
        known = [posterior(ratios, prior) for ratios in answers]
        decides = chance @ np.array([after.decided is not None for after in known], np.float64)
        moves = chance @ np.array([0.5 * np.abs(after.share - now).sum() for after in known])
        rows.append((question.name, float(decides), float(moves)))
    return pl.DataFrame(rows, schema=_SCHEMA, orient="row").sort(
        pl.col("decides").round(2), "moves", "step", descending=[True, True, False]
    )


def answered(sums: Sums, question: Question) -> list[Array]:
    """Return R of each account and draw with each answer, (accounts, d) each."""
    evidence = sums.evidence
    if not question.answers:
        return [
            sums.ratios(
                [
                    side.rejected[:, :, node] * (weight * of_items)
                    for side, of_items in zip(sums.sides, evidence, strict=True)
                ]
            )
            for node, weight in enumerate(sums.ages.seen)
            if weight > 0.0
        ]
    return [
        sums.ratios(
            [
                of_items * np.exp(side.at_its_age + answer.log_likelihood(side.lots, side.account))
                for side, of_items in zip(sums.sides, evidence, strict=True)
            ]
        )
        for answer in question.answers
    ]
