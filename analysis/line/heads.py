r"""The one bad head of a line, with its odds among all heads.

    log ppb = lot + run position + head + package,    head_j = g_j + δ·[j is bad],    g_j ~ N(0, τ²)

Either no head is bad or exactly one is, and lets in more than the rest by a factor e^δ:

    P(none) = 1 − p,    P(k) = p/H for each of H heads,    p = 1/2
    δ ~ N(log 1.8, 0.25²): 1.2 to 2.7 times the rest, in nine cases of ten
    τ = 0.12, 0.18 or 0.27 with weights 0.80, 0.15, 0.05: how far sound heads differ

all assumed. That p is spread over the heads is the correction for looking at all of them: the more
there are, the further one must stand out. Lots and run positions are taken out by least squares;
they leave N and q (`crossed`), and with A = N/σ², b = q/σ², P = (A + I/τ²)⁻¹

    log P(data | none, τ) = −½ log|I + τ²A| + ½ b'Pb + constant
    u = b − APb,    w = diag(A − APA)
    P(data | k, τ) / P(data | none, τ)
        = (1 + s²w_k)^(−½) · exp(½(u_k + d/s²)² / (w_k + 1/s²) − ½ d²/s²),    d = log 1.8, s = 0.25

A head is named where it is likelier than not to be the bad one. What each reads against the mean of
the others is drawn to 1 by the same model, averaged over all of its cases: a named head keeps
nearly all of its ratio, the rest little. σ² is pooled over lots and heads, with 3 packages' worth
of SD 0.25 beside it (assumed). Only clean packages enter.

There are too few packages of a head where there are fewer than three, or where it would not be
named even if it read just 1.8 times the rest: ½ d²w_k − ½ log(1 + s²w_k) ≤ log(H (1 − p)/p) at
τ = 0.12.

Reference: Gelman et al., Bayesian Data Analysis, 3rd ed., 2013, chapters 7 and 14.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
from scipy.special import logsumexp, ndtr

from analysis.line.crossed import crossed
from analysis.oxygen.packages import LOT, is_clean

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from analysis.line.crossed import Crossed

    Array = NDArray[np.float64]

PRIOR_BAD = 0.5
FACTOR, FACTOR_SD = math.log(1.8), 0.25
HEAD_SDS = np.array([0.12, 0.18, 0.27])
HEAD_SD_WEIGHTS = np.array([0.80, 0.15, 0.05])
PACKAGE_SD, PACKAGES = 0.25, 3.0
NAMED, SURE = 0.5, 0.9

WINDOW_DAYS, WINDOW_LOTS = 90, 12
LEAST_PACKAGES = 3
"""Of a head, below which nothing is said of it."""

_LEAST_HEADS = 2
_WIDEST = 6.0  # log ratios; no head reads four hundred times the rest
_HALVINGS = 40

_RATIOS = ("ratio", "ratio_lower", "ratio_upper")
_PLACE = {"line": pl.String, "format": pl.String}
_FINDINGS = {
    **_PLACE,
    "finding": pl.String,
    **dict.fromkeys(("first_on", "last_on"), pl.Date),
    **dict.fromkeys(("lots", "packages", "without_head", "bounds", "heads"), pl.Int32),
    "head": pl.String,
    "chance": pl.Float64,
    "chance_none": pl.Float64,
    **dict.fromkeys(_RATIOS, pl.Float64),
}
_HEADS = {
    **_PLACE,
    "head": pl.String,
    "packages": pl.Int32,
    **dict.fromkeys(_RATIOS, pl.Float64),
    "chance": pl.Float64,
    "told": pl.Boolean,
}


@dataclass(frozen=True)
class Heads:
    """What the heads of one line read against each other.

    Attributes:
        chance: of each head to be the one bad head, shape (h,).
        none: chance that no head is bad.
        ratio: of each to the mean of the others: median and the ends of its interval, shape (3, h).
        told: whether there are enough packages to name each if it reads 1.8, shape (h,).
    """

    chance: Array
    none: float
    ratio: Array
    told: NDArray[np.bool_]

    @property
    def named(self) -> int | None:
        """Number of the head that is likelier than not to be the bad one; None where none is."""
        best = int(np.argmax(self.chance))
        return best if self.chance[best] > NAMED else None


def compare_heads(readings: Crossed, confidence: float = 0.90) -> Heads:
    """Compare the heads of a line.

    Args:
        readings: log ppb with two heads or more as the first factor beside the lots.
        confidence: of the two-sided intervals of the ratios.
    """
    squares, freedom = readings.residual
    variance = (squares + PACKAGES * PACKAGE_SD**2) / (freedom + PACKAGES)
    matrix, right = readings.after(0)
    information, pull = matrix / variance, right / variance
    cases = [
        _cases(information, pull, head_sd, math.log(weight))
        for head_sd, weight in zip(HEAD_SDS, HEAD_SD_WEIGHTS, strict=True)
    ]
    log_odds, middle, sd = (np.concatenate(found) for found in zip(*cases, strict=True))
    share = np.exp(log_odds - logsumexp(log_odds))
    by_case = share.reshape(len(HEAD_SDS), -1).sum(axis=0)
    ends = (0.5, 0.5 - confidence / 2.0, 0.5 + confidence / 2.0)
    ratio = np.array([_quantile(share, middle, sd, end) for end in ends])
    return Heads(by_case[1:], float(by_case[0]), np.exp(ratio), _told(information))


def _cases(
    information: Array, pull: Array, head_sd: float, log_weight: float
) -> tuple[Array, Array, Array]:
    """Return the cases that no head is bad, and that each is, at one spread of sound heads.

    Args:
        information: A, shape (h, h).
        pull: b, shape (h,).
        head_sd: τ.
        log_weight: of this spread.

    Returns:
        Log odds of each case, shape (h + 1,), and mean and SD of each head's log ratio to the
        others in it, shape (h + 1, h).
    """
    heads = len(pull)
    covariance = np.linalg.inv(information + np.eye(heads) / head_sd**2)
    _, log_size = np.linalg.slogdet(np.eye(heads) + head_sd**2 * information)
    none = log_weight - 0.5 * log_size + 0.5 * pull @ covariance @ pull
    off = pull - information @ covariance @ pull
    worth = np.diag(information - information @ covariance @ information)
    precision = worth + 1.0 / FACTOR_SD**2
    factor = (off + FACTOR / FACTOR_SD**2) / precision
    bad = (
        none
        - 0.5 * np.log1p(FACTOR_SD**2 * worth)
        + 0.5 * precision * factor**2
        - 0.5 * (FACTOR / FACTOR_SD) ** 2
    )
    # Against the mean of the others; what head k's own factor leaves of g moves with it. In case k
    # the heads are g + δ e_k, so that δ tells on head j by (I − PA)_jk = (P/τ²)_jk.
    against = (np.eye(heads) * heads - 1.0) / (heads - 1.0)
    moved = against @ covariance / head_sd**2
    sound = against @ covariance @ pull
    spread = np.einsum("ij,jk,ik->i", against, covariance, against)
    return (
        np.array(
            [none + math.log1p(-PRIOR_BAD), *(bad + math.log(PRIOR_BAD / heads))],
        ),
        np.vstack([sound, sound + factor[:, None] * moved.T]),
        np.sqrt(np.vstack([spread, spread + moved.T**2 / precision[:, None]])),
    )


def _told(information: Array) -> NDArray[np.bool_]:
    """Tell of which heads there are enough packages to name them if they read 1.8."""
    heads, head_sd = len(information), float(HEAD_SDS[0])
    covariance = np.linalg.inv(information + np.eye(heads) / head_sd**2)
    worth = np.diag(information - information @ covariance @ information)
    odds = 0.5 * FACTOR**2 * worth - 0.5 * np.log1p(FACTOR_SD**2 * worth)
    return np.asarray(odds > math.log(heads * (1.0 - PRIOR_BAD) / PRIOR_BAD))


def _quantile(share: Array, middle: Array, sd: Array, at: float) -> Array:
    """Return a quantile of each column's mixture of normal laws, by halving."""
    low, high = np.full(middle.shape[1], -_WIDEST), np.full(middle.shape[1], _WIDEST)
    for _ in range(_HALVINGS):
        half = 0.5 * (low + high)
        below = share @ ndtr((half - middle) / sd) < at
        low, high = np.where(below, half, low), np.where(below, high, half)
    return np.asarray(0.5 * (low + high))


