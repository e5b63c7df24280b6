"""A study to come: what is stored where, when it is pulled, who tastes it, and what it uses up.

A sitting is one tasting of at most six glasses a taster, one of them a blind fresh control. Samples
of one day that do not fit one sitting make another.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from analysis.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

GLASSES_A_SITTING = 6
SPOILT_ABOVE_C = 40.0
"""Above it beer goes other ways than on the shelf."""


@dataclass(frozen=True)
class Arm:
    """One storage of a study.

    Attributes:
        temp_c: temperature, °C.
        pulls: days in storage at which samples are pulled, 1 or more, rising.

    Raises:
        InputError: there is no pull, one is not after day 0, or they do not rise.
    """

    temp_c: float
    pulls: tuple[int, ...]

    def __post_init__(self) -> None:
        """Refuse what is no series of pulls."""
        if not self.pulls or self.pulls[0] < 1 or list(self.pulls) != sorted(set(self.pulls)):
            message = f"pulls at {self.temp_c:g} °C need days in storage that rise, from 1 on"
            raise InputError(message)


@dataclass(frozen=True)
class Study:
    """A study of one style in one format.

    Attributes:
        style: of the beer.
        format: of the package.
        arms: storages, by temperature.
        lots: number of lots, packed the day before the study begins and kept cold till then.
        assessors: who may taste.
        attendance: share of them that comes to a tasting, 0 to 1.
        begins: day on which samples go into storage.
        before_temp_c: where beer waits on its first day, °C.
        volume_ml: beer in a package, mL.
        pour_ml: beer in a glass, mL.

    Raises:
        InputError: there is no arm, lot, assessor or attendance, or a temperature stands twice.
    """

    style: str
    format: str
    arms: tuple[Arm, ...]
    lots: int
    assessors: tuple[str, ...]
    attendance: float
    begins: date
    before_temp_c: float
    volume_ml: float
    pour_ml: float = 80.0

    def __post_init__(self) -> None:
        """Refuse what is no study."""
        fault = None
        if not self.arms or self.lots < 1 or not self.assessors:
            fault = "a study needs a storage, a lot and a taster"
        elif len({arm.temp_c for arm in self.arms}) < len(self.arms):
            fault = "each storage temperature of a study stands once"
        elif not 0.0 < self.attendance <= 1.0:
            fault = "attendance is a share above 0, up to 1"
        if fault is not None:
            raise InputError(fault)

    @property
    def days(self) -> dict[int, int]:
        """Days from the beginning to the samples that are pulled on them, by day."""
        pulled = sorted(day for arm in self.arms for day in arm.pulls)
        return {day: self.lots * pulled.count(day) for day in pulled}

    def sittings_on(self, day: int) -> int:
        """Return the sittings that the samples of a day take, each with its fresh control."""
        return math.ceil(self.days[day] / (GLASSES_A_SITTING - 1))

    @property
    def sittings(self) -> int:
        """Sittings of the whole study."""
        return sum(self.sittings_on(day) for day in self.days)

    @property
    def samples(self) -> int:
        """Samples that are stored, fresh controls apart."""
        return sum(self.days.values())

    @property
    def packages(self) -> int:
        """Packages that are opened, fresh controls among them."""
        a_sample = math.ceil(len(self.assessors) * self.pour_ml / self.volume_ml)
        return (self.samples + self.sittings) * a_sample

    @property
    def ends(self) -> date:
        """Day of the last pull."""
        return self.begins + timedelta(days=max(self.days))

    @property
    def oldest_days(self) -> dict[float, int]:
        """Age of the oldest beer from each storage, days from packaging, by temperature."""
        return {arm.temp_c: arm.pulls[-1] + 1 for arm in self.arms}

    def pulls(self) -> Iterator[tuple[int, float, int]]:
        """Give every sample as its day, °C and the number of its lot from 0, in that order."""
        for day in self.days:
            for arm in self.arms:
                if day in arm.pulls:
                    for lot in range(self.lots):
                        yield day, arm.temp_c, lot
