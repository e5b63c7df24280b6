"""Reading what the store publishes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from dashboards.errors import ResultsError
from dashboards.results import read_results

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def test_the_newest_run_and_load_are_read(store: Path) -> None:
    """Views give the newest run alone; frames keep their rows."""
    results = read_results(store)
    assert results.newest_run is not None
    assert results.newest_run["run_id"] == 7
    assert results.newest_load is not None
    assert results.newest_load["load_id"] == 2
    assert results.dates.height == 12
    assert results.routes["route"].n_unique() == 4


def test_a_store_without_runs_gives_empty_frames(make_store: Callable[..., Path]) -> None:
    """Before the first run there is nothing, and that is no error."""
    results = read_results(make_store())
    assert results.newest_run is None
    assert results.newest_load is None
    assert results.dates.is_empty()


def test_reading_changes_nothing(store: Path) -> None:
    """The store is opened read-only: its bytes stay as they are."""
    before = store.read_bytes()
    read_results(store)
    assert store.read_bytes() == before


@pytest.mark.parametrize("content", [None, b"no database at all"])
def test_what_is_no_store_is_said_plainly(tmp_path: Path, content: bytes | None) -> None:
    """A missing file and a file of another kind end in one sentence."""
    path = tmp_path / "stalecurve.duckdb"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(ResultsError, match=r"stalecurve\.duckdb"):
        read_results(path)
