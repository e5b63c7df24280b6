"""What was written for people to mend, by its content."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import duckdb


def ours(connection: duckdb.DuckDBPyConnection) -> set[str]:
    """Give the contents (SHA-256) that hold no work of a person that would be lost.

    They were written by us, or they were taken in from the inbox.
    """
    rows = connection.sql(
        """
        SELECT sha256 FROM intake.written_files
        UNION SELECT sha256 FROM intake.files WHERE outcome IN ('loaded', 'duplicate')
        """
    ).fetchall()
    return {digest for (digest,) in rows}


def record_written(connection: duckdb.DuckDBPyConnection, file: str, sha256: str) -> None:
    """Note that a file with this content is ours."""
    connection.execute(
        """
        INSERT INTO intake.written_files (file, sha256) VALUES ($file, $sha256)
        ON CONFLICT DO NOTHING
        """,
        {"file": file, "sha256": sha256},
    )
