"""What a run says of difference tests, and of before and after."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from analysis.panel.before_after import compare
from analysis.panel.difference_report import difference_report, sizes
from analysis.panel.questions import questions
from pipelines.flows.before_after_words import comparison_words, found, kept_words
from pipelines.flows.difference_words import difference_words, replicated_words, statistics

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


def difference_frames(tables: Mapping[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Judge the table of difference tests, with what is said of each.

    Args:
        tables: difference_tests, samples and lots.

    Returns:
        `difference_tests`, `difference_pairs` and `difference_sizes`.
    """
    tests, judged, pairs, together = difference_report(
        tables["difference_tests"], tables["samples"], tables["lots"]
    )
    said = {
        "answer": [" ".join(difference_words(test)) for test, _ in judged],
        "statistics": [statistics(test) for test, _ in judged],
    }
    texts = pl.DataFrame(said, schema=dict.fromkeys(said, pl.String))
    answers = pl.Series("answer", [" ".join(replicated_words(f)) for f in together], pl.String)
    return {
        "difference_tests": tests.hstack(texts),
        "difference_pairs": pairs.with_columns(answers),
        "difference_sizes": sizes(tests),
    }


def comparison_frames(
    tasted: pl.DataFrame, tables: Mapping[str, pl.DataFrame], attributes: Sequence[str]
) -> dict[str, pl.DataFrame]:
    """Compare what the tables ask to compare, with what is said of each.

    Args:
        tasted: `analysis.panel.glasses.glasses`.
        tables: lots and changes.
        attributes: names of those that the panel scores.

    Returns:
        `comparisons`.
    """
    rows = compare(questions(tasted, tables["lots"], tables["changes"]), attributes)
    said = [
        {"found": found(row), "answer": comparison_words(row), "compared": kept_words(row)}
        for row in rows.iter_rows(named=True)
    ]
    texts = {"found": pl.Boolean, "answer": pl.String, "compared": pl.String}
    return {"comparisons": rows.hstack(pl.DataFrame(said, schema=texts))}
