"""A store in a few states, the pages made from each, and one browser for all tests."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from dashboards.build import build
from pipelines.store.connect import open_store
from pipelines.store.migrate import migrate

if TYPE_CHECKING:
    from collections.abc import Iterator

    from selenium.webdriver import Chrome

BREWERY = Path(__file__).with_name("brewery.sql")


def make_store(path: Path, *statements: str) -> Path:
    """Return a store with the whole schema and what the statements put into it."""
    with open_store(path) as con:
        migrate(con)
        for statement in statements:
            con.execute(statement)
    return path


def pages_of(folder: Path, *statements: str) -> Path:
    """Return the pages of a store with what the statements put into it."""
    build(make_store(folder / "stalecurve.duckdb", *statements), folder / "pages")
    return folder / "pages"


@pytest.fixture(scope="session")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with one good run."""
    return make_store(tmp_path_factory.mktemp("brewery") / "stalecurve.duckdb", BREWERY.read_text())


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pages of one good run."""
    return pages_of(tmp_path_factory.mktemp("brewery"), BREWERY.read_text())
