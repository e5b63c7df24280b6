"""What the panel tastes: samples from four storages, blind sessions, verdicts with errors."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import polars as pl

from data_demo import truth
from data_demo.simulate_cellar import LAST_DAY
from data_demo.simulate_serving import places, poured_twice

# Days in storage by °C, for a cell's first lot, its second, and so on: the first is the study.
_PULLS: tuple[dict[int, tuple[int, ...]], ...] = (
    {
        4: (0, 60, 120, 180, 240),
        20: (14, 28, 56, 84, 120, 150, 180, 240, 300),
        30: (7, 14, 28, 42),
        38: (4, 7, 10),
    },
    {4: (90, 180), 20: (28, 56, 84, 120, 150, 180, 240), 30: (14, 28, 42), 38: (2, 10)},
    {4: (30, 120), 20: (28, 56, 84, 120, 150, 180), 30: (21, 42)},
    {4: (60,), 20: (14, 28, 56, 84)},
)
_PLACES = {4: "cold room", 20: "room 20", 30: "warm cupboard 30", 38: "warm cupboard 38"}
_WARMEST_KEG_C = 20  # no keg goes into the warm cupboard
_LONGEST = {"hazy ale": 120, "pale ale": 240}  # days at 20 °C after which nobody needs telling
_SESSION_DAYS = "0111000"  # Tuesday to Thursday
_AGED_A_SESSION = 5  # and the fresh control makes six
_FRESH_BELOW_DAYS = 60
FIRST_SESSION = dt.date(2025, 10, 28)
_IN_THE_SUN = np.datetime64("2026-06-16")  # from this day on, the next session's fresh control
_SPOILT_DAYS = 400.0  # at 20 °C: as that tastes
_HOPPY = ("hazy ale", "pale ale")
_ONE_DAY = np.timedelta64(1, "D")


@dataclass(frozen=True)
class Tasters:
    """The panel's hidden truth, one element an assessor; the last two drift and guess.

    Attributes:
        name: how the panel sheet calls them.
        effect: in log T.
        false_alarm, miss: chances of a wrong verdict.
        drift: change of the effect in a year.
        guessing: share of glasses answered without tasting.
    """

    name: list[str]
    effect: np.ndarray
    false_alarm: np.ndarray
    miss: np.ndarray
    drift: np.ndarray
    guessing: np.ndarray


def draw_tasters(rng: np.random.Generator, assessors: int) -> Tasters:
    """Draw a panel of `assessors`, at least three."""
    drift, guessing = np.zeros(assessors), np.zeros(assessors)
    drift[-2], guessing[-1] = truth.DRIFT_PER_YEAR, truth.GUESSING
    return Tasters(
        name=[f"A{i:02d}" for i in range(1, assessors + 1)],
        effect=rng.normal(0.0, truth.ASSESSOR_SD, assessors),
        false_alarm=rng.uniform(*truth.FALSE_ALARMS, assessors),
        miss=rng.uniform(*truth.MISSES, assessors),
        drift=drift,
        guessing=guessing,
    )


def assessors_table(tasters: Tasters) -> pl.DataFrame:
    """Write the panel down; nothing tells who drifts and who guesses."""
    n = len(tasters.name)
    return pl.DataFrame(
        {
            "assessor": tasters.name,
            "also_written": [name.lower() for name in tasters.name],
            "trained_on": [dt.date(2025, 9, 1) + dt.timedelta(days=7 * (i % 4)) for i in range(n)],
            "shelf_life_panel": [True] * n,
        }
    )


def aged_samples(rng: np.random.Generator, fills: pl.DataFrame) -> pl.DataFrame:
    """Pull samples as the study plan says, of every format that has been tasted, up to today.

    Returns:
        The samples table with `fill`, the row of `fills`, and `session`, the day each is tasted.
    """
    rows = []
    placed = fills["packaged_on"].to_numpy() + rng.integers(1, 5, len(fills)) * _ONE_DAY
    for i, (style, package, position) in enumerate(
        fills.select("style", "format", "position").rows()
    ):
        if package == truth.NEW_FORMAT:
            continue
        keg = truth.FORMATS[package].kind == "keg"
        for temp, days in _PULLS[min(position, len(_PULLS) - 1)].items():
            if not (keg and temp > _WARMEST_KEG_C):
                rows += [(i, temp, d) for d in days if d <= _LONGEST.get(style, d)]
    fill, temp, days = (np.array(column) for column in zip(*rows, strict=True))
    pulled = placed[fill] + days * _ONE_DAY
    due = pulled <= np.datetime64(LAST_DAY)
    fill, temp, pulled = fill[due], temp[due], pulled[due]
    order = np.lexsort((temp, fill, pulled))
    fill, temp, pulled = fill[order], temp[order], pulled[order]
    tasted = _sit(pulled)
    kept = tasted <= np.datetime64(LAST_DAY)
    return pl.DataFrame(
        {
            "fill": fill,
            "sample": [f"S{i:04d}" for i in range(1, len(fill) + 1)],
            "lot": fills["lot"].to_numpy()[fill],
            "format": fills["format"].to_numpy()[fill],
            "storage_temp_c": temp.astype(np.float64),
            "placed_on": placed[fill],
            "pulled_on": pulled,
            "place": [_PLACES[t] for t in temp],
            "role": "aged",
            "tasted_on": tasted,
        }
    ).filter(pl.Series(kept))


def _sit(pulled: np.ndarray) -> np.ndarray:
    """Give each sample, sorted by pull, the first session day with a free glass."""
    day: np.datetime64 = np.datetime64(FIRST_SESSION)
    seats = _AGED_A_SESSION
    tasted = np.empty_like(pulled)
    for i, ready in enumerate(pulled):
        while day < ready or seats == 0:
            day, seats = _next_session(day), _AGED_A_SESSION
        tasted[i] = day
        seats -= 1
    return tasted


def _next_session(day: np.datetime64) -> np.datetime64:
    return np.busday_offset(day, 1, weekmask=_SESSION_DAYS)


def fresh_controls(fills: pl.DataFrame, aged: pl.DataFrame) -> pl.DataFrame:
    """Add a blind fresh control to every session: the newest beer, of a style on the table.

    Returns:
        As `aged_samples`, role fresh, pulled on the day of the session.
    """
    on_table = aged.select("tasted_on", "fill").join(
        fills.with_row_index("fill").select(pl.col("fill").cast(pl.Int64), "style"), on="fill"
    )
    candidates = (
        on_table.select("tasted_on")
        .unique()
        .join(
            fills.with_row_index("fill")
            .filter(pl.col("format") != truth.NEW_FORMAT)
            .select(pl.col("fill").cast(pl.Int64), "style", "lot", "format", "packaged_on"),
            how="cross",
        )
        .join(
            on_table.select("tasted_on", "style").unique().with_columns(present=pl.lit(1)),
            on=["tasted_on", "style"],
            how="left",
        )
        .with_columns(age=(pl.col("tasted_on") - pl.col("packaged_on")).dt.total_days())
        .filter(pl.col("age").is_between(2, _FRESH_BELOW_DAYS))
        .sort("tasted_on", "present", "age", "fill", nulls_last=True)
        .unique("tasted_on", keep="first", maintain_order=True)
    )
    return candidates.with_row_index("n", offset=1).select(
        "fill",
        sample=pl.format("F{}", pl.col("n").cast(pl.String).str.zfill(4)),
        lot="lot",
        format="format",
        storage_temp_c=pl.lit(truth.BEFORE_PLACING_C),
        placed_on=pl.col("packaged_on") + pl.duration(days=1),
        pulled_on="tasted_on",
        place=pl.lit("cold room"),
        role=pl.lit("fresh"),
        tasted_on="tasted_on",
    )


def verdicts(
    rng: np.random.Generator,
    fills: pl.DataFrame,
    samples: pl.DataFrame,
    tasters: Tasters,
    attendance: float,
) -> pl.DataFrame:
    """Pour every sample to every assessor present, one of them twice; the tastings table.

    The residual belongs to an assessor, a filled lot and a storage, so that a beer that one finds
    stale stays stale to them. The score of `stale` grows with age and crosses 4 at T; that of
    `hop_aroma`, asked of the hoppy styles alone, falls from 8 and does the same. One fresh control
    stood in the sun, and nearly everybody tastes it.
    """
    serving = rng.spawn(1)[0]  # what is poured again changes nothing of what was poured
    session_days, session = np.unique(samples["tasted_on"].to_numpy(), return_inverse=True)
    here = rng.uniform(size=(len(session_days), len(tasters.name))) < attendance
    glass, who = np.nonzero(here[session])
    fill = samples["fill"].to_numpy()
    temp = samples["storage_temp_c"].to_numpy()
    ea = fills["ea"].to_numpy()[fill]
    packaged = fills["packaged_on"].to_numpy()[fill]
    placed, pulled = samples["placed_on"].to_numpy(), samples["pulled_on"].to_numpy()
    before = (placed - packaged) / _ONE_DAY * truth.acceleration(truth.BEFORE_PLACING_C, ea)
    age = before + (pulled - placed) / _ONE_DAY * truth.acceleration(temp, ea)
    aged = (samples["role"] == "aged").to_numpy()
    age[(session == np.searchsorted(session_days, _IN_THE_SUN)) & ~aged] = _SPOILT_DAYS
    storages, storage = np.unique(temp, return_inverse=True)
    residual = rng.normal(0, truth.RESIDUAL_SD, (len(fills), len(storages), len(tasters.name)))
    years = (session_days - session_days[0]) / np.timedelta64(365, "D")
    log_life = (
        fills["log_life"].to_numpy()[fill][glass]
        + tasters.effect[who]
        + tasters.drift[who] * years[session[glass]]
        + residual[fill[glass], storage[glass], who]
    )
    share_of_life = age[glass] / np.exp(log_life)
    first = _answers(rng, tasters, who, share_of_life)
    codes = _codes(rng, session)
    twice = poured_twice(serving, session[glass], aged[glass], glass)
    second = _answers(serving, tasters, who[twice], share_of_life[twice])
    second_codes = _other_codes(serving, session, codes, np.unique(glass[twice]))[glass[twice]]
    n = len(glass)
    glass, who = np.append(glass, glass[twice]), np.append(who, who[twice])
    own_level = serving.normal(0.0, 0.5, len(tasters.name))
    hop_aroma = np.clip(
        8.0
        - 4.0 * np.append(share_of_life, share_of_life[twice])
        + own_level[who]
        + serving.normal(0, 0.8, len(glass)),
        0.0,
        10.0,
    )
    hoppy = np.isin(fills["style"].to_numpy()[fill[glass]], _HOPPY)
    return (
        pl.DataFrame(
            {
                "session": [f"P{d:%y%m%d}" for d in session_days[session[glass]].astype(object)],
                "tasted_on": session_days[session[glass]],
                "assessor": np.array(tasters.name)[who],
                "sample": samples["sample"].to_numpy()[glass],
                "code": np.append(codes[glass[:n]], second_codes).astype(str),
                "position": places(serving, session[glass], who),
                "verdict": np.append(first[0], second[0]),
                "stale": np.append(first[1], second[1]),
                "hop_aroma": np.where(hoppy, (hop_aroma * 2).round() / 2, np.nan),
            }
        )
        .with_columns(pl.col("hop_aroma").fill_nan(None))
        .sort("tasted_on", "assessor", "code")
    )


def _answers(
    rng: np.random.Generator, tasters: Tasters, who: np.ndarray, share_of_life: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Draw the verdict on each glass and its score of `stale`."""
    n = len(who)
    chance = np.where(share_of_life >= 1.0, 1.0 - tasters.miss[who], tasters.false_alarm[who])
    guessed = rng.uniform(size=n) < tasters.guessing[who]
    chance = np.where(guessed, truth.GUESSED_REJECT, chance)
    rejects = rng.uniform(size=n) < chance
    unsure = rng.uniform(size=n) < truth.NOT_SURE
    score = np.where(guessed, rng.uniform(1, 7, n), 4.0 * share_of_life + rng.normal(0, 0.8, n))
    verdict = np.select([unsure, rejects], ["not sure", "reject"], "accept")
    return verdict, (np.clip(score, 0.0, 10.0) * 2).round() / 2


