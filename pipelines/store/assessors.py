"""The codes that assessors go by on the pages, and what the newest run found of each by name."""

from __future__ import annotations

from hashlib import sha256
from typing import TYPE_CHECKING

from pipelines.store.insert import insert

if TYPE_CHECKING:
    from collections.abc import Iterable

    import duckdb
    import polars as pl

_LETTER = "T"
_FULLEST = 0.5  # of the codes of one length: above it, the last free ones would tell who is new


def give_codes(
    connection: duckdb.DuckDBPyConnection, assessors: Iterable[str], *, shuffle: str
) -> None:
    """Give each assessor who has none a code that is free; it is theirs for good.

    Args:
        connection: A migrated store opened for writing, inside a transaction.
        assessors: Their names.
        shuffle: What the codes are drawn by, beside the names, so that they follow neither the
            alphabet nor the order in which people came: the moment of the run, which no page has.
    """
    known = dict(connection.sql("SELECT assessor, code FROM results.assessor_codes").fetchall())
    new = set(assessors) - known.keys()
    drawn = sorted((_digest(f"{shuffle} {name}"), name) for name in new)
    taken = set(known.values())
    digits = 2
    while len(known) + len(new) > _FULLEST * 10**digits:
        digits += 1
    for digest, name in drawn:
        every = (f"{_LETTER}{number:0{digits}d}" for number in range(1, 10**digits))
        free = [code for code in every if code not in taken]
        code = free[digest % len(free)]
        taken.add(code)
        connection.execute(
            "INSERT INTO results.assessor_codes (assessor, code) VALUES ($assessor, $code)",
            {"assessor": name, "code": code},
        )


def codes_given(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give every code that was given: assessor, code."""
    given: pl.DataFrame = connection.sql("FROM results.assessor_codes ORDER BY assessor").pl()
    return given


def keep_codes(connection: duckdb.DuckDBPyConnection, given: pl.DataFrame) -> None:
    """Keep codes that were given in a copy of the store, for those who have none here."""
    known = codes_given(connection)
    insert(connection, "results.assessor_codes", given.join(known, on="assessor", how="anti"))


def findings(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give the newest run's findings with name and code.

    Returns:
        code, listed (whether the table assessors has the name), then as `results.assessors`.
    """
    found: pl.DataFrame = connection.sql(
        """
        SELECT c.code, a.assessor IN (SELECT assessor FROM core.assessors) AS listed, a.*
        FROM results.assessors AS a
        JOIN results.assessor_codes AS c ON c.assessor = a.assessor
        WHERE a.run_id = (SELECT max(run_id) FROM results.runs)
        ORDER BY c.code
        """
    ).pl()
    return found


def alike_names(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give the newest run's names that may be one person: `assessor`, `other`, `why`."""
    found: pl.DataFrame = connection.sql(
        """
        SELECT assessor, other, why FROM results.alike_names
        WHERE run_id = (SELECT max(run_id) FROM results.runs)
        ORDER BY assessor, other
        """
    ).pl()
    return found


def _digest(text: str) -> int:
    return int(sha256(text.encode()).hexdigest(), 16)
