"""How names that people type are matched, and which known name is nearest to an unknown one."""

from __future__ import annotations

import re
from difflib import get_close_matches
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

# As a workbook holds a day, and as it shows one: 2026-04-07, 07.04.2026, 7-Apr, Apr 26.
_DAY = re.compile(
    r"\d{4}-\d{2}-\d{2}|\d{1,2}[./]\d{1,2}[./]\d{2,4}"
    r"|\d{1,2}[-. ]{1,2}[^\W\d]{3}|[^\W\d]{3}[-. ]{1,2}\d{2}"
)


def fold(name: str) -> str:
    """A name without its case, spaces and underscores; both signs for micro are a u."""
    return re.sub("[µμ]", "u", re.sub(r"[\s_]", "", name).lower())


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name that is most like this one, if any is like it at all.

    A workbook drops the zeros that a code begins with, so the code with them is nearest of all.
    """
    folded = {fold(candidate): candidate for candidate in known}
    without_zeros = {folded_name.lstrip("0"): known for folded_name, known in folded.items()}
    whole = fold(name).removesuffix(".0")  # as a number that was kept with a fraction
    if whole in without_zeros:
        return without_zeros[whole]
    close = get_close_matches(fold(name), folded, n=1, cutoff=0.75)
    return folded[close[0]] if close else None


def did_you_mean(name: str, known: Iterable[str]) -> str:
    """A hint to end a sentence with; empty where nothing is near."""
    near = nearest(name, known)
    return f": did you mean {near}?" if near else ""


def maybe_made_a_date(name: str, known: Iterable[str]) -> str:
    """A hint to end a sentence with, where a name is a day and no known one is."""
    if not _DAY.fullmatch(name) or any(_DAY.fullmatch(other) for other in known):
        return ""
    return "; Excel may have made a date of it: format the column as text and write it again"


def listed(names: Iterable[str], shown: int = 8) -> str:
    """Names in a row, the first few of many."""
    ordered = sorted(names)
    rest = len(ordered) - shown
    return ", ".join(ordered[:shown]) + (f" and {rest} more" if rest > 0 else "")


def table_named(name: str, tables: Iterable[str]) -> str | None:
    """The table that the name of a file or sheet begins with, as in `oxygen-2026-w14`."""
    for table in tables:
        words = r"[\s_-]*".join(table.split("_"))
        if re.match(rf"\s*{words}(?![a-z])", name, flags=re.IGNORECASE):
            return table
    return None
