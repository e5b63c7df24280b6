"""The panel leader's key: which assessor goes by which code, and what was found of each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pipelines.errors import StoreError
from pipelines.store.assessors import alike_names, findings
from pipelines.store.connect import open_store
from pipelines.store.migrate import refuse_other_shapes
from pipelines.store.results import newest_run

if TYPE_CHECKING:
    from collections.abc import Iterator

    import polars as pl

    from pipelines.config import Config

_WHY = {
    "case": "they differ in capitals, spaces or signs alone",
    "order": "the same words in another order",
    "initials": "one may be short for the other",
    "spelling": "they differ in a letter or two",
}
_DRIFT = {
    "drifts": "drifts: finds {} age than the rest do, by {} a year",
    "may drift": "may drift: finds {} age than the rest do, by {} a year",
    "none shows": "no drift shows",
}


def key_lines(config: Config) -> list[str]:
    """Tell every assessor of the newest run by code, with name and findings.

    Raises:
        StoreError: There is no store or no run yet.
    """
    if not config.paths.database.exists():
        message = f"there is no {config.paths.database.name} yet: run stalecurve run first"
        raise StoreError(message)
    with open_store(config.paths.database, read_only=True) as connection:
        refuse_other_shapes(connection)
        run = newest_run(connection)
        if run is None:
            message = "there is no run yet, so no assessor has a code: run stalecurve fit first"
            raise StoreError(message)
        found, alike = findings(connection), alike_names(connection)
    if found.is_empty():
        return [f"run {run}: nobody tasted yet; the table tastings fills this"]
    return [
        f"The panel leader's key as of run {run}: who goes by which code on the pages.",
        "For training, and not for the wall.",
        *(f"{row['code']}  {row['assessor']}: {_found(row)}" for row in found.rows(named=True)),
        *alike_lines(alike),
    ]


def alike_lines(alike: pl.DataFrame) -> Iterator[str]:
    """Point out names that may be one person, and how to settle it.

    Args:
        alike: assessor, other, why, as `analysis.panel.names` finds them.
    """
    for assessor, other, why in alike.select("assessor", "other", "why").iter_rows():
        yield (
            f'"{other}" and "{assessor}" may be one taster ({_WHY[why]}): if so, write "{other}" '
            f'under also_written of "{assessor}" in the table assessors; '
            "until then they count as two"
        )


def _found(row: dict[str, Any]) -> str:
    unlisted = () if row["listed"] else ("not in the table assessors",)
    return "; ".join(
        (
            *unlisted,
            f"came to {row['sessions']} of {row['sessions_held']} sessions",
            _share(row, "false_alarms", "false alarms", "fresh_rejected", "fresh_tasted"),
            _share(row, "misses", "misses", "aged_accepted", "aged_tasted"),
            _follows(row),
        )
    )


def _share(row: dict[str, Any], name: str, words: str, wrong: str, glasses: str) -> str:
    if row[name] is None:
        return f"{words}: too few to say (n = {row[glasses]})"
    low, high = (round(100 * row[f"{name}_{end}"]) for end in ("lower", "upper"))
    return f"{words} {row[wrong]} of {row[glasses]} ({low} to {high} %)"


def _follows(row: dict[str, Any]) -> str:
    if row["follows"] is None:
        return f"agreement and drift: too few to say (n = {row['glasses']})"
    if not row["follows"]:
        return (
            "the answers do not follow what the rest find: would gain from a few sessions of "
            "fresh and aged side by side"
        )
    if row["drift"] is None:
        return "follows the rest; drift: too few to say"
    way, size = "more" if row["drift_a_year"] > 0 else "less", abs(row["drift_a_year"])
    return f"follows the rest; {_DRIFT[row['drift']].format(way, f'{size:.0%}')}"
