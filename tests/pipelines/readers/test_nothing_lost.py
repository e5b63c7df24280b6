"""Whatever stands in a table, each of its rows is stored or set aside."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import polars as pl
from hypothesis import given, settings
from hypothesis import strategies as st

from pipelines.readers.check import Known, check_tables
from pipelines.readers.contract import TABLES
from pipelines.readers.files import RawTable
from pipelines.readers.site import Attribute, Site

if TYPE_CHECKING:
    from collections.abc import Callable

    from pipelines.readers.check import Checked

SITE = Site(attributes={"stale": Attribute(0, 10, "high", 4)})
KNOWN = Known(
    beers=frozenset({"a"}),
    formats=frozenset({"a", "b"}),
    lots=frozenset({("a", "a"), ("b", "a"), ("b", "b")}),
    samples=frozenset({"a"}),
    routes=frozenset({"a"}),
)
# Few spellings, so that sound rows, repeated keys and contradictions all come up.
SPELLINGS = {
    "number": ("1", "2", "<3", "x"),
    "integer": ("1", "2", "1.5"),
    "date": ("2026-01-01", "2026-01-02", "soon"),
    "time": ("2026-01-01 10:00", "2026-01-02", "noon"),
    "yes/no": ("yes", "no", "perhaps"),
    "identifier": ("a", "b", "c", "=1+1", '"<i>\n\\'),
    "text": ("a", "b", "'"),
}


@st.composite
def raw_tables(draw: Callable[..., object]) -> list[RawTable]:
    """Draw up to three files of one table, some with columns missing or unknown."""
    table = TABLES[str(draw(st.sampled_from(list(TABLES))))]
    kinds = {column.name: column.kind for column in table.columns}
    choices = {column.name: (*column.choices, "?") for column in table.columns if column.choices}
    headings = [*table.headings, "stale", "remark"]
    spelled = {name: choices.get(name) or SPELLINGS[kinds.get(name, "number")] for name in headings}
    spelled |= {"void": ("yes", "no"), "remark": ("a", "b")}
    required = [column.name for column in table.columns if column.required]

    def a_file(number: int) -> RawTable:
        whole = draw(st.booleans())
        dropped = draw(st.sets(st.sampled_from(headings)))
        assert isinstance(dropped, set)
        kept = [name for name in headings if name not in dropped or (whole and name in required)]
        row = st.fixed_dictionaries(
            {
                name: st.sampled_from(spelled[name])
                if whole and name in required
                else st.one_of(st.none(), st.sampled_from(spelled[name]))
                for name in kept
            }
        )
        rows = draw(st.lists(row, max_size=6))
        assert isinstance(rows, list)
        cells = pl.DataFrame(rows, schema=dict.fromkeys(kept, pl.String))
        numbers = pl.Series("row_number", range(2, len(rows) + 2), dtype=pl.Int32)
        return RawTable(table.name, f"{table.name}-{number}.csv", "", cells.with_columns(numbers))

    return [a_file(number) for number in range(int(str(draw(st.integers(1, 3)))))]


def places(frame: pl.DataFrame) -> set[tuple[str, int]]:
    """Give where the rows of a frame stand."""
    return set(frame.select("file", "row_number").iter_rows())


def check_one(raw: RawTable) -> Checked:
    """Check a single row on its own."""
    return check_tables([raw], KNOWN, SITE)


@settings(deadline=None)  # a busy machine is no fault
@given(raw_tables())
def test_stored_or_set_aside(raw: list[RawTable]) -> None:
    """No row is both, and one that is neither repeats a stored one to the letter of its key."""
    checked = check_tables(raw, KNOWN, SITE)
    (good,) = checked.tables.values()
    stored, aside = places(good), places(checked.set_aside)
    given_rows = {(table.file, n) for table in raw for n in table.cells["row_number"]}
    assert not stored & aside
    assert stored | aside <= given_rows
    assert good["row_key"].is_unique().all()
    keys = set(good["row_key"])
    for table in raw:
        for index, number in enumerate(table.cells["row_number"]):
            if (table.file, number) in stored | aside:
                continue
            alone = RawTable(table.table, table.file, "", table.cells.slice(index, 1))
            (again,) = check_one(alone).tables.values()
            if TABLES[table.table].key and not TABLES[table.table].key_if:
                assert set(again["row_key"]) <= keys
            else:
                assert set(again.select(TABLES[table.table].stored).iter_rows()) <= set(
                    good.select(TABLES[table.table].stored).iter_rows()
                )


@settings(deadline=None)  # a busy machine is no fault
@given(raw_tables())
def test_a_row_set_aside_keeps_its_text(raw: list[RawTable]) -> None:
    """Every filled cell of a row that was set aside is among the cells kept of it."""
    checked = check_tables(raw, KNOWN, SITE)
    by_place = {
        (table.file, row.pop("row_number")): {k: v for k, v in row.items() if v is not None}
        for table in raw
        for row in table.cells.iter_rows(named=True)
    }
    for file, number, cells in checked.set_aside.select("file", "row_number", "cells").iter_rows():
        assert json.loads(cells) == by_place[(file, number)]
