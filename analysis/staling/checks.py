"""What the model says of itself: curvature, real time against forced, lots it did not see."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import scipy

from analysis.errors import NotConverged
from analysis.kinetics.arrhenius import arrhenius_slope
from analysis.staling.clock import equivalent_days
from analysis.staling.design import ASSESSOR, BATCH, LOT, Term, designed
from analysis.staling.evidence import AGED
from analysis.staling.laplace import Laplace
from analysis.staling.model import SEED, LawDraws, redraw
from analysis.staling.predict import cells_under
from analysis.staling.verdicts import error_share

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.each import Each
    from analysis.staling.design import Layout
    from analysis.staling.mode import Mode
    from analysis.staling.model import StalingModel
    from analysis.survival.laws import Law

    Array = NDArray[np.float64]

REAL_TIME_C = (15.0, 25.0)
_COLD_C = 8.0
_UNIT_SLOPE = 0.02  # mol/kJ: about 4 °C and 35 °C lie one unit from 20 °C
_DRAWS = 300
_LOTS_A_PART = 8  # a lot takes 40 to 250 ms, too little to be worth sending
_BANDS = 10
_ENOUGH = 0.5
_CURVATURE = {"statistic": pl.Float64, "p_value": pl.Float64, "ratio_cold": pl.Float64}


def curvature(model: StalingModel) -> pl.DataFrame:
    """Test whether log rate is straight in 1/T over the storage temperatures.

    A term in the square of the Arrhenius slope beside the straight one; twice the gain in marginal
    log-likelihood is chi-squared with one degree of freedom where it is straight.

    Returns:
        statistic, p_value, ratio_cold (life at 8 °C by the curve over that by the line); no row
        where fewer than three temperatures were used or the curve did not settle.
    """
    term = Term("curvature", "log days", 0.0, 10.0)
    series, layout = designed(model.evidence, (term,))
    stored = series.filter("aged")["storage_temp_c"].unique()
    empty = pl.DataFrame(schema=_CURVATURE)
    if len(stored) < 3:  # noqa: PLR2004 - two points are always straight
        return empty
    square = (arrhenius_slope(series["storage_temp_c"].to_numpy()) / _UNIT_SLOPE) ** 2
    square = np.where(series["aged"].to_numpy(), square, 0.0)
    spreads, straight = model.best.log_spreads, model.best.mode.effects
    best = straight
    try:
        bent = Laplace(series, layout, model.law, extra=square[:, None]).mode(np.exp(spreads))

        def lost(by: float) -> float:
            offset = Laplace(series, model.layout, model.law, offset=by * square)
            value, _, mode = offset.marginal(spreads)
            nonlocal best
            best = mode.effects
            return model.best.log_likelihood - value

        by = float(bent.effects[layout.extras.start])
        # the joint mode lies near the maximum of the marginal likelihood, not at it
        around = (min(0.0, 2.0 * by), max(0.0, 2.0 * by))
        by = float(scipy.optimize.minimize_scalar(lost, bounds=around, options={"xatol": 1e-2}).x)
        statistic = max(-2.0 * lost(by), 0.0)
    except NotConverged:
        return empty
    slope = float(arrhenius_slope(_COLD_C))
    styles = len(layout.styles)
    change = -slope * (best[model.layout.energy] - straight[model.layout.energy])
    change += by * (slope / _UNIT_SLOPE) ** 2
    change += float((best[:styles] - straight[:styles]).mean())
    row = (statistic, float(scipy.stats.chi2.sf(statistic, 1)), float(np.exp(change)))
    return pl.DataFrame([row], schema=_CURVATURE, orient="row")


def real_time(model: StalingModel, confidence: float) -> pl.DataFrame:
    """Predict beer kept at the trade's temperature from warmer storage alone, style by style.

    Returns:
        style, verdicts, rejected, expected, expected_lower, expected_upper, oldest_days; no row for
        a style whose warmer storage did not last until half the glasses were rejected: the start
        of a curve does not tell its middle.
    """
    low, high = REAL_TIME_C
    schema = {
        "style": pl.String,
        "verdicts": pl.Int32,
        "rejected": pl.Int32,
        "expected": pl.Float64,
        "expected_lower": pl.Float64,
        "expected_upper": pl.Float64,
        "oldest_days": pl.Float64,
    }
    series, layout = designed(model.evidence)
    forced = series.filter(~pl.col("aged") | (pl.col("storage_temp_c") > high))
    if not forced.filter("aged")["rejected"].explode().any():
        return pl.DataFrame(schema=schema)
    try:
        mode, drawn = redraw(model, Laplace(forced, layout, model.law), _DRAWS)
    except NotConverged:
        return pl.DataFrame(schema=schema)
    every = _glasses(model)
    kept = every.filter(pl.col("storage_temp_c").is_between(low, high))
    best = LawDraws(model.law, mode.effects[None, :], drawn.spreads[:1])
    rng = np.random.default_rng(SEED)
    rows = []
    for (style,), glasses in kept.group_by("style", maintain_order=True):
        warm = every.filter((pl.col("style") == style) & (pl.col("storage_temp_c") > high))
        if warm.is_empty() or _chance(layout, str(style), warm, mode, best).max() < _ENOUGH:
            continue
        seen = rng.binomial(1, _of_these_lots(layout, str(style), glasses, mode, drawn, rng))
        asked = (0.5, 1.0 - confidence, confidence)
        middle, lower, upper = np.quantile(seen.sum(axis=1), asked)
        rejected = int(glasses["rejected"].sum())
        oldest = float(glasses["age_days"].to_numpy().max())
        rows.append((style, glasses.height, rejected, middle, lower, upper, oldest))
    return pl.DataFrame(rows, schema=schema, orient="row")


def _of_these_lots(
    layout: Layout,
    style: str,
    glasses: pl.DataFrame,
    mode: Mode,
    draws: LawDraws,
    rng: np.random.Generator,
) -> Array:
    """Probability that each glass is rejected, its lot drawn once for all its glasses."""
    places = glasses.select(pl.concat_str("lot", "format", separator="|")).to_series()
    lot_of = np.unique(places.to_numpy(), return_inverse=True)[1]
    spread = np.hypot(draws.spreads[:, LOT], draws.spreads[:, BATCH])[:, None]
    lots = spread * rng.standard_normal((len(draws.params), int(lot_of.max()) + 1))
    return _chance(layout, style, glasses, mode, draws, of_lot=lots[:, lot_of])


@dataclass(frozen=True)
class BackTest:
    """Every lot predicted by a fit that did not see it.

    Attributes:
        lots: style, format, lot, verdicts, rejected, expected, log_score, printed_verdicts,
            printed_log_score, baseline_log_score.
        calibration: expected_from, expected_to, verdicts, expected, rejected.
    """

    lots: pl.DataFrame
    calibration: pl.DataFrame


@dataclass(frozen=True)
class LotsLeftOut:
    """A few lots, each to be predicted by a fit that has not seen it: one part of a back-test.

    Attributes:
        series: as `designed` returns them.
        layout: likewise.
        law: the law of the whole fit.
        spreads: its spreads, shape (4,).
        start: its effects, from which each fit starts, shape (k,).
        lots: the glasses of each lot.
    """

    series: pl.DataFrame
    layout: Layout
    law: Law
    spreads: Array
    start: Array
    lots: tuple[pl.DataFrame, ...]

    def __str__(self) -> str:
        """Name the part for a person."""
        names = list(dict.fromkeys(glasses["lot"][0] for glasses in self.lots))
        return f"{'lot' if len(names) == 1 else 'lots'} {', '.join(names)} left out"


def back_test(model: StalingModel, each: Each = map) -> BackTest:
    """Leave out one lot at a time, refit at the model's spreads, and predict its verdicts.

    The baseline says that every beer keeps to its printed date: fresh before it, stale after it,
    whatever the temperature; it is compared on beer kept at 25 °C or below of lots that have one.

    Args:
        model: the fit.
        each: spreads the lots, a few at a time.
    """
    series, layout = designed(model.evidence)
    spreads, start = np.exp(model.best.log_spreads), model.best.mode.effects
    lots = _glasses(model).partition_by("lot", "format", maintain_order=True)
    parts = [
        LotsLeftOut(
            series, layout, model.law, spreads, start, tuple(lots[first : first + _LOTS_A_PART])
        )
        for first in range(0, len(lots), _LOTS_A_PART)
    ]
    predicted = [glasses for part in each(predict_left_out, parts) for glasses in part]
    return _scored(pl.concat(predicted) if predicted else None)


def predict_left_out(part: LotsLeftOut) -> list[pl.DataFrame]:
    """Predict the glasses of each lot from the others; none of a lot whose fit did not settle."""
    layout = part.layout
    predicted = []
    for glasses in part.lots:
        lot, format_ = glasses.select("lot", "format").row(0)
        rest = part.series.filter((pl.col("lot") != lot) | (pl.col("format") != format_))
        if rest.is_empty():
            continue
        laplace = Laplace(rest, layout, part.law)
        try:
            mode = laplace.mode(part.spreads, (part.start, np.zeros(len(laplace.first_of_lot))))
        except NotConverged:
            continue
        one = LawDraws(part.law, mode.effects[None, :], part.spreads[None, :])
        style = glasses["style"][0]
        chance = _chance(layout, style, glasses, mode, one, known_assessors=True)[0]
        predicted.append(glasses.with_columns(chance=chance, **_errors(layout, glasses, mode)))
    return predicted


def _scored(glasses: pl.DataFrame | None) -> BackTest:
    if glasses is None:
        glasses = pl.DataFrame(
            schema={
                **dict.fromkeys(["style", "format", "lot"], pl.String),
                **dict.fromkeys(["rejected", "printed", "past"], pl.Boolean),
                **dict.fromkeys(["chance", "alpha", "delta"], pl.Float64),
            }
        )
    whole = pl.Int32

    def score(chance: pl.Expr) -> pl.Expr:
        return pl.when("rejected").then(chance.log()).otherwise((1.0 - chance).log())

    scored = glasses.with_columns(
        score=score(pl.col("chance")),
        baseline=score(pl.when("past").then(1.0 - pl.col("delta")).otherwise("alpha")),
        band=(pl.col("chance") * _BANDS).floor().clip(0, _BANDS - 1),
    )
    return BackTest(
        lots=scored.group_by("style", "format", "lot", maintain_order=True).agg(
            verdicts=pl.len().cast(whole),
            rejected=pl.col("rejected").sum().cast(whole),
            expected=pl.col("chance").sum(),
            log_score=pl.col("score").mean(),
            printed_verdicts=pl.col("printed").sum().cast(whole),
            printed_log_score=pl.col("score").filter("printed").mean(),
            baseline_log_score=pl.col("baseline").filter("printed").mean(),
        ),
        calibration=scored.group_by("band")
        .agg(
            verdicts=pl.len().cast(whole),
            expected=pl.col("chance").mean(),
            rejected=pl.col("rejected").mean(),
        )
        .sort("band")
        .select(
            pl.col("verdicts", "expected", "rejected"),
            expected_from=pl.col("band") / _BANDS,
            expected_to=(pl.col("band") + 1.0) / _BANDS,
        ),
    )


def _glasses(model: StalingModel) -> pl.DataFrame:
    """Every glass of aged beer with an answer, its dose, and whether it was past its date."""
    age = pl.duration(days=pl.col("age_days").cast(pl.Int64))
    return (
        model.evidence.servings.filter(AGED & pl.col("style").is_in(model.layout.styles))
        .join(
            model.evidence.lots.select("lot", "format", "log_dose", "best_before"),
            on=["lot", "format"],
        )
        .sort("style", "format", "lot", "sample", "session", "assessor", "verdict")
        .with_columns(
            rejected=pl.col("verdict") == "reject",
            past=(pl.col("packaged_on") + age > pl.col("best_before")).fill_null(value=False),
            printed=pl.col("best_before").is_not_null()
            & (pl.col("storage_temp_c") <= REAL_TIME_C[1]),
        )
    )


def _errors(layout: Layout, glasses: pl.DataFrame, mode: Mode) -> dict[str, Array]:
    who = np.array([layout.assessors.index(a) for a in glasses["assessor"]])
    alarm, miss = mode.effects[layout.false_alarm], mode.effects[layout.miss]
    return {
        "alpha": error_share(alarm[0] + alarm[1:][who]),
        "delta": error_share(miss[0] + miss[1:][who]),
    }


def _chance(
    layout: Layout,
    style: str,
    glasses: pl.DataFrame,
    mode: Mode,
    draws: LawDraws,
    *,
    known_assessors: bool = False,
    of_lot: Array | None = None,
) -> Array:
    """Probability that each glass is rejected, shape (draws, glasses).

    Assessors may be known by their effect at the mode, or lots by an effect for each draw and
    glass; who is not known is averaged over.
    """
    drawn = cells_under(
        [draws], layout, style, glasses["format"].to_list(), glasses["log_dose"].to_numpy()
    )
    log_age = np.log(equivalent_days(glasses, drawn.activation_energy[:, None]))
    part = drawn.parts[0]
    if known_assessors:
        who = [layout.assessors.index(a) for a in glasses["assessor"]]
        log_age = log_age - mode.effects[layout.assessor][who]
        part = part.with_between(np.hypot(draws.spreads[:, LOT], draws.spreads[:, BATCH]))
    if of_lot is not None:
        log_age = log_age - of_lot
        part = part.with_between(draws.spreads[:, ASSESSOR])
    stale = part.expected(log_age - part.location)[0]
    errors = _errors(layout, glasses, mode)
    return np.asarray(errors["alpha"] + (1.0 - errors["alpha"] - errors["delta"]) * stale)
