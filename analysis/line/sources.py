r"""Where the oxygen of a line's packages comes from: lots, run positions, heads, and the rest.

    log ppb = run position + lot + head + package,
    lot ~ (0, σ²_lot), head ~ (0, σ²_head), package ~ (0, σ²)

The components are Henderson's method III: each factor's sum of squares after all the others is set
equal to what is expected of it,

    E[R(factor | others)] = rank · σ² + k · σ²_factor

which in balanced data is the usual analysis of variance; below 0 they are taken for 0 in the
shares. Run positions are the same ones in every run, so that theirs is no variance of a population
but that of their effects over the packages measured, Σ f_p (β_p − β̄)², less what σ² adds to it. The
rest holds packages, meter and whatever else, and heads where nobody writes them down.

Intervals are generalised ones: each sum of squares is divided by a draw of χ² with its degrees of
freedom (of lots and heads as the expected mean square they are), and components and shares are
worked out from the draws, seeded; position effects are drawn about their estimates.

Only clean packages enter: a bound is no value whose variance could be told.

References: Henderson, Biometrics 9, 1953, 226-252; Searle, Casella & McCulloch, Variance
Components, 1992, chapter 5; Weerahandi, Exact Statistical Methods for Data Analysis, 1995, chapter
6.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
from scipy import stats

from analysis.line.crossed import crossed, inverted
from analysis.oxygen.packages import LOT, is_clean

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.line.crossed import Crossed, Part

    Array = NDArray[np.float64]

NAMES = ("lot", "position", "head", "rest")
DRAWS, SEED = 4_000, 20
USUAL = "middle"
_LEAST_FREEDOM = 3
_NOTHING = 1e-6
_MOSTLY = 0.5  # of the packages must name their head, for heads to be told apart
_CHART = ("line", "format")


@dataclass(frozen=True)
class Component:
    """What one source adds to the variance of log ppb, with the ends of its intervals.

    Attributes:
        variance: may be below 0.
        variance_lower: 0 or more, as the next.
        variance_upper: see there.
        share: of all variance, a negative variance taken for 0.
        share_lower: 0 to 1, as the next.
        share_upper: see there.
    """

    variance: float
    variance_lower: float
    variance_upper: float
    share: float
    share_lower: float
    share_upper: float


def components(readings: Crossed, confidence: float = 0.90) -> dict[str, Component]:
    """Take the variance of log ppb apart.

    Args:
        readings: log ppb with run positions as the first factor, and heads as the second if any.
        confidence: of the two-sided intervals.

    Returns:
        By name, lot, position, head and rest; a factor with one level, or that goes with the others
        in all its levels, is left out. Empty where fewer than three degrees of freedom are left for
        the rest.
    """
    squares, freedom = readings.residual
    if freedom < _LEAST_FREEDOM:
        return {}
    rng = np.random.default_rng(SEED)
    rest, rest_drawn = squares / freedom, squares / rng.chisquare(freedom, DRAWS)
    found, drawn = {"rest": rest}, {"rest": rest_drawn}
    for name, part in _parts(readings).items():
        if part.freedom > 0 and name == "position":
            found[name], drawn[name] = _of_position(readings, rest, rest_drawn, rng)
        elif part.freedom > 0:
            found[name] = (part.squares - part.freedom * rest) / part.k
            mean_square = part.squares / rng.chisquare(part.freedom, DRAWS)
            drawn[name] = (mean_square - rest_drawn) * part.freedom / part.k
    names = [name for name in NAMES if name in found]
    draws = np.maximum([drawn[name] for name in names], 0.0)
    kept = np.maximum([found[name] for name in names], 0.0)
    ends = (0.5 - confidence / 2.0, 0.5 + confidence / 2.0)
    numbers = np.array(
        [
            [found[name] for name in names],
            *np.quantile(draws, ends, axis=1),
            kept / kept.sum(),
            *np.quantile(draws / draws.sum(axis=0), ends, axis=1),
        ]
    )
    return {name: Component(*numbers[:, place].tolist()) for place, name in enumerate(names)}


def _parts(readings: Crossed) -> dict[str, Part]:
    names = ("position", "head")[: len(readings.columns)]
    return {
        "lot": readings.lots,
        **{name: readings.factor(number) for number, name in enumerate(names)},
    }


@dataclass(frozen=True)
class Positions:
    """Effects of the run positions on log ppb, about their mean.

    Attributes:
        effect: shape (p,).
        covariance: of the effects, in units of σ², shape (p, p).
        weight: share of the packages at each, shape (p,).
        known: projection onto what the readings tell of the effects, shape (p, p).
    """

    effect: Array
    covariance: Array
    weight: Array
    known: Array

    def variance_between(self, one: int, other: int) -> float:
        """Variance of the difference of two effects, in units of σ²."""
        apart = np.zeros(len(self.effect))
        apart[one] += 1.0
        apart[other] -= 1.0
        return float(apart @ self.covariance @ apart)

    def told(self, one: int, other: int) -> bool:
        """Tell whether two positions can be compared: some lots have both, if by way of a third."""
        apart = self.known[:, one] - self.known[:, other]
        apart[one] -= 1.0
        apart[other] += 1.0
        return bool(np.abs(apart).max() < _NOTHING)


def positions_of(readings: Crossed) -> Positions:
    """Estimate the effects of the run positions, lots and heads held equal.

    Args:
        readings: log ppb with run positions as the first factor.
    """
    matrix, right = readings.after(0)
    inverse, _ = inverted(matrix)
    weight = np.bincount(readings.columns[0]) / len(readings.y)
    return Positions(inverse @ right, inverse, weight, matrix @ inverse)


def _spread(weight: Array) -> Array:
    """Return D of Σ f (β − β̄)² = β'Dβ."""
    return np.asarray(np.diag(weight) - np.outer(weight, weight))


