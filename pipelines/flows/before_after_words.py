"""What is said of two sides that one panel tasted, one sentence an attribute."""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping


def found(row: Mapping[str, Any]) -> bool:
    """Tell whether the sides differ, judged by the bounds as they are said.

    Args:
        row: a row of the comparisons.
    """
    if row["reason"] is not None:
        return False
    low, high = _bounds(row)
    return low > 0.0 or high < 0.0


def comparison_words(row: Mapping[str, Any]) -> str:
    """Say how far the second side is from the first in one attribute.

    Args:
        row: a row of the comparisons.
    """
    share = row["attribute"] is None
    what = "share of glasses rejected" if share else row["attribute"]
    if row["reason"] is not None:
        return f"{what}: {row['reason']}."
    low, high = _bounds(row)
    first, second = row["first"], row["second"]
    if not found(row):
        return (
            f"{what}: no difference found between {first} and {second}; {second} may have "
            f"{_span(low, high, share=share)}."
        )
    near, far = sorted((abs(low), abs(high)))
    way = "more" if low > 0.0 else "less"
    most = _amount(abs(row["difference"]), share=share)
    return (
        f"{what}: {second} has {most} {way} than {first} ({_amount(near, share=share)} to "
        f"{_amount(far, share=share)} {way})."
    )


def kept_words(row: Mapping[str, Any]) -> str:
    """Say what was compared: storages, glasses, people, lots and sessions."""
    glasses = f"{row['first_glasses']} and {row['second_glasses']} glasses"
    lots = f" of {row['first_lots']} and {row['second_lots']} lots" if row["kind"] != "lot" else ""
    session = "one session" if row["sessions"] == 1 else f"{row['sessions']} sessions"
    said = (
        f"{glasses}{lots}, tasted by the same {row['assessors']} people in {session}, kept at "
        f"{row['kept']}."
    )
    if row["one_session"]:
        said += " One session: what another day or another package would add is not in the bounds."
    return said


def _bounds(row: Mapping[str, Any]) -> tuple[float, float]:
    """Return the bounds of the difference to two decimals, rounded outwards."""
    low, high = (round(100.0 * row[f"difference_{side}"], 6) for side in ("lower", "upper"))
    return floor(low) / 100.0, ceil(high) / 100.0


def _amount(value: float, *, share: bool) -> str:
    return f"{100 * value:.0f} of 100 glasses" if share else f"{value:.2f}"


def _span(low: float, high: float, *, share: bool) -> str:
    less, more = _amount(-low, share=share), _amount(high, share=share)
    if high == 0.0:
        return f"up to {less} less"
    if low == 0.0:
        return f"up to {more} more"
    return f"from {less} less to {more} more"
