"""Which complaints are the food-safety lead's, as the configuration says."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.cases.safety import Watch, touches

if TYPE_CHECKING:
    import polars as pl

    from analysis.cases.safety import Touch
    from pipelines.config import Config


def watch_of(config: Config) -> Watch:
    """Return which words in a note touch safety."""
    return Watch(config.complaints.languages, config.complaints.safety_words)


def touches_of(complaint: dict[str, object], config: Config) -> tuple[Touch, ...]:
    """Return every reason why a row of the table complaints is a matter of safety."""
    note = complaint["note"]
    categories = str(complaint["category"]).split(";")
    return touches(categories, None if note is None else str(note), watch_of(config))


def unsafe_complaints(complaints: pl.DataFrame, config: Config) -> list[str]:
    """Return the complaints that touch safety, by category or by words in the note.

    Args:
        complaints: complaint, category, note.
        config: The configuration.
    """
    rows = complaints.iter_rows(named=True)
    return [row["complaint"] for row in rows if touches_of(row, config)]