def _of_position(
    readings: Crossed, rest: float, rest_drawn: Array, rng: np.random.Generator
) -> tuple[float, Array]:
    """Return the variance of the position effects, and draws of it.

    What the rest adds to the estimate is taken off once; of the draws, which add it again, twice.
    """
    found = positions_of(readings)
    spread = np.diag(found.weight) - np.outer(found.weight, found.weight)
    noise = rest * float(np.sum(spread * found.covariance))
    size, direction = np.linalg.eigh(found.covariance)
    normal = rng.standard_normal((len(rest_drawn), len(size)))
    away = normal @ (direction * np.sqrt(np.maximum(size, 0.0))).T
    effect = found.effect + np.sqrt(rest_drawn)[:, None] * away
    drawn = np.einsum("ij,jk,ik->i", effect, spread, effect) - 2.0 * noise
    return float(found.effect @ spread @ found.effect) - noise, drawn


_COUNTS = ("lots", "packages", "without_head", "bounds", "heads")
_SHARES = {
    **dict.fromkeys(_CHART, pl.String),
    "source": pl.String,
    **dict.fromkeys(
        (
            *("variance", "variance_lower", "variance_upper"),
            *("share", "share_lower", "share_upper"),
        ),
        pl.Float64,
    ),
}
_POSITIONS = {
    **dict.fromkeys(_CHART, pl.String),
    "run_position": pl.String,
    "packages": pl.Int32,
    "beside": pl.String,
    **dict.fromkeys(("ratio", "ratio_lower", "ratio_upper"), pl.Float64),
}
_LINES = {
    **dict.fromkeys(_CHART, pl.String),
    **dict.fromkeys(_COUNTS, pl.Int32),
    **dict.fromkeys(("first_on", "last_on"), pl.Date),
    "reason": pl.String,
}


