"""The evidence and the fit of each style, as tables for a reader to follow."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.staling.clock import equivalent_days
from analysis.staling.evidence import AGED, ANSWERED
from analysis.staling.model import SEED, LawDraws, spread_table
from analysis.staling.predict import Cells, cells
from analysis.staling.treatments import tasted_lots
from analysis.survival.turnbull import turnbull
from analysis.survival.turnbull_band import largest_gap, turnbull_band

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analysis.staling.evidence import Evidence
    from analysis.staling.model import StalingModel

    Array = NDArray[np.float64]

_CURVE_POINTS = 61
_CURVE_EVERY = 5
_BAND_POINTS = 31
_STEPS = {
    "style": pl.String,
    **dict.fromkeys(["age_from", "age_to", "share_before", "share_after"], pl.Float64),
}
_BAND = {
    "style": pl.String,
    **dict.fromkeys(["age_days", "share_lower", "share_upper"], pl.Float64),
}
_FRESH = ~pl.col("aged") & pl.col("role").is_in(["fresh", "aged"]) & ANSWERED
_REJECTED = pl.col("verdict") == "reject"


def style_counts(
    evidence: Evidence, model: StalingModel | None, failure: str | None
) -> pl.DataFrame:
    """Count the evidence behind every style that has a lot.

    Returns:
        style, beers, lots, assessors, verdicts, rejected, not_sure, fresh_verdicts, fresh_rejected,
        brackets, uninformative, oldest_tasted_days, oldest_tasted_temp_c, reason.
    """
    oldest = pl.col("age_days").filter(AGED)
    fitted = () if model is None else model.layout.styles
    whole = pl.Int32
    served = evidence.servings.group_by("style").agg(
        lots=pl.struct("lot", "format").filter(AGED).n_unique().cast(whole),
        assessors=pl.col("assessor").filter(AGED).n_unique().cast(whole),
        verdicts=AGED.sum().cast(whole),
        rejected=(AGED & _REJECTED).sum().cast(whole),
        not_sure=(pl.col("aged") & ~ANSWERED).sum().cast(whole),
        fresh_verdicts=_FRESH.sum().cast(whole),
        fresh_rejected=(_FRESH & _REJECTED).sum().cast(whole),
        oldest_tasted_days=oldest.max(),
        oldest_tasted_temp_c=pl.col("storage_temp_c").filter(AGED).get(oldest.arg_max()),
    )
    series = evidence.brackets.group_by("style").agg(brackets=pl.len().cast(whole))
    silent = evidence.uninformative.select("style", uninformative=pl.col("series").cast(whole))
    counted = ["lots", "assessors", "verdicts", "rejected", "not_sure"]
    counted += ["fresh_verdicts", "fresh_rejected", "brackets", "uninformative"]
    return (
        evidence.lots.group_by("style")
        .agg(beers=pl.col("beer").n_unique().cast(whole))
        .join(served, on="style", how="left")
        .join(series, on="style", how="left")
        .join(silent, on="style", how="left")
        .with_columns(pl.col(counted).fill_null(0))
        .with_columns(
            reason=pl.when(pl.lit(failure is not None))
            .then(pl.lit(failure, pl.String))
            .when(~pl.col("style").is_in(fitted))
            .then(pl.lit("no verdicts on aged beer of this style"))
        )
        .sort("style")
    )


def curves(model: StalingModel, confidence: float) -> pl.DataFrame:
    """Draw the share rejected over the lots tasted of each style, by days at 20 °C.

    Args:
        model: the fit.
        confidence: one-sided confidence of the bounds.

    Returns:
        style, age_days, share_rejected, share_rejected_lower, share_rejected_upper.
    """
    tables = []
    for style in model.layout.styles:
        drawn = _tasted(model, style, _some(model.draws))
        best = _tasted(model, style, [model.estimate])
        last = _intervals(model, style)[0].max(initial=0.0)
        furthest = 1.1 * max(float(best.age_at(0.9)[0]), float(last))
        age = np.linspace(furthest / (_CURVE_POINTS - 1), furthest, _CURVE_POINTS - 1)
        log_age = np.log(age)
        number = len(drawn.activation_energy)
        shares = drawn.share_rejected(np.broadcast_to(log_age, (number, len(age))))
        lower, upper = np.quantile(shares, (1.0 - confidence, confidence), axis=0)
        tables.append(
            pl.DataFrame(
                {
                    "style": style,
                    "age_days": age,
                    "share_rejected": best.share_rejected(log_age[None, :])[0],
                    "share_rejected_lower": lower,
                    "share_rejected_upper": upper,
                }
            )
        )
    return pl.concat(tables)


def _bracketed(model: StalingModel) -> list[str]:
    """Name the styles of which at least one series brackets an age."""
    found = set(model.evidence.brackets["style"])
    return [style for style in model.layout.styles if style in found]


def turnbull_steps(model: StalingModel) -> pl.DataFrame:
    """Estimate each style's share rejected straight from its brackets, in days at 20 °C.

    Returns:
        style, age_from, age_to (null where it never ends), share_before, share_after.
    """
    tables = [pl.DataFrame(schema=_STEPS)]
    for style in _bracketed(model):
        estimate = turnbull(*_intervals(model, style)[:2])
        after = np.cumsum(estimate.mass).clip(max=1.0)
        tables.append(
            pl.DataFrame(
                {
                    "style": style,
                    "age_from": estimate.lower,
                    "age_to": pl.Series(estimate.upper, dtype=pl.Float64).replace(np.inf, None),
                    "share_before": np.concatenate([[0.0], after[:-1]]),
                    "share_after": after,
                }
            )
        )
    return pl.concat(tables)


def turnbull_bands(model: StalingModel, confidence: float) -> pl.DataFrame:
    """Bound the shares of `turnbull_steps` point by point, whole lots resampled.

    The band is for other lots with these tasters: what they share is not in it.

    Returns:
        style, age_days, share_lower, share_upper.
    """
    tables = [pl.DataFrame(schema=_BAND)]
    for style in _bracketed(model):
        lower, upper, lots = _intervals(model, style)
        ages = np.unique(np.concatenate([lower, upper[np.isfinite(upper)]]))
        ages = np.linspace(0.0, float(ages.max()), _BAND_POINTS)[1:]
        band = turnbull_band(lower, upper, lots, ages, confidence=confidence, seed=SEED)
        tables.append(
            pl.DataFrame(
                {
                    "style": style,
                    "age_days": ages,
                    "share_lower": band.lower,
                    "share_upper": band.upper,
                }
            )
        )
    return pl.concat(tables)


def gaps(model: StalingModel) -> pl.DataFrame:
    """Name the styles of which more than a quarter turns unseen between two pulls.

    Returns:
        style, age_from, age_to, share; no row for a style without such a gap.
    """
    rows = []
    for style in _bracketed(model):
        gap = largest_gap(turnbull(*_intervals(model, style)[:2]))
        if gap is not None and gap.wide:
            rows.append((style, gap.lower, gap.upper, gap.mass))
    numbers = ["age_from", "age_to", "share"]
    schema = {"style": pl.String, **dict.fromkeys(numbers, pl.Float64)}
    return pl.DataFrame(rows, schema=schema, orient="row")


def pulls(evidence: Evidence, model: StalingModel | None) -> pl.DataFrame:
    """Count the verdicts on every aged sample beside the rejections the fit expects.

    Returns:
        style, beer, format, lot, sample, storage_temp_c, age_days, equivalent_days (null without
        a fit), tasted, rejected, not_sure, expected_rejected (wrong answers included; null without
        a fit).
    """
    whole = pl.Int32
    counted = (
        evidence.servings.filter(pl.col("aged"))
        .group_by("style", "beer", "format", "lot", "sample")
        .agg(
            pl.col(
                "storage_temp_c", "before_days", "before_temp_c", "stored_days", "age_days"
            ).first(),
            tasted=AGED.sum().cast(whole),
            rejected=_REJECTED.sum().cast(whole),
            not_sure=(~AGED).sum().cast(whole),
        )
        .join(evidence.lots.select("lot", "format", "log_dose"), on=["lot", "format"])
        .sort("style", "format", "lot", "sample")
    )
    share = np.full(counted.height, np.nan)
    age = np.full(counted.height, np.nan)
    if model is not None:
        for style in model.layout.styles:
            rows = np.flatnonzero((counted["style"] == style).to_numpy())
            age[rows], share[rows] = _expected(model, style, counted[rows])
    counted = counted.with_columns(
        equivalent_days=pl.Series(age).fill_nan(None), share=pl.Series(share).fill_nan(None)
    )
    return (
        counted.join(_rejections(evidence, model, counted), on="sample", how="left")
        .with_columns(
            expected_rejected=pl.when(pl.col("share").is_not_null()).then(
                pl.col("expected_rejected").fill_null(0.0)
            )
        )
        .drop("before_days", "before_temp_c", "stored_days", "log_dose", "share")
    )


def _rejections(
    evidence: Evidence, model: StalingModel | None, counted: pl.DataFrame
) -> pl.DataFrame:
    """Expect each sample's rejections: stale and noticed, or fresh and a false alarm."""
    schema = {"sample": pl.String, "expected_rejected": pl.Float64}
    if model is None:
        return pl.DataFrame(schema=schema)
    false_alarm, miss = model.error_shares
    errors = pl.DataFrame(
        {"assessor": model.layout.assessors, "false_alarm": false_alarm, "miss": miss}
    )
    stale = pl.col("share")
    return (
        evidence.servings.filter(AGED)
        .join(counted.select("sample", "share"), on="sample")
        .join(errors, on="assessor")
        .sort("sample", "assessor", "share")
        .group_by("sample")
        .agg(
            expected_rejected=(
                stale * (1.0 - pl.col("miss")) + (1.0 - stale) * pl.col("false_alarm")
            ).sum()
        )
    )


