"""How good an instrument the panel and its assessors are, as result tables.

A sample counts by the session that it was served in: what the day does to a beer, or to all who
taste, is then no disagreement of assessors. Scores of the last year count, up to the last tasting.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.errors import NotEstimable
from analysis.panel import indicators as of_assessor
from analysis.panel.anova import anova
from analysis.panel.cells import Cells
from analysis.panel.mixed import fit_panel
from analysis.panel.resolution import told_apart

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from analysis.panel.glasses import Scale
    from analysis.panel.indicators import Indicators
    from analysis.panel.mixed import PanelFit

    Schema = Mapping[str, type[pl.DataType]]

WINDOW_DAYS = 365
FEWEST, MOST = 2, 16  # assessors of a session whose differences are tabulated

_TEXT, _COUNT, _NUMBER = pl.String, pl.Int32, pl.Float64
_BOUNDS = ("", "_lower", "_upper")


def _bounded(*names: str) -> Schema:
    return {f"{name}{end}": _NUMBER for name in names for end in _BOUNDS}


_ATTRIBUTES: Schema = {
    "attribute": _TEXT,
    "low": _NUMBER,
    "high": _NUMBER,
    "glasses": _COUNT,
    "samples": _COUNT,
    "assessors": _COUNT,
    "repeats": _COUNT,
    "first_tasted": pl.Date,
    "last_tasted": pl.Date,
    "present": _COUNT,
    "repeated": pl.Boolean,
    **_bounded("level_sd", "disagreement_sd", "repeat_sd"),
    "f": _NUMBER,
    "numerator": _NUMBER,
    "denominator": _NUMBER,
    "p": _NUMBER,
    **_bounded("told_apart"),
    "reason": _TEXT,
}
_RESOLUTION: Schema = {
    "attribute": _TEXT,
    "assessors": _COUNT,
    **_bounded("told_apart"),
    "told_apart_twice": _NUMBER,
}
_ANOVA: Schema = {
    "attribute": _TEXT,
    "place": _COUNT,
    "source": _TEXT,
    "squares": _NUMBER,
    "freedom": _COUNT,
    "mean_square": _NUMBER,
    "f": _NUMBER,
    "p": _NUMBER,
}
_ASSESSORS: Schema = {
    "attribute": _TEXT,
    "assessor": _TEXT,
    "glasses": _COUNT,
    "shared_samples": _COUNT,
    "repeats": _COUNT,
    "f": _NUMBER,
    "numerator": _COUNT,
    "denominator": _COUNT,
    "p": _NUMBER,
    **_bounded("discrimination", "repeatability", "agreement", "bias", "scale"),
    "agrees_less": pl.Boolean,
    "unsteady": pl.Boolean,
    "scale_apart": _TEXT,
}

Row = dict[str, object]


def score_performance(
    scores: pl.DataFrame, attributes: Mapping[str, Scale]
) -> dict[str, pl.DataFrame]:
    """Tabulate the panel, and each assessor in it, by attribute.

    Args:
        scores: one row a score: session, tasted_on, assessor, sample, attribute, score.
        attributes: scale of each attribute; one that nobody scored has a row that says so.

    Returns:
        By name of the result table: `panel_attributes`, one row an attribute, reason saying why
        there is no estimate; `panel_resolution`, the difference told apart by number of assessors;
        `panel_anova`; `assessor_scores`, one row an attribute and assessor, null where there is too
        little to say. SDs, differences and bias are points of the scale.
    """
    newest = pl.col("tasted_on").max()
    counted = scores.filter(pl.col("tasted_on") > newest - pl.duration(days=WINDOW_DAYS)).sort(
        "session", "sample", "assessor", "score"
    )
    rows: dict[str, list[Row]] = {name: [] for name in _SCHEMAS}
    for attribute, scale in sorted(attributes.items()):
        own = counted.filter(pl.col("attribute") == attribute)
        head: Row = {"attribute": attribute, "low": scale.low, "high": scale.high}
        if own.is_empty():
            nobody = {"glasses": 0, "samples": 0, "assessors": 0, "repeats": 0, "repeated": False}
            rows["panel_attributes"].append(head | nobody | {"reason": "nobody has scored it"})
            continue
        cells = _cells(own)
        try:
            fit = fit_panel(cells)
        except NotEstimable as reason:
            row = head | _counts(own, cells) | {"repeated": False, "reason": str(reason)}
            rows["panel_attributes"].append(row)
            continue
        present = _present(cells)
        rows["panel_attributes"].append(head | _counts(own, cells) | _panel(fit, present))
        rows["panel_resolution"] += _resolution(attribute, fit, present)
        rows["panel_anova"] += _anova(attribute, cells)
        names = own["assessor"].unique().sort()
        found = of_assessor.indicators(cells, fit.variances)
        rows["assessor_scores"] += [
            {"attribute": attribute, "assessor": name} | _assessor(one, found)
            for name, one in zip(names, found, strict=True)
        ]
    return {name: pl.DataFrame(rows[name], schema=schema) for name, schema in _SCHEMAS.items()}


_SCHEMAS = {
    "panel_attributes": _ATTRIBUTES,
    "panel_resolution": _RESOLUTION,
    "panel_anova": _ANOVA,
    "assessor_scores": _ASSESSORS,
}


def _present(cells: Cells) -> int:
    """Return how many assessors a sample usually has, two at least."""
    return max(int(np.median((cells.counts > 0.0).sum(axis=1))), FEWEST)


def _cells(own: pl.DataFrame) -> Cells:
    placed = own.select(
        sample=pl.struct("session", "sample").rank("dense"),
        assessor=pl.col("assessor").rank("dense"),
    )
    return Cells.of(placed["sample"], placed["assessor"], own["score"])


def _counts(own: pl.DataFrame, cells: Cells) -> Row:
    return {
        "glasses": cells.glasses,
        "samples": cells.samples,
        "assessors": cells.assessors,
        "repeats": int(cells.repeats.sum()),
        "first_tasted": own["tasted_on"].min(),
        "last_tasted": own["tasted_on"].max(),
    }


def _named(name: str, found: Iterable[float] | None) -> Row:
    """Give an estimate and its bounds their columns; a bound that is not finite is null."""
    values = (
        [None, None, None] if found is None else [v if math.isfinite(v) else None for v in found]
    )
    return {f"{name}{end}": value for end, value in zip(_BOUNDS, values, strict=True)}


def _panel(fit: PanelFit, present: int) -> Row:
    repeat, level, disagreement = fit.spreads
    return {
        "present": present,
        "repeated": fit.repeated,
        **_named("level_sd", level),
        **_named("disagreement_sd", disagreement if fit.repeated else None),
        **_named("repeat_sd", repeat),
        **fit.samples._asdict(),
        **_named("told_apart", told_apart(fit, present)),
    }


def _resolution(attribute: str, fit: PanelFit, present: int) -> list[Row]:
    return [
        {
            "attribute": attribute,
            "assessors": number,
            **_named("told_apart", told_apart(fit, number)),
            "told_apart_twice": told_apart(fit, number, 2).value if fit.repeated else None,
        }
        for number in range(FEWEST, max(MOST, present) + 1)
    ]


def _anova(attribute: str, cells: Cells) -> list[Row]:
    return [
        {
            "attribute": attribute,
            "place": place,
            "source": row.name,
            "squares": row.squares,
            "freedom": row.freedom,
            **{
                name: value if math.isfinite(value) else None
                for name, value in (("mean_square", row.mean_square), ("f", row.f), ("p", row.p))
            },
        }
        for place, row in enumerate(anova(cells))
    ]


def _assessor(one: Indicators, panel: tuple[Indicators, ...]) -> Row:
    tells = one.discrimination
    return {
        "glasses": one.glasses,
        "shared_samples": one.samples,
        "repeats": one.repeats,
        **(
            {}
            if tells is None
            else {
                "f": tells.f,
                "numerator": tells.numerator,
                "denominator": tells.denominator,
                "p": tells.p,
            }
        ),
        **_named("discrimination", None if tells is None else tells.share),
        **_named("repeatability", one.repeatability),
        **_named("agreement", one.agreement),
        **_named("bias", one.bias),
        **_named("scale", one.scale),
        **of_assessor.beside(one, panel)._asdict(),
    }
