"""A tasting session as it is laid out: which glasses, under which codes, in whose order.

Every session holds a blind fresh control, which tells what the panel rejects without reason, and
one sample twice, which tells whether a taster says the same again. With them it has six glasses at
most.

A code belongs to a glass of the plan and is the same for all tasters; the second glass of a sample
has a code of its own. So a sample is poured in one go into glasses that are marked alike. A code of
its own for each taster's glass would mean seventy labels, and a wrong pour that nobody could find.
What it would bring, that neighbours cannot compare, the orders bring nearly as well: seldom do two
come to the same code at once. Codes are drawn anew for each session: none stays with a beer.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING, Any

import polars as pl

from analysis.panel.serving_orders import blind_codes, draws_of, serving_orders
from analysis.panel.sessions import KEPT_COLD_C, MOST_GLASSES, OLDEST_FRESH_DAYS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

POURED_SHARE = 0.9
"""Of a package, what comes into glasses: foam and the last of a bottle do not."""


@dataclass(frozen=True)
class SessionPlan:
    """One session.

    Attributes:
        session: its name, which its draws hang on.
        control: the fresh sample; None without one.
        twice: the sample of which there are two glasses; None for none.
        codes: blind code to sample, by sample, the control first.
        orders: of each taster, in the order they were given, the codes by place.
    """

    session: str
    control: str | None
    twice: str | None
    codes: Mapping[str, str]
    orders: tuple[tuple[str, ...], ...]

    def codes_of(self, sample: str) -> tuple[str, ...]:
        """Give the codes of a sample: one, or two of the one that is served twice."""
        return tuple(code for code, poured in self.codes.items() if poured == sample)


def shared_out(samples: Sequence[str], *, twice: bool) -> list[list[str]]:
    """Share samples out over as few sessions as hold them, nearly as many to each.

    Args:
        samples: aged samples, the first to be tasted first.
        twice: whether one of each session is served twice.
    """
    room = MOST_GLASSES - 1 - twice
    sessions = ceil(len(samples) / room)
    sizes = [(len(samples) + i) // sessions for i in reversed(range(sessions))]
    ends = [sum(sizes[: i + 1]) for i in range(sessions)]
    return [list(samples[end - size : end]) for end, size in zip(ends, sizes, strict=True)]


def plan_session(
    session: str, samples: Sequence[str], control: str | None, tasters: int, *, twice: bool
) -> SessionPlan:
    """Draw codes and orders; the same session with the same samples and tasters is the same plan.

    Args:
        session: its name.
        samples: the samples to be tasted, without the control; at least one.
        control: the fresh sample, None for none.
        tasters: how many.
        twice: whether one of the samples, which is drawn, is served twice.
    """
    draws = draws_of(session)
    again = samples[int(draws.integers(len(samples)))] if twice else None
    poured = [*([control] if control else []), *samples]
    poured = [sample for sample in poured for _ in range(1 + (sample == again))]
    codes = blind_codes(len(poured), draws)
    orders = serving_orders(tasters, len(poured), draws)
    return SessionPlan(
        session=session,
        control=control,
        twice=again,
        codes=dict(zip(codes, poured, strict=True)),
        orders=tuple(tuple(codes[glass] for glass in order) for order in orders),
    )


def packages_to_open(glasses: int, pour_ml: float, volume_ml: float) -> int:
    """Give how many packages so many glasses take; no glass is filled from two where one does."""
    each = int(POURED_SHARE * volume_ml / pour_ml)
    if each:
        return ceil(glasses / each)
    return ceil(glasses * pour_ml / (POURED_SHARE * volume_ml))


def fresh_control(
    candidates: pl.DataFrame, styles: Sequence[str], on: date, *, within_days: int
) -> dict[str, Any] | None:
    """Choose a blind fresh control: kept cold, at most 60 days old, the youngest.

    A sample that was pulled for it goes before a lot that somebody would have to pull from, and a
    style that is on the table before another: a stout among lagers is no blind control.

    Args:
        candidates: sample (null for a lot to pull from), lot, format, style, packaged_on,
            storage_temp_c, pulled_on (null for a lot).
        styles: those on the table.
        on: the day of the session.
        within_days: a sample is to be tasted within so many days of its pull.

    Returns:
        The row; None where nothing is fit.
    """
    age = (pl.lit(on) - pl.col("packaged_on")).dt.total_days()
    waited = (pl.lit(on) - pl.col("pulled_on")).dt.total_days().fill_null(0)
    fit = candidates.filter(
        age.is_between(0, OLDEST_FRESH_DAYS),
        pl.col("storage_temp_c") <= KEPT_COLD_C,
        waited.is_between(0, within_days),
    ).sort(
        pl.col("sample").is_null(),
        ~pl.col("style").is_in(list(styles)),
        age,
        "lot",
        "format",
        "sample",
    )
    return next(fit.iter_rows(named=True), None)