def _expected(model: StalingModel, style: str, samples: pl.DataFrame) -> tuple[Array, Array]:
    """Return days at 20 °C and share rejected for age of samples of one style, at the estimate."""
    drawn = cells(
        model,
        style,
        samples["format"].to_list(),
        samples["log_dose"].to_numpy(),
        draws=[model.estimate],
    )
    age = equivalent_days(samples, drawn.activation_energy)
    return age, drawn.share_of_each(np.log(age))[0]


def arms(pulled: pl.DataFrame) -> pl.DataFrame:
    """Sum pulls by style and storage temperature: rejections seen beside rejections expected.

    Returns:
        style, storage_temp_c, pulls, verdicts, rejected, expected_rejected, oldest_days.
    """
    return (
        pulled.group_by("style", "storage_temp_c")
        .agg(
            pulls=pl.len().cast(pl.Int32),
            verdicts=pl.col("tasted").sum().cast(pl.Int32),
            rejected=pl.col("rejected").sum().cast(pl.Int32),
            expected_rejected=pl.when(pl.col("expected_rejected").is_not_null().all()).then(
                pl.col("expected_rejected").sum()
            ),
            oldest_days=pl.col("age_days").max(),
        )
        .sort("style", "storage_temp_c")
    )


def parameters(model: StalingModel) -> pl.DataFrame:
    """List the parameters with their priors and whether the data or the prior speaks.

    The parts of single assessors are left out: a page names no person.

    Returns:
        position, name, unit, estimate, standard_error, prior_mean, prior_sd, source, narrowed (part
        of the prior's SD that the data took away).
    """
    layout = model.layout
    named = [*range(layout.interaction.start), *range(layout.exponent, layout.assessor.start)]
    places = [*named, *range(layout.energy, layout.log_scale + 1)]
    places += [layout.false_alarm.start, layout.miss.start]
    table = pl.DataFrame(
        {
            "name": [model.terms[place].name for place in places],
            "unit": [model.terms[place].unit for place in places],
            "estimate": model.best.mode.effects[places],
            "standard_error": model.standard_errors[places],
            "prior_mean": [model.terms[place].prior_mean for place in places],
            "prior_sd": [model.terms[place].prior_sd for place in places],
            "source": [model.source(place) for place in places],
        },
    )
    return (
        pl.concat([table, spread_table(model)])
        .with_columns(narrowed=(1.0 - pl.col("standard_error") / pl.col("prior_sd")).clip(0.0, 1.0))
        .with_row_index("position")
        .cast({"position": pl.Int32})
    )