def _codes(rng: np.random.Generator, session: np.ndarray) -> np.ndarray:
    """Draw three-digit blind codes that differ within a session."""
    codes = np.empty(len(session), dtype=np.int64)
    for s in np.unique(session):
        mine = session == s
        codes[mine] = rng.choice(np.arange(100, 1000), mine.sum(), replace=False)
    return codes


def _other_codes(
    rng: np.random.Generator, session: np.ndarray, codes: np.ndarray, again: np.ndarray
) -> np.ndarray:
    """Draw a second code for samples that are poured again; 0 for the rest."""
    second = np.zeros_like(codes)
    for sample in again:
        taken = codes[session == session[sample]]
        second[sample] = rng.choice(np.setdiff1d(np.arange(100, 1000), taken))
    return second


def difference_tests(rng: np.random.Generator, samples: pl.DataFrame) -> pl.DataFrame:
    """Compare a pull at 20 °C with the fresh control of its session by triangle, eight times."""
    fresh = samples.filter(pl.col("role") == "fresh").select("tasted_on", control="sample")
    rows = (
        samples.filter(pl.col("storage_temp_c") == truth.REFERENCE_C)
        .unique("tasted_on", keep="first", maintain_order=True)
        .join(fresh, on="tasted_on")
        .sort("tasted_on")
        .gather_every(8)
        .head(8)
    )
    assessments = rng.integers(7, 11, len(rows))
    share = 1 / 3 + 2 / 3 * rng.uniform(0.1, 0.7, len(rows))
    return rows.select(
        session=pl.format("D{}", pl.col("tasted_on").dt.strftime("%y%m%d")),
        tasted_on="tasted_on",
        method=pl.lit("triangle"),
        sample="sample",
        control="control",
        assessments=pl.Series(assessments, dtype=pl.Int32),
        correct=pl.Series(rng.binomial(assessments, share), dtype=pl.Int32),
    )
