"""A row set aside stays in sight until something settles it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from pipelines.store.fetch import fetch
from pipelines.store.intake import record_load
from pipelines.store.set_aside import outstanding

if TYPE_CHECKING:
    from collections.abc import Callable

    import duckdb

    from pipelines.store.intake import Load

    Beers = Callable[..., pl.DataFrame]
    Faults = Callable[..., pl.DataFrame]
    Loads = Callable[..., Load]


def entries(store: duckdb.DuckDBPyConnection) -> list[tuple[object, ...]]:
    """Give each entry with its load, its row and how it was settled."""
    return store.sql(
        """
        SELECT load_id, row_number, settled_in, settled_how FROM intake.set_aside
        ORDER BY load_id, row_number, column_name
        """
    ).fetchall()


def strengths(store: duckdb.DuckDBPyConnection) -> dict[str, float]:
    """Give the beers as they stand now."""
    return dict(fetch(store, "beers").select("beer", "abv_pct").iter_rows())


def test_rows_set_aside_are_counted_beside_the_good_ones(
    store: duckdb.DuckDBPyConnection, beers: Beers, fault: Faults, load: Loads
) -> None:
    """A row with two faults is two entries and one row; a file of faults alone is counted too."""
    faults = pl.concat([fault(), fault(column_name="abv_pct"), fault(file="more.csv")])
    summary = record_load(
        store,
        load(
            {"beers": beers({"First": 5.0})},
            files={"beers.csv": "a", "more.csv": "b"},
            set_aside=faults,
        ),
    )
    assert summary.row_counts.rows() == [
        ("beers.csv", "", "beers", 2, 1, 0, 0, 0, 1),
        ("more.csv", "", "beers", 1, 0, 0, 0, 0, 1),
    ]
    assert store.sql("SELECT count(*) FROM published.set_aside").fetchall() == [(3,)]


def test_rows_that_stand_aside_are_given_once_with_all_their_faults(
    store: duckdb.DuckDBPyConnection, fault: Faults, load: Loads
) -> None:
    """What a row waits for is told: a partner, its rival, or a person; its faults in one text."""
    faults = pl.concat(
        [
            fault(),
            fault(column_name="owner"),
            fault(row_number=6),
            fault(row_number=6, column_name="abv_pct", kind="value"),
            fault(row_number=7, kind="conflict"),
        ]
    )
    record_load(store, load(set_aside=faults))
    rows = outstanding(store)
    assert rows.select("row_number", "said_in", "kind").rows() == [
        (5, 1, "reference"),
        (6, 1, "value"),
        (7, 1, "conflict"),
    ]
    told = "There is no style of this name. (expected a style)"
    assert rows["reason"][0] == f"owner: {told}; style: {told}"


def test_a_row_whose_partner_came_settles_its_entries(
    store: duckdb.DuckDBPyConnection, beers: Beers, fault: Faults, load: Loads
) -> None:
    """A good row from a place set aside is stored, and both its entries are settled."""
    record_load(store, load(set_aside=pl.concat([fault(), fault(column_name="owner")])))
    summary = record_load(store, load({"beers": beers({"Fifth": 5.0}, first_row=5, said_in=1)}))
    assert summary.row_counts.rows() == [("beers.csv", "", "beers", 1, 1, 0, 0, 0, 0)]
    assert entries(store) == [(1, 5, 2, "came in by itself")] * 2
    assert strengths(store) == {"Fifth": 5.0}
    assert outstanding(store).is_empty()


def test_a_row_overtaken_by_a_later_load_is_not_stored(
    store: duckdb.DuckDBPyConnection, beers: Beers, fault: Faults, load: Loads
) -> None:
    """An older row does not replace what a later file has said under its key, nor a withdrawal."""
    record_load(store, load(set_aside=pl.concat([fault(), fault(row_number=6)])))
    later = beers({"Fifth": 5.5, "Sixth": 6.5}, void=["Sixth"], file="later.csv")
    record_load(store, load({"beers": later}))
    waiting = beers({"Fifth": 5.0, "Sixth": 6.0}, first_row=5, said_in=1)
    summary = record_load(store, load({"beers": waiting}))
    assert summary.row_counts.rows() == [("beers.csv", "", "beers", 2, 0, 0, 2, 0, 0)]
    assert strengths(store) == {"Fifth": 5.5}
    assert [entry[3] for entry in entries(store)] == ["overtaken by a later row"] * 2


def test_a_row_overtaken_within_its_load_is_not_stored(
    store: duckdb.DuckDBPyConnection, beers: Beers, fault: Faults, load: Loads
) -> None:
    """Beside a row that a file says now, one that was waiting under the same key gives way."""
    record_load(store, load(set_aside=fault()))
    both = [beers({"Fifth": 5.0}, first_row=5, said_in=1), beers({"Fifth": 5.5}, file="later.csv")]
    record_load(store, load({"beers": pl.concat(both)}))
    assert strengths(store) == {"Fifth": 5.5}
    assert entries(store) == [(1, 5, 2, "overtaken by a later row")]


def test_a_correction_that_had_to_wait_is_a_correction(
    store: duckdb.DuckDBPyConnection, beers: Beers, fault: Faults, load: Loads
) -> None:
    """A row set aside later than the one that stands under its key replaces it, once it is good."""
    record_load(store, load({"beers": beers({"Fifth": 5.0}, file="first.csv")}))
    record_load(store, load(set_aside=fault()))
    record_load(store, load({"beers": beers({"Fifth": 5.5}, first_row=5, said_in=2)}))
    assert strengths(store) == {"Fifth": 5.5}
    assert entries(store) == [(2, 5, 3, "came in by itself")]


def test_a_newer_file_settles_what_its_older_content_left(
    store: duckdb.DuckDBPyConnection, beers: Beers, fault: Faults, load: Loads
) -> None:
    """Entries of the file are settled, those of other files are not."""
    faults = pl.concat([fault(), fault(file="other.csv", row_number=9)])
    record_load(store, load(files={"beers.csv": "a", "other.csv": "o"}, set_aside=faults))
    mended = beers({"Fifth": 5.0}, first_row=5)
    record_load(store, load({"beers": mended}, files={"beers.csv": "b"}))
    assert entries(store) == [(1, 5, 2, "replaced by a newer file"), (1, 9, None, None)]
    assert strengths(store) == {"Fifth": 5.0}


def test_a_newer_file_that_cannot_be_read_settles_nothing(
    store: duckdb.DuckDBPyConnection, fault: Faults, load: Loads
) -> None:
    """Only a content that was read takes the place of the one before."""
    record_load(store, load(files={"beers.csv": "a"}, set_aside=fault()))
    record_load(store, load(files={"beers.csv": "b"}, outcome="not readable"))
    assert entries(store) == [(1, 5, None, None)]


def test_the_same_fault_found_again_is_the_same_entry(
    store: duckdb.DuckDBPyConnection, fault: Faults, load: Loads
) -> None:
    """An entry that is checked again in vain, or stands in a newer file, stays as it is."""
    faults = pl.concat([fault(), fault(column_name=None, value=None, kind="conflict")])
    record_load(store, load(files={"beers.csv": "a"}, set_aside=faults))
    waiting = record_load(store, load(set_aside=faults))
    assert waiting.row_counts.is_empty()
    newer = record_load(store, load(files={"beers.csv": "b"}, set_aside=faults))
    assert newer.row_counts["rows_set_aside"].to_list() == [1]
    assert entries(store) == [(1, 5, None, None)] * 2


def test_another_fault_of_the_row_takes_the_place_of_the_one_before(
    store: duckdb.DuckDBPyConnection, fault: Faults, load: Loads
) -> None:
    """A row that is found faulty for another reason is listed with that reason alone."""
    record_load(store, load(set_aside=fault()))
    record_load(store, load(set_aside=fault(reason="The style is not among those of the house.")))
    assert entries(store) == [(1, 5, 2, "set aside again for another reason"), (2, 5, None, None)]
    assert store.sql("SELECT reason FROM published.set_aside").fetchall() == [
        ("The style is not among those of the house.",)
    ]