def head_report(packages: pl.DataFrame, changes: pl.DataFrame) -> dict[str, pl.DataFrame]:
    """Look for a bad head on every line; lots without a line are looked at by format.

    The lots of a line's last 90 days count, or its last twelve where those are more, but none from
    before the newest change to the line as a whole: a head that was mended starts anew.

    Args:
        packages: as `package_oxygen` returns them.
        changes: changed_on, line, beer, format.

    Returns:
        By name: `head_findings`, one row a line: line, format (null where there is a line), finding
        (named, none, too few, not recorded), first_on and last_on (packaging days), lots, packages
        (clean, with a head), without_head (clean), bounds (left out), heads, chance_none, and of
        the likeliest head: head, chance, ratio, ratio_lower, ratio_upper; null without a
        comparison. `heads`, one row a head compared: line, format, head, packages, the ratio to the
        mean of the line's other heads with its 90 % interval, chance, told (whether there are
        enough packages of it).
    """
    findings, heads = [], []
    whole = changes.filter(pl.col("beer").is_null(), pl.col("format").is_null()).drop_nulls("line")
    changed = dict(whole.group_by("line").agg(pl.col("changed_on").max()).iter_rows())
    placed = packages.with_columns(format_=pl.when(pl.col("line").is_null()).then("format"))
    for (line, format_), every in placed.sort("line", "format_", nulls_last=True).group_by(
        "line", "format_", maintain_order=True
    ):
        known = every.filter(pl.col("basis") != "none")
        if known.is_empty():
            continue
        part = _recent(known, changed.get(line))
        clean = part.filter(is_clean())
        with_head = clean.filter(pl.col("head").is_not_null())
        counted = {
            "line": line,
            "format": format_,
            "first_on": part["packaged_on"].min(),
            "last_on": part["packaged_on"].max(),
            "lots": part.select(LOT).n_unique(),
            "packages": with_head.height,
            "without_head": clean.height - with_head.height,
            "bounds": part.height - clean.height,
            "heads": with_head["head"].n_unique(),
        }
        if with_head.is_empty():
            findings.append({**counted, "finding": "not recorded"})
        elif counted["heads"] < _LEAST_HEADS:
            findings.append({**counted, "finding": "too few"})
        else:
            found = compare_heads(_readings(with_head))
            rows = _rows(with_head, found)
            likeliest = rows.row(int(np.argmax(found.chance)), named=True)
            findings.append(
                {
                    **counted,
                    **{name: likeliest[name] for name in ("head", "chance", *_RATIOS)},
                    "finding": _finding(found, rows["told"]),
                    "chance_none": found.none,
                }
            )
            place = {"line": line, "format": format_}
            heads.append(
                rows.select(*(pl.lit(v, pl.String).alias(k) for k, v in place.items()), pl.all())
            )
    return {
        "head_findings": pl.DataFrame(findings, schema=_FINDINGS, orient="row"),
        "heads": pl.concat([pl.DataFrame(schema=_HEADS), *heads]),
    }