def source_report(packages: pl.DataFrame, confidence: float = 0.90) -> dict[str, pl.DataFrame]:
    """Take the oxygen of every line and format apart.

    Args:
        packages: as `package_oxygen` returns them.
        confidence: of the two-sided intervals.

    Returns:
        By name, each sorted by line (null where lots name none) and format: `oxygen_lines`, one row
        a line and format with a reading: lots and packages taken apart, without_head (clean ones
        left out, where most name their head), bounds (left out), heads (0: not recorded), first_on,
        last_on, reason (why nothing is taken apart, else null);
        `oxygen_sources`, a row a source (lot, position, head, rest): variance of log ppb and share
        with intervals; `run_positions`, a row a position: packages, its ratio to `beside` (the
        middle, or the commonest where no package is from there) with interval.
    """
    lines: list[dict[str, object]] = []
    shares: list[dict[str, object]] = []
    positions: list[dict[str, object]] = []
    known = packages.filter(pl.col("basis") != "none").sort(_CHART, nulls_last=True)
    for (line, format_), every in known.group_by(_CHART, maintain_order=True):
        key = {"line": line, "format": format_}
        clean = every.filter(is_clean())
        used, heads = _with_heads(clean)
        counted = {
            "lots": used.select(LOT).n_unique(),
            "packages": used.height,
            "without_head": clean.height - used.height,
            "bounds": every.height - clean.height,
            "heads": used["head"].n_unique() if heads else 0,
            "first_on": every["packaged_on"].min(),
            "last_on": every["packaged_on"].max(),
        }
        found: dict[str, Component] = {}
        if used.height:
            readings = crossed(used, "run_position", *(["head"] if heads else []))
            found = components(readings, confidence)
        if found:
            shares += [{**key, "source": name, **vars(part)} for name, part in found.items()]
            positions += [{**key, **row} for row in _position_rows(used, readings, confidence)]
        reason = None if found else "too few clean packages of the same lots to take apart"
        lines.append({**key, **counted, "reason": reason})
    return {
        "oxygen_lines": pl.DataFrame(lines, schema=_LINES, orient="row"),
        "oxygen_sources": pl.DataFrame(shares, schema=_SHARES, orient="row"),
        "run_positions": pl.DataFrame(positions, schema=_POSITIONS, orient="row"),
    }


def _with_heads(clean: pl.DataFrame) -> tuple[pl.DataFrame, bool]:
    """Return the packages that are taken apart, and whether by heads.

    A run position that is not written down is one of its own; where fewer than two are written down
    anywhere, there is only that one.
    """
    named = clean.filter(pl.col("head").is_not_null())
    heads = named["head"].n_unique() > 1 and named.height > _MOSTLY * clean.height
    used = named if heads else clean
    several = used["run_position"].drop_nulls().n_unique() > 1
    position = pl.col("run_position").fill_null("") if several else pl.lit("")
    return used.with_columns(run_position=position), heads


def _position_rows(
    used: pl.DataFrame, readings: Crossed, confidence: float
) -> list[dict[str, object]]:
    """Set each run position beside the middle of the run, where packages are from two or more."""
    counted = used.group_by("run_position").len("packages").sort("run_position")
    names = counted["run_position"].to_list()
    recorded = [place for place, name in enumerate(names) if name]
    if not recorded:
        return []
    found = positions_of(readings)
    usual = names.index(USUAL) if USUAL in names else max(recorded, key=lambda p: found.weight[p])
    squares, freedom = readings.residual
    half = float(stats.t.ppf(0.5 + confidence / 2.0, freedom)) * math.sqrt(squares / freedom)
    rows = []
    for place in recorded:
        apart = found.effect[place] - found.effect[usual]
        error = half * math.sqrt(found.variance_between(place, usual))
        ratio, lower, upper = np.exp([apart, apart - error, apart + error]).tolist()
        told = place == usual or found.told(place, usual)
        rows.append(
            {
                "run_position": names[place],
                "packages": counted["packages"][place],
                "beside": names[usual],
                "ratio": ratio if told else None,
                "ratio_lower": lower if told else None,
                "ratio_upper": upper if told else None,
            }
        )
    return rows
