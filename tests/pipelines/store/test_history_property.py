"""Whatever is loaded in whatever order, the current rows are the last ones said."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from pipelines.store.connect import open_store
from pipelines.store.fetch import fetch
from pipelines.store.intake import record_load

if TYPE_CHECKING:
    from collections.abc import Callable

    import duckdb
    import polars as pl

    from pipelines.store.intake import Load

# A load says of some beers how strong they are (two strengths), or withdraws them (None).
STRENGTHS = st.sampled_from([4.5, 5.0, None])
LOADS = st.lists(st.dictionaries(st.sampled_from("ABCD"), STRENGTHS), max_size=7)


def versions(store: duckdb.DuckDBPyConnection) -> list[tuple[object, ...]]:
    """Give the history in its order."""
    return store.sql("FROM history.beers ORDER BY load_id, row_key").fetchall()


@settings(deadline=None, max_examples=25)
@given(said=LOADS)
def test_current_rows_are_the_last_not_withdrawn(
    migrated: Path,
    beers: Callable[..., pl.DataFrame],
    load: Callable[..., Load],
    said: list[dict[str, float | None]],
) -> None:
    """Every row stands as last said, unless withdrawn; said again it adds no version."""
    expected: dict[str, float | None] = {}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(shutil.copy(migrated, Path(folder) / "store.duckdb"))
        with open_store(path) as store:
            for rows in said:
                kept = versions(store)
                frame = beers(
                    {
                        beer: 0.0 if strength is None else strength
                        for beer, strength in rows.items()
                    },
                    void=[beer for beer, strength in rows.items() if strength is None],
                )
                counts = record_load(store, load({"beers": frame})).row_counts
                added = versions(store)
                assert added[: len(kept)] == kept
                assert len(added) - len(kept) == sum(
                    beer not in expected or expected[beer] != strength
                    for beer, strength in rows.items()
                )
                assert counts["rows_read"].sum() == len(rows)
                record_load(store, load({"beers": frame}))
                assert versions(store) == added
                expected |= rows
            current = dict(fetch(store, "beers").select("beer", "abv_pct").iter_rows())
    assert current == {
        beer: strength for beer, strength in expected.items() if strength is not None
    }
