"""When the work is done by itself."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from cronsim import CronSim, CronSimError

if TYPE_CHECKING:
    from pipelines.config.section import Section

# After two o'clock and before three a change of clocks may leave an hour out, or have it twice.
NIGHTLY = "0 4 * * *"
QUARTERLY_AT = "05:00"
_FIELDS = 5
_FIELD = re.compile(r"(?:[\d*/,-]|[A-Za-z]{3})+")


@dataclass(frozen=True)
class Schedule:
    """When the nightly and the quarterly work begin, and by which clock.

    Attributes:
        nightly: A cron expression of five fields.
        quarterly_at: Time of day, HH:MM, on working day 8 of January, April, July and October.
        timezone: Of both.
        port: Of the run history on this machine; 0 is any free one.
    """

    nightly: str
    quarterly_at: str
    timezone: str
    port: int


def schedule_of(section: Section, timezone: str) -> Schedule:
    """Read and check `[schedule]`; its time zone was checked with the brewery's."""
    schedule = Schedule(
        nightly=str(
            section.checked(
                "nightly",
                NIGHTLY,
                f'five fields of cron such as "{NIGHTLY}", every night at four',
                _is_cron,
            )
        ),
        quarterly_at=str(
            section.checked(
                "quarterly_at", QUARTERLY_AT, f'a time such as "{QUARTERLY_AT}"', _is_time
            )
        ),
        timezone=timezone,
        port=section.whole("port", 0, 0, 65_535),
    )
    section.close()
    return schedule


def _is_cron(value: object) -> bool:
    if not isinstance(value, str):
        return False
    fields = value.split()
    # L, W and # mean something to one reader of cron and nothing to another.
    if len(fields) != _FIELDS or not all(_FIELD.fullmatch(field) for field in fields):
        return False
    try:
        next(CronSim(value, datetime.now(UTC)))
    except (CronSimError, StopIteration):
        return False
    return True


def _is_time(value: object) -> bool:
    return isinstance(value, str) and bool(re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", value))
