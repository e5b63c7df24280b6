"""What could still be asked, tasted or measured, each with all the answers it may have.

An answer is the item of evidence that it would be, so that what a question is worth is worked out
from the same likelihoods as the odds (`next_steps`). Counts of glasses have as many answers as
there are; a temperature is asked in steps of 4 °C, an oxygen in steps of a third of what is known.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.cases.evidence import Oxygen, Tasted, told

if TYPE_CHECKING:
    from analysis.cases.evidence import Item
    from analysis.kinetics.history import Stages

_WARMER_C = np.arange(-16.0, 32.1, 4.0)
_HIGHEST = math.log(6.0)


@dataclass(frozen=True)
class Question:
    """A question with all its answers.

    Attributes:
        name: what to ask for.
        answers: each as the item that it would be; empty: the day on which it was opened.
    """

    name: str
    answers: tuple[Item, ...] = ()


def ask_the_day(name: str = "the day it was opened") -> Question:
    """Ask when it was bought and opened, so that its age is known to the day."""
    return Question(name)


def ask_how_kept(trade_days: float, name: str = "how it was kept") -> Question:
    """Ask how warm it was kept all the time.

    Args:
        trade_days: days that the trade and the drinker had it.
        name: what to ask for.
    """
    return Question(name, tuple(told(name, float(c), trade_days, trade_days) for c in _WARMER_C))


def taste(
    name: str,
    days: float,
    glasses: int,
    stages: Stages | None,
    false_alarms: float = 0.08,
    misses: float = 0.05,
    alike: float = 1.0,
) -> Question:
    """Taste a retained package, or one that came back; arguments as for `Tasted`."""
    return Question(
        name,
        tuple(
            Tasted(name, days, glasses, rejected, stages, false_alarms, misses, alike)
            for rejected in range(glasses + 1)
        ),
    )


def ask_for_readings(
    usual_log_ppb: tuple[float, float],
    log_se: float,
    name: str = "oxygen readings of its filling",
) -> Question:
    """Ask for readings that were taken at filling and are not in the tables.

    Beer takes its oxygen up: no package measured today tells what it held then.

    Args:
        usual_log_ppb: as `Case.usual_log_ppb`.
        log_se: standard error that their mean would have.
        name: what to ask for.
    """
    mean, sd = usual_log_ppb
    wide = math.hypot(sd, log_se)
    logs = np.arange(mean - 3.0 * wide, mean + 3.0 * wide + _HIGHEST, wide / 3.0)
    return Question(name, tuple(Oxygen(name, float(log), log_se) for log in logs))
