"""What assessors are held against each other by: one number a glass, and what the rest found in it.

Scores say more than verdicts. Of the attributes that half of the glasses were scored for, the one
that goes best with the verdicts is taken, as a distance from its good end; where there is none, a
rejection counts 1 and an acceptance 0.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.panel.glasses import attribute_scores

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from numpy.typing import NDArray

    from analysis.panel.glasses import Scale

    Array = NDArray[np.float64]
    Numbers = NDArray[np.int64]
    Flags = NDArray[np.bool_]

VERDICT = "verdict"
FEWEST_GLASSES = 60
FEWEST_SESSIONS = 10
FEWEST_OTHERS = 3
"""Of the others, from whom on a glass can be compared."""

_MOST = 0.5
_GLASS = ["session", "assessor", "sample", "code"]
_DAYS_A_YEAR = 365.25


@dataclass(frozen=True)
class Measured:
    """Glasses of the regular assessors, one element each; what tells groups apart is 0, 1, ….

    Attributes:
        measure: the attribute, or `verdict`.
        span: length of its scale; 1 for verdicts.
        names: the assessors.
        value: distance from the good end, 0 to span; of verdicts 1 for a rejection.
        who: place in `names`.
        sample: a sample in a session.
        lot, session, series: clusters; a series is an assessor, lot, format and storage.
        years: day of the session, 0 in the middle of all glasses.
        quarter: place in `quarters`.
        quarters: first day of each quarter of the calendar.
    """

    measure: str
    span: float
    names: tuple[str, ...]
    value: Array
    who: Numbers
    sample: Numbers
    lot: Numbers
    session: Numbers
    series: Numbers
    years: Array
    quarter: Numbers
    quarters: tuple[date, ...]

    def rest(self, value: Array, counts: Flags) -> tuple[Array, Array]:
        """Give the mean of the others' values on each glass's sample, and their number.

        Args:
            value: one a glass.
            counts: the glasses that others are compared with; an assessor's own never count.
        """
        own = np.unique(np.stack([self.sample, self.who]), axis=1, return_inverse=True)[1]
        weighted = np.where(counts, value, 0.0)
        others = np.bincount(self.sample, counts)[self.sample] - np.bincount(own, counts)[own]
        total = np.bincount(self.sample, weighted)[self.sample] - np.bincount(own, weighted)[own]
        return np.asarray(total / np.maximum(others, 1.0)), others.astype(np.float64)


def measured(poured: pl.DataFrame, attributes: Mapping[str, Scale]) -> Measured | None:
    """Choose what to compare assessors by, and lay their glasses out.

    Args:
        poured: as `analysis.panel.glasses` gives them.
        attributes: by name, those that the brewery scores.

    Returns:
        The glasses of assessors with 60 of them or more in ten sessions or more; None where fewer
        than four have as many.
    """
    measure, span, values = _values(poured, attributes)
    regular = (
        values.group_by("assessor")
        .agg(glasses=pl.len(), sessions=pl.col("session").n_unique())
        .filter(pl.col("glasses") >= FEWEST_GLASSES, pl.col("sessions") >= FEWEST_SESSIONS)[
            "assessor"
        ]
        .sort()
    )
    if len(regular) <= FEWEST_OTHERS:
        return None
    kept = values.filter(pl.col("assessor").is_in(regular.implode())).sort(_GLASS)
    quarter, quarters = _places(kept, pl.col("tasted_on").dt.truncate("1q"))
    day = kept["tasted_on"].to_physical().to_numpy() / _DAYS_A_YEAR
    filled = pl.concat_str("lot", "format", separator="\x00")
    stored = pl.concat_str(filled, pl.col("storage_temp_c").cast(pl.String), separator="\x00")
    series = pl.concat_str(stored, "assessor", separator="\x00")
    return Measured(
        measure=measure,
        span=span,
        names=tuple(regular),
        value=kept["value"].to_numpy(),
        who=_places(kept, pl.col("assessor"))[0],
        sample=_places(kept, pl.concat_str("session", "sample", separator="\x00"))[0],
        lot=_places(kept, filled)[0],
        session=_places(kept, pl.col("session"))[0],
        series=_places(kept, series)[0],
        years=day - day.mean(),
        quarter=quarter,
        quarters=tuple(quarters.to_list()),
    )


def _places(frame: pl.DataFrame, of: pl.Expr) -> tuple[Numbers, pl.Series]:
    """Give each row the place of its value among all values, sorted."""
    value = frame.select(value=of)["value"]
    known = value.unique().sort()
    return np.asarray(known.search_sorted(value), dtype=np.int64), known


def _values(
    poured: pl.DataFrame, attributes: Mapping[str, Scale]
) -> tuple[str, float, pl.DataFrame]:
    """Give the measure, the length of its scale, and the glasses with their `value`."""
    answered = poured.filter(pl.col("rejected").is_not_null())
    rejection = answered.with_columns(value=pl.col("rejected").cast(pl.Float64))
    best = (0.0, VERDICT, 1.0, rejection)
    scores = attribute_scores(poured, attributes)
    for name, scale in sorted(attributes.items()):
        score = pl.col("score")
        from_good_end = score - scale.low if scale.worse == "high" else scale.high - score
        scored = scores.filter(pl.col("attribute") == name).with_columns(value=from_good_end)
        if scored.height < _MOST * poured.height:
            continue
        both = scored.filter(pl.col("rejected").is_not_null())
        goes_with = both.select(pl.corr(pl.col("rejected").cast(pl.Float64), "value")).item()
        if goes_with is not None and goes_with > best[0]:  # not so for a NaN
            best = (goes_with, name, scale.high - scale.low, scored)
    return best[1:]
