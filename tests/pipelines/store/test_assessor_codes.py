"""The codes of assessors: lasting, one each, and telling nothing."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import pytest

from pipelines.store.assessors import give_codes
from pipelines.store.connect import open_store
from pipelines.store.migrate import migrate

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    import duckdb


@pytest.fixture
def fresh(tmp_path: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """A store with nobody in it."""
    with open_store(tmp_path / "brewery.duckdb") as connection:
        migrate(connection)
        yield connection


def codes(connection: duckdb.DuckDBPyConnection) -> dict[str, str]:
    """Give the code of each name."""
    return dict(connection.sql("SELECT assessor, code FROM results.assessor_codes").fetchall())


def test_everybody_has_one_code_for_good(fresh: duckdb.DuckDBPyConnection) -> None:
    """Who has one keeps it from run to run, whoever comes or stays away."""
    give_codes(fresh, {"Anna", "Jo"}, shuffle="one")
    before = codes(fresh)
    give_codes(fresh, {"Jo", "Zoë"}, shuffle="two")
    after = codes(fresh)
    assert after.items() > before.items()
    assert len(set(after.values())) == 3
    assert all(len(code) == 3 and code.startswith("T") for code in after.values())


def test_codes_follow_neither_the_alphabet_nor_who_came_first(
    fresh: duckdb.DuckDBPyConnection,
) -> None:
    """Over many names the order of the codes goes with neither; another moment draws others."""
    names = [f"{letter}{letter}" for letter in "abcdefghijklmnopqrst"]
    for name in names:  # one run each, in the order of the alphabet
        give_codes(fresh, {name}, shuffle=f"run of {name}")
    given = codes(fresh)
    ordered = [given[name] for name in names]
    ups = sum(one < other for one, other in pairwise(ordered))
    assert 5 <= ups <= 14
    fresh.execute("DELETE FROM results.assessor_codes")
    give_codes(fresh, set(names), shuffle="another moment")
    assert codes(fresh) != given


def test_a_large_panel_has_longer_codes_and_old_ones_stay(
    fresh: duckdb.DuckDBPyConnection,
) -> None:
    """Two hundred names fit, and the first ten keep theirs."""
    give_codes(fresh, {f"A{i}" for i in range(10)}, shuffle="one")
    before = codes(fresh)
    give_codes(fresh, {f"A{i}" for i in range(200)}, shuffle="two")
    after = codes(fresh)
    assert after.items() >= before.items()
    assert len(set(after.values())) == 200
