"""Verdicts that a study may bring, simulated from one draw of what the parameters may be.

A lot's package oxygen is that of one of the lots that the cell has had; lots and batches, what is
left of log age, false alarms, misses and who comes are drawn. Each thing has a random stream of its
own, named by the study's number, lot, temperature and day: so two designs share what they have in
common, and what differs between them is the design.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.kinetics.arrhenius import acceleration
from analysis.staling.design import ACTIVATION_ENERGY_RANGE, BATCH, LOT
from analysis.staling.verdicts import error_share

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from analysis.dating.study import Study
    from analysis.staling.design import Layout
    from analysis.staling.model import LawDraws

    Array = NDArray[np.float64]

_SEED = 22
_LOT, _DOSE, _AGE, _ANSWER, _COMING, _FRESH = range(6)
_BEFORE_DAYS = 1.0
_COLDEST = 50.0  # a stream is named by whole numbers from 0
_GLASS = {
    "aged": pl.Boolean,
    "lot": pl.Int64,
    "assessor": pl.String,
    "log_dose": pl.Float64,
    "storage_temp_c": pl.Float64,
    "before_days": pl.Float64,
    "stored_days": pl.Float64,
    "rejected": pl.Boolean,
}
_LISTED = ("stored_days", "rejected")


def simulate_study(
    study: Study, layout: Layout, draws: LawDraws, log_dose: Array, number: int
) -> pl.DataFrame:
    """Simulate the verdicts of one study.

    Args:
        study: the study.
        layout: where its style, format and assessors stand.
        draws: what the parameters may be; that of this number is the truth.
        log_dose: log(dose / 60 ppb) of lots that the cell has had, shape (m,).
        number: of the simulation, 0 or more.

    Returns:
        Its series, with the columns of `Evidence` that a fit needs; every lot is a batch. Empty
        where nobody came.
    """
    truth = _Truth(study, layout, draws, log_dose, number)
    rows = [*truth.aged(), *truth.fresh()]
    return (
        pl.DataFrame(rows, schema=_GLASS, orient="row")
        .group_by([name for name in _GLASS if name not in _LISTED], maintain_order=True)
        .agg(_LISTED)
        .with_columns(
            pl.format("lot {}", "lot"),
            batch=pl.format("lot {}", "lot"),
            style=pl.lit(study.style),
            format=pl.lit(study.format),
            beer=pl.lit(study.style),
            before_temp_c=pl.lit(study.before_temp_c),
        )
    )


class _Truth:
    """What is so in one simulation, and what the panel says of it."""

    def __init__(
        self, study: Study, layout: Layout, draws: LawDraws, log_dose: Array, number: int
    ) -> None:
        self.study, self.number = study, number
        params, spreads = draws.params[number], draws.spreads[number]
        people = np.array([layout.assessors.index(name) for name in study.assessors])
        place = self._stream(_DOSE).random(study.lots) * len(log_dose)
        self.log_dose = log_dose[place.astype(np.intp)]
        location, energy = layout.matrices(
            [study.style] * study.lots, [study.format] * study.lots, self.log_dose
        )
        of_lots = np.hypot(spreads[LOT], spreads[BATCH])
        self.location = location @ params[layout.blocks[0]] + of_lots * self._stream(
            _LOT
        ).standard_normal(study.lots)
        self.energy = np.clip(energy[0] @ params[layout.blocks[1]], *ACTIVATION_ENERGY_RANGE)
        self.scale = np.exp(params[layout.log_scale])
        self.law = draws.law
        self.assessor = params[layout.assessor][people]
        alarm, miss = params[layout.false_alarm], params[layout.miss]
        self.false_alarm = error_share(alarm[0] + alarm[1 + people])
        self.miss = error_share(miss[0] + miss[1 + people])

    def aged(self) -> Iterator[tuple[object, ...]]:
        """Give the glasses of every sample, who came alone."""
        for lot in range(self.study.lots):
            for arm in self.study.arms:
                where = (lot, round(10.0 * (arm.temp_c + _COLDEST)))
                w = self.law.quantile(self._uniform(_AGE, *where))
                log_age = self.location[lot] + self.assessor + self.scale * w
                for day in arm.pulls:
                    stale = log_age <= np.log(self._age(arm.temp_c, day))
                    rejected = self._answers(stale, _ANSWER, *where, day)
                    yield from self._glasses(lot, day, rejected, arm.temp_c)

    def fresh(self) -> Iterator[tuple[object, ...]]:
        """Give the glasses of the fresh control of every sitting."""
        never = np.zeros(len(self.assessor), dtype=np.bool_)
        for day in self.study.days:
            for sitting in range(self.study.sittings_on(day)):
                rejected = self._answers(never, _FRESH, day, sitting)
                yield from self._glasses(0, day, rejected, None)

    def _glasses(
        self, lot: int, day: int, rejected: NDArray[np.bool_], temp_c: float | None
    ) -> Iterator[tuple[object, ...]]:
        """Give a row for each assessor who comes; fresh beer, without a temperature, no age."""
        aged = temp_c is not None
        storage = (temp_c, _BEFORE_DAYS, float(day)) if aged else (1.0, 1.0, 1.0)
        for who in np.flatnonzero(self._uniform(_COMING, day) < self.study.attendance):
            name = self.study.assessors[who]
            yield aged, lot, name, self.log_dose[lot], *storage, bool(rejected[who])

    def _age(self, temp_c: float, day: int) -> Array:
        """Age of a pull, days at 20 °C."""
        before = _BEFORE_DAYS * acceleration(self.study.before_temp_c, self.energy)
        return before + day * acceleration(temp_c, self.energy)

    def _answers(self, stale: NDArray[np.bool_], *place: int) -> NDArray[np.bool_]:
        """Say of every assessor whether the glass is rejected, rightly or not."""
        drawn = self._uniform(*place)
        return np.where(stale, drawn >= self.miss, drawn < self.false_alarm)

    def _uniform(self, *place: int) -> Array:
        return self._stream(*place).random(len(self.assessor))

    def _stream(self, *place: int) -> np.random.Generator:
        return np.random.default_rng([_SEED, self.number, *place])