def surely_bad(findings: pl.DataFrame) -> pl.DataFrame:
    """Return the lines with a head that is bad with a chance of 90 % or more.

    Args:
        findings: `head_findings` of `head_report`.

    Returns:
        line, ratio (of the head to the mean of the others), heads (how many the line has).
    """
    return findings.filter(
        pl.col("finding") == "named", pl.col("chance") >= SURE, pl.col("line").is_not_null()
    ).select("line", "ratio", "heads")


def _finding(found: Heads, told: pl.Series) -> str:
    if found.named is not None and told[found.named]:
        return "named"
    return "none" if 2 * told.sum() > len(told) else "too few"


def _recent(packages: pl.DataFrame, changed_on: date | None) -> pl.DataFrame:
    """Keep the lots of the last 90 days, or the last twelve, and none from before a change."""
    lots = packages.select(*LOT, "packaged_on").unique().sort("packaged_on", *LOT, descending=True)
    day = pl.col("packaged_on")
    if changed_on is not None and lots.select((day >= changed_on).any()).item():
        lots = lots.filter(day >= changed_on)
    near = day > day.max() - pl.duration(days=WINDOW_DAYS)
    kept = lots.filter(near | (pl.int_range(pl.len()) < WINDOW_LOTS))
    return packages.join(kept.select(LOT), on=LOT, how="semi", maintain_order="left")


def _readings(packages: pl.DataFrame) -> Crossed:
    """Return clean packages with heads and run positions; what names no position is one of them."""
    return crossed(
        packages.with_columns(pl.col("run_position").fill_null("")), "head", "run_position"
    )


def _rows(packages: pl.DataFrame, found: Heads) -> pl.DataFrame:
    """Tabulate heads in the order in which `crossed` numbers them: by name."""
    counted = packages.group_by("head").agg(packages=pl.len().cast(pl.Int32)).sort("head")
    return counted.with_columns(
        *(pl.Series(name, value) for name, value in zip(_RATIOS, found.ratio, strict=True)),
        pl.Series("chance", found.chance),
        told=pl.Series(found.told) & (pl.col("packages") >= LEAST_PACKAGES),
    )
