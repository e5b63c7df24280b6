"""Studies one thing larger than a planned one, and what each addition narrows the date by.

Simulated studies of the same number share their truth and all that the two designs have in common,
so that the difference of their widths shows what the addition does.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from analysis.dating.plan import plan
from analysis.dating.study import Arm, Study

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from analysis.dating.plan import Outlook, Target
    from analysis.each import Each
    from analysis.staling.foresight import Foresight

_SURE = 2.0  # standard errors
_NEW_TASTERS = 2
_ORDINALS = ("second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


@dataclass(frozen=True)
class Addition:
    """One thing more.

    Attributes:
        what: in words, as in "a third lot".
        study: the study with it.
    """

    what: str
    study: Study


@dataclass(frozen=True)
class Neighbour:
    """What an addition brings and takes.

    Attributes:
        what: in words.
        narrower_days: by how much the expected width of the date falls, days.
        error_days: standard error of that, of the simulation alone.
        packages: packages more.
        sittings: sittings more.
    """

    what: str
    narrower_days: float
    error_days: float
    packages: int
    sittings: int

    @property
    def helps(self) -> bool:
        """Whether it narrows the date by a day, and by more than the simulation's own scatter."""
        return round(self.narrower_days) > 0 and self.narrower_days > _SURE * self.error_days

    @property
    def by_package(self) -> float:
        """Days narrower for each package; an addition that takes none counts as one."""
        return self.narrower_days / max(self.packages, 1)

    @property
    def by_sitting(self) -> float:
        """Days narrower for each sitting; one that costs none counts as half a sitting."""
        return self.narrower_days / max(self.sittings, 0.5)


def additions(
    study: Study, near_c: float, offered: Mapping[float, tuple[int, ...]], spare: Sequence[str]
) -> Iterator[Addition]:
    """Give the neighbours of a study, each with one thing more.

    Args:
        study: the study.
        near_c: where the beer waits to be drunk, °C: pulls are added in the storage nearest to it.
        offered: new storages, °C to days of pulls: the nearest to it is taken.
        spare: people who could taste too; two of them are taken.
    """
    nth = _ORDINALS[study.lots - 1] if study.lots <= len(_ORDINALS) else "further"
    yield Addition(f"a {nth} lot", replace(study, lots=study.lots + 1))
    place = min(range(len(study.arms)), key=lambda n: abs(study.arms[n].temp_c - near_c))
    arm = study.arms[place]
    marks = (0, *arm.pulls)
    gap, begin = max(
        (after - before, before) for before, after in zip(marks, arm.pulls, strict=False)
    )
    if gap > 1:
        yield _pulled(study, place, begin + gap // 2, "a pull on")
    yield _pulled(study, place, marks[-1] + max(marks[-1] - marks[-2], 7), "a last pull on")
    if offered:
        temp_c = min(offered, key=lambda there: (abs(there - near_c), there))
        arms = sorted((*study.arms, Arm(temp_c, offered[temp_c])), key=lambda there: there.temp_c)
        yield Addition(f"storage at {temp_c:g} °C", replace(study, arms=tuple(arms)))
    if len(spare) >= _NEW_TASTERS:
        people = (*study.assessors, *spare[:_NEW_TASTERS])
        yield Addition("two tasters", replace(study, assessors=people))


def _pulled(study: Study, place: int, day: int, what: str) -> Addition:
    arm = study.arms[place]
    longer = Arm(arm.temp_c, tuple(sorted((*arm.pulls, day))))
    arms = (*study.arms[:place], longer, *study.arms[place + 1 :])
    return Addition(f"{what} day {day} at {arm.temp_c:g} °C", replace(study, arms=arms))


def neighbours(
    outlook: Outlook,
    added: Sequence[Addition],
    foresight: Foresight,
    target: Target,
    each: Each = map,
) -> list[Neighbour]:
    """Simulate each addition as often as the study itself was.

    Args:
        outlook: of the study.
        added: the additions.
        foresight: what is known before any of them; the added tasters stand in it too.
        target: the date.
        each: spreads the studies.
    """
    found = []
    for addition in added:
        more = plan(addition.study, foresight, target, len(outlook.days), each)
        gain = outlook.widths - more.widths
        gain = gain[np.isfinite(gain)]
        found.append(
            Neighbour(
                addition.what,
                float(gain.mean()),
                float(gain.std() / max(len(gain), 1) ** 0.5),
                addition.study.packages - outlook.study.packages,
                addition.study.sittings - outlook.study.sittings,
            )
        )
    return sorted(found, key=lambda neighbour: -neighbour.by_package)
