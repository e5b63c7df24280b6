"""What the week asks for: when to pull samples and check meters, what may go, what should come."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipelines.config.records import Meters, PullDays, Pulls, Retained
from pipelines.readers.contract import TABLES

if TYPE_CHECKING:
    from pipelines.config.section import Section

COLDEST, WARMEST = -5.0, 60.0
LONGEST = 7300
PATTERN = "*?[."  # a key with one of these is the name of a file or a pattern, not of a table


def pulls_of(section: Section) -> Pulls:
    """Read and check the plan of pulls."""
    styles = section.section("styles").sections()
    pulls = Pulls(
        plan=_pull_days(section.section("plan")),
        styles={style: _pull_days(own) for style, own in styles.items()},
        tolerance_days=section.whole("tolerance_days", 2, 0, 60),
        tolerance_share=section.number("tolerance_share", 0.10, 0.0, 0.5),
        missed_after_days=section.whole("missed_after_days", 60, 1, LONGEST),
    )
    section.close()
    return pulls


def meters_of(section: Section) -> Meters:
    """Read and check how often meters are checked, and what becomes of readings in doubt."""
    meters = Meters(
        check_every_days=section.whole("check_every_days", 7, 1, 366),
        leave_out_suspect=section.flag("leave_out_suspect", default=False),
    )
    section.close()
    return meters


def retained_of(section: Section) -> Retained:
    """Read and check how long retained samples are kept."""
    retained = Retained(keep_days_past_date=section.whole("keep_days_past_date", 30, 0, LONGEST))
    section.close()
    return retained


def expected_of(section: Section) -> dict[str, int]:
    """Read and check which files come regularly: name, pattern or table to days."""
    for name in section.values:
        if name not in TABLES and not any(sign in name for sign in PATTERN):
            section.unknown(name, TABLES, "table")
    return {name: section.whole(name, 7, 1, LONGEST) for name in section.values}


def _pull_days(section: Section) -> PullDays:
    """Days in storage by storage temperature, °C; TOML knows the temperature as a text."""
    planned: PullDays = {}
    for written in section.values:
        days = section.checked(
            written, [], f"a list of days in storage, whole numbers from 0 to {LONGEST}", _are_days
        )
        try:
            temperature = float(written)
        except ValueError:
            temperature = float("nan")
        if COLDEST <= temperature <= WARMEST:
            planned[temperature] = tuple(sorted(set(days)))
        else:
            section.faults.append(
                f"{section.where(written)} is no storage temperature, "
                f'expected °C from {COLDEST:g} to {WARMEST:g} such as "20"'
            )
    return planned


def _are_days(value: object) -> bool:
    return isinstance(value, list) and all(
        isinstance(day, int) and not isinstance(day, bool) and 0 <= day <= LONGEST for day in value
    )