def laws(model: StalingModel) -> pl.DataFrame:
    """List the laws compared: distribution, log_likelihood, chosen, weight, reason."""
    return pl.DataFrame(
        [
            (
                law.distribution,
                law.log_likelihood,
                law.distribution == model.law.name,
                law.weight,
                law.reason,
            )
            for law in model.compared
        ],
        schema={
            "distribution": pl.String,
            "log_likelihood": pl.Float64,
            "chosen": pl.Boolean,
            "weight": pl.Float64,
            "reason": pl.String,
        },
        orient="row",
    )


def _some(draws: Sequence[LawDraws]) -> list[LawDraws]:
    """Take every so many draws: bounds of a curve need fewer than those of a date."""
    return [LawDraws(d.law, d.params[::_CURVE_EVERY], d.spreads[::_CURVE_EVERY]) for d in draws]


def _tasted(model: StalingModel, style: str, draws: Sequence[LawDraws]) -> Cells:
    """Gather the lots of a style that were tasted, each weighted by its series."""
    lots = tasted_lots(model, style)
    return cells(
        model,
        style,
        lots["format"].to_list(),
        lots["log_dose"].to_numpy(),
        weights=lots["series"].to_numpy().astype(float),
        draws=draws,
    )


def _intervals(model: StalingModel, style: str) -> tuple[Array, Array, Array]:
    """Return a style's brackets in days at 20 °C, at the estimate, and the lot of each.

    Brackets that share nearly all of their ends differ in the last digit of the clock alone; a
    tenth of a day is finer than any pull.
    """
    rows = model.evidence.brackets.filter(pl.col("style") == style)
    drawn = _tasted(model, style, [model.estimate])
    ends = []
    for end in ("lower", "upper"):
        stored = rows[end].cast(pl.Float64).fill_null(np.inf).to_numpy()
        rows = rows.with_columns(stored_days=pl.Series(stored))
        age = equivalent_days(rows, drawn.activation_energy).round(1)
        ends.append(np.where(stored == 0.0, 0.0, age))
    lots = rows.select(pl.concat_str("lot", "format", separator="|")).to_series().to_numpy()
    return ends[0], ends[1], lots
