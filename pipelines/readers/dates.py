"""Days as people write them: the day first or the month first, as the configuration says."""

from __future__ import annotations

import polars as pl

# With two digits of the year only between points and strokes: 26-04-07 begins with its year.
_SHORT = r"^(\d{1,2}[./]\d{1,2}[./])(\d{2})($|[, ])"
_PARTS = r"^(\d{1,2})[./-](\d{1,2})[./-](\d{4})(?:,? (\d{1,2})(:\d{2}(?::\d{2})?))?$"


def is_day_or_month_first(text: pl.Expr) -> pl.Expr:
    """Whether a text is a day such as 07.04.2026, 7/4/26 or 07/04/2026 14:30."""
    return _long(text).str.contains(_PARTS)


def with_year_first(text: pl.Expr, day_first: pl.Expr) -> pl.Expr:
    """Write such days as 2026-04-07, and leave every other text as it is.

    Args:
        text: Texts.
        day_first: Whether the day comes first; where it is null, the text stays as it is.

    Returns:
        Texts; whether the days are in the calendar is not looked at.
    """
    parts = _long(text).str.extract_groups(_PARTS)
    one, two = (parts.struct.field(name).str.zfill(2) for name in ("1", "2"))
    month, day = (
        pl.when(day_first).then(if_day_first).otherwise(otherwise)
        for if_day_first, otherwise in ((two, one), (one, two))
    )
    clock = pl.concat_str(
        pl.lit(" "), parts.struct.field("4").str.zfill(2), parts.struct.field("5")
    )
    written = pl.concat_str(
        parts.struct.field("3"), pl.lit("-"), month, pl.lit("-"), day, clock.fill_null("")
    )
    return pl.when(day_first.is_not_null()).then(pl.coalesce(written, text)).otherwise(text)


def _long(text: pl.Expr) -> pl.Expr:
    return text.str.replace(_SHORT, "${1}20${2}${3}")
