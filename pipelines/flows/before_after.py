"""Answer how two lots, formats or beers compare on the panel."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from analysis.panel.before_after import TOGETHER, compare
from analysis.panel.glasses import glasses
from analysis.panel.questions import between
from pipelines.errors import AnswerError
from pipelines.flows.before_after_words import comparison_words, kept_words
from pipelines.flows.fit import gather
from pipelines.readers.names import did_you_mean

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from pipelines.config import Config

KINDS = {"lot": "lots", "format": "formats", "beer": "beers"}
"""What can be compared, each with the table that names it."""


def answer_compare(
    first: str, second: str, kind: str | None, config: Config, say: Callable[[str], None]
) -> None:
    """Say how two lots, formats or beers compare on one panel.

    Args:
        first: one of them.
        second: the other.
        kind: lot, format or beer; None: what the tables know both as.
        config: the configuration.
        say: takes each sentence.

    Raises:
        AnswerError: no table has them, several do, or they are one.
        StoreError: there is no database yet, or it cannot be read.
    """
    tables = gather(config, lambda _: None).tables
    kind = _kind(first, second, kind, tables)
    tasted = glasses(tables["tastings"], tables["samples"], tables["lots"], tables["beers"])
    question = between(kind, f"{first}, {second}", first, second, tasted)
    found = compare([question], sorted(config.site.attributes))
    told = found.filter(pl.col("reason").is_null())
    if told.is_empty():
        reason = found["reason"].to_list()[-1]
        say(f"{first} and {second}: {reason}.")
        return
    for row in found.iter_rows(named=True):
        words = comparison_words(row)
        say(f"{words[:1].upper()}{words[1:]}")
    most = told.sort("first_glasses", descending=True, maintain_order=True).row(0, named=True)
    say(f"Compared: {kept_words(most)}")
    say(
        f"For the statistician: second less first, each at {100 * most['level']:.1f} %, so that "
        f"all {most['looks']} hold together in {100 * TOGETHER:.0f} % (Bonferroni): "
        + "; ".join(
            f"{row['attribute'] or 'rejected'} {row['difference']:.2f} "
            f"({row['difference_lower']:.2f} to {row['difference_upper']:.2f})"
            for row in told.iter_rows(named=True)
        )
        + "."
    )


def _kind(first: str, second: str, kind: str | None, tables: Mapping[str, pl.DataFrame]) -> str:
    if first == second:
        message = f"{first} is compared with itself: name two"
        raise AnswerError(message)
    known = {name: set(tables[table][name]) for name, table in KINDS.items()}
    asked = list(KINDS) if kind is None else [kind]
    if kind is not None and kind not in KINDS:
        message = f"--as is lot, format or beer, not {kind}"
        raise AnswerError(message)
    both = [name for name in asked if {first, second} <= known[name]]
    if len(both) > 1:
        message = (
            f"{first} and {second} are {' and '.join(KINDS[name] for name in both)}: "
            f"add --as {both[0]} or --as {both[1]}"
        )
        raise AnswerError(message)
    if both:
        return both[0]
    every = sorted(set().union(*(known[name] for name in asked)))
    for name in (first, second):
        if name not in every:
            message = f"there is no {' or '.join(asked)} {name}{did_you_mean(name, every)}"
            raise AnswerError(message)
    kinds = [next(k for k in asked if name in known[k]) for name in (first, second)]
    message = f"{first} is a {kinds[0]} and {second} a {kinds[1]}: name two of a kind"
    raise AnswerError(message)
