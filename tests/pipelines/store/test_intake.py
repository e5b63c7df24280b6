"""A load is stored whole, adds what is new, and never takes anything from the history."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import duckdb
import polars as pl
import pytest

from pipelines.errors import StoreError
from pipelines.store.connect import open_store
from pipelines.store.fetch import fetch
from pipelines.store.intake import known_files, known_identifiers, record_load

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.store.intake import Load

    Beers = Callable[..., pl.DataFrame]
    Loads = Callable[..., Load]

COUNTED = ("rows_read", "rows_new", "rows_corrected", "rows_unchanged", "rows_withdrawn")


def strengths(store: duckdb.DuckDBPyConnection) -> dict[str, float]:
    """Give the beers as they stand now."""
    return dict(fetch(store, "beers").select("beer", "abv_pct").iter_rows())


def history(store: duckdb.DuckDBPyConnection) -> list[tuple[object, ...]]:
    """Give every version of every beer."""
    return store.sql(
        "SELECT load_id, beer, abv_pct, void FROM history.beers ORDER BY load_id, beer"
    ).fetchall()


def counts(frame: pl.DataFrame) -> list[tuple[int, ...]]:
    """Give the row counts of a load without its set-aside rows."""
    return frame.select(COUNTED).rows()


def stored(store: duckdb.DuckDBPyConnection) -> int:
    """Count the rows of everything that a load writes."""
    tables = store.sql(
        "SELECT schema_name || '.' || table_name FROM duckdb_tables() "
        "WHERE schema_name IN ('intake', 'history') AND table_name <> 'migrations'"
    ).fetchall()
    return sum(
        count
        for (table,) in tables
        for (count,) in store.sql(f"SELECT count(*) FROM {table}").fetchall()
    )


def test_a_load_is_kept_with_its_files_and_mentions(
    store: duckdb.DuckDBPyConnection, beers: Beers, load: Loads
) -> None:
    """What came in, from which file and what was noticed can be read afterwards."""
    summary = record_load(
        store,
        load(
            {"beers": beers({"First": 5.0, "Second": 4.5})},
            files={"beers.csv": "a"},
            mentions=["The heading colour is unknown."],
        ),
    )
    assert summary.load_id == 1
    assert summary.row_counts.rows() == [("beers.csv", "", "beers", 2, 2, 0, 0, 0, 0)]
    assert store.sql("SELECT * EXCLUDE reason FROM published.files").fetchall() == [
        (1, "beers.csv", 100, "loaded")
    ]
    assert store.sql("FROM published.mentions").fetchall() == [
        (1, "beers.csv", "", "The heading colour is unknown.")
    ]
    assert store.sql("FROM published.row_counts").fetchall() == [
        (1, *summary.row_counts.row(0)),
    ]
    assert fetch(store, "beers").select("beer", "row_number", "load_id").rows() == [
        ("First", 2, 1),
        ("Second", 3, 1),
    ]


def test_loaded_twice_changes_nothing(
    store: duckdb.DuckDBPyConnection, beers: Beers, load: Loads
) -> None:
    """The same rows from another file, sheet and place are the same rows, kept once a file."""
    record_load(store, load({"beers": beers({"First": 5.0, "Second": 4.5})}))
    before = strengths(store)
    moved = beers({"Second": 4.5, "First": 5.0}, file="2026/beers.xlsx", first_row=9)
    moved = moved.with_columns(sheet=pl.lit("beers"))
    for _ in range(2):
        again = record_load(store, load({"beers": moved}))
        assert counts(again.row_counts) == [(2, 0, 0, 2, 0)]
        assert strengths(store) == before
        assert len(history(store)) == 4


def test_a_correction_replaces_the_row_and_keeps_the_older_one(
    store: duckdb.DuckDBPyConnection, beers: Beers, load: Loads
) -> None:
    """Other values under a key are a new version, and the older one stays in the history."""
    record_load(store, load({"beers": beers({"First": 5.0, "Second": 4.5})}))
    summary = record_load(store, load({"beers": beers({"First": 5.2, "Second": 4.5})}))
    assert counts(summary.row_counts) == [(2, 0, 1, 1, 0)]
    assert strengths(store) == {"First": 5.2, "Second": 4.5}
    assert history(store) == [
        (1, "First", 5.0, False),
        (1, "Second", 4.5, False),
        (2, "First", 5.2, False),
    ]


def test_void_withdraws_and_a_later_row_brings_back(
    store: duckdb.DuckDBPyConnection, beers: Beers, load: Loads
) -> None:
    """A withdrawn row is gone from the current rows, stays in the history, and can return."""
    record_load(store, load({"beers": beers({"First": 5.0})}))
    void = load({"beers": beers({"First": 5.0}, void=["First"])})
    assert counts(record_load(store, void).row_counts) == [(1, 0, 0, 0, 1)]
    assert strengths(store) == {}
    assert counts(record_load(store, void).row_counts) == [(1, 0, 0, 1, 0)]
    back = record_load(store, load({"beers": beers({"First": 5.0})}))
    assert counts(back.row_counts) == [(1, 1, 0, 0, 0)]
    assert strengths(store) == {"First": 5.0}
    assert [version[3] for version in history(store)] == [False, True, False]


def test_extra_cells_are_values_whose_order_says_nothing(
    store: duckdb.DuckDBPyConnection, beers: Beers, load: Loads
) -> None:
    """Unknown columns in another order change nothing; another cell in one is a correction."""
    texts = ('{"hue": "red", "ibu": "30"}', '{"ibu":"30","hue":"red"}', '{"ibu":"31","hue":"red"}')
    outcomes = [
        counts(record_load(store, load({"beers": beers({"First": 5.0}, extra=text)})).row_counts)
        for text in texts
    ]
    assert outcomes == [[(1, 1, 0, 0, 0)], [(1, 0, 0, 1, 0)], [(1, 0, 1, 0, 0)]]
    assert fetch(store, "beers")["extra"].to_list() == [texts[2]]


def test_values_do_not_run_into_each_other(
    store: duckdb.DuckDBPyConnection, beers: Beers, load: Loads
) -> None:
    """A text that moves to the next column is another value, whatever separators it holds."""
    row = beers({"First": 5.0})
    for owner, style in (('x,style="y"', "z"), ("x", 'y",style="z'), ("x", "x"), (None, "x")):
        changed = row.with_columns(owner=pl.lit(owner, dtype=pl.String), style=pl.lit(style))
        record_load(store, load({"beers": changed}))
    assert store.sql("SELECT count(*) FROM history.beers").fetchall() == [(4,)]


def test_a_row_with_several_readings_counts_once(
    store: duckdb.DuckDBPyConnection, load: Loads
) -> None:
    """Two quantities read on one package are two readings and one row of the file."""
    columns = store.sql("FROM history.oxygen").pl().drop("load_id")
    readings = pl.concat(
        [
            columns,
            pl.DataFrame(
                {
                    "lot": ["L1", "L1"],
                    "quantity": ["dissolved", "headspace"],
                    "value": [30.0, 40.0],
                    "void": [False, False],
                    "extra": ["{}", "{}"],
                    "file": ["oxygen.csv"] * 2,
                    "sheet": ["", ""],
                    "row_number": [2, 2],
                    "row_key": ['["1","dissolved"]', '["1","headspace"]'],
                }
            ),
        ],
        how="diagonal_relaxed",
    )
    assert counts(record_load(store, load({"oxygen": readings})).row_counts) == [(1, 1, 0, 0, 0)]
    corrected = readings.with_columns(value=pl.Series([30.0, 45.0]))
    assert counts(record_load(store, load({"oxygen": corrected})).row_counts) == [(1, 0, 1, 0, 0)]
    assert fetch(store, "oxygen")["value"].to_list() == [30.0, 45.0]


def test_a_load_that_fails_half_way_stores_nothing(
    store: duckdb.DuckDBPyConnection, beers: Beers, load: Loads
) -> None:
    """A later table of a wrong type takes the earlier ones, the files and the load with it."""
    formats = store.sql("FROM history.formats").pl().drop("load_id")
    wrong = pl.concat(
        [
            formats.with_columns(pl.col("volume_ml").cast(pl.String)),
            pl.DataFrame(
                {
                    "format": ["bottle 33"],
                    "volume_ml": ["a third of a litre"],
                    "void": [False],
                    "extra": ["{}"],
                    "file": ["formats.csv"],
                    "sheet": [""],
                    "row_number": [2],
                    "row_key": ['["bottle 33"]'],
                }
            ),
        ],
        how="diagonal_relaxed",
    )
    faulty = load(
        {"beers": beers({"First": 5.0}), "formats": wrong},
        files={"beers.csv": "a"},
        mentions=["Noticed."],
    )
    with pytest.raises(duckdb.ConversionException, match="a third of a litre"):
        record_load(store, faulty)
    assert stored(store) == 0
    assert record_load(store, load({"beers": beers({"First": 5.0})})).load_id == 1


def test_frames_of_another_shape_are_refused(
    store: duckdb.DuckDBPyConnection, beers: Beers, load: Loads
) -> None:
    """An unknown table, other columns and a key that stands twice are said and not stored."""
    row = beers({"First": 5.0})
    twice = pl.concat([row, beers({"First": 6.0}, first_row=3)])
    for tables, message in (
        ({"beer": row}, r"no table history\.beer\."),
        ({"beers": row.drop("abv_pct")}, "beers lacks abv_pct"),
        ({"beers": row.with_columns(hue=pl.lit("red"))}, "beers has the unknown hue"),
        ({"beers": twice}, r'the row \["First"\] of beers twice'),
    ):
        with pytest.raises(StoreError, match=message):
            record_load(store, load(tables))
    assert stored(store) == 0


KILLED = """
import os, signal, sys
from datetime import datetime
from pathlib import Path
import polars as pl
from pipelines.store.connect import open_store
from pipelines.store.intake import Load, record_load

class Killing(dict):
    def items(self):
        yield "beers", pl.read_parquet(sys.argv[2])
        print("in the middle", flush=True)
        os.kill(os.getpid(), signal.SIGKILL)

now = datetime(2026, 4, 7)
none = ["table_name", "file", "sheet", "row_number", "column_name", "value", "reason", "expected",
        "kind", "cells", "said_in", "mended_file", "mended_sheet", "mended_row"]
mends = ["table_name", "file", "sheet", "row_number", "how", *none[-3:]]
with open_store(Path(sys.argv[1])) as store:
    record_load(store, Load(
        now, now, "0.1.0",
        pl.DataFrame(schema=["file", "sha256", "size_bytes", "outcome", "reason"]),
        Killing(), pl.DataFrame(schema=none), pl.DataFrame(schema=mends),
        pl.DataFrame(schema=["file", "sheet", "mention"]),
    ))
"""


def test_killed_inside_a_load_leaves_a_clean_store(
    path: Path, tmp_path: Path, beers: Beers, load: Loads
) -> None:
    """After kill -9 between two tables the store holds what it held before, and works."""
    with open_store(path) as store:
        record_load(store, load({"beers": beers({"First": 5.0})}))
        before = stored(store)
    rows = tmp_path / "rows.parquet"
    beers({f"Beer {number}": 5.0 for number in range(50_000)}).write_parquet(rows)
    killed = subprocess.run(
        [sys.executable, "-c", KILLED, str(path), str(rows)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (killed.stdout, killed.returncode) == ("in the middle\n", -9), killed.stderr
    with open_store(path) as store:
        assert stored(store) == before
        assert strengths(store) == {"First": 5.0}
        assert record_load(store, load({"beers": beers({"Second": 4.5})})).load_id == 2


def test_known_files_are_the_newest_contents(store: duckdb.DuckDBPyConnection, load: Loads) -> None:
    """A content is known while its file has it: one that was changed back is news."""
    record_load(store, load(files={"beers.csv": "a", "lots.csv": "l"}))
    record_load(store, load(files={"copy.csv": "l"}, outcome="duplicate"))
    record_load(store, load(files={"notes.txt": "n"}, outcome="not recognised"))
    assert known_files(store) == {"a": "beers.csv", "l": "copy.csv"}
    record_load(store, load(files={"beers.csv": "b"}))
    assert known_files(store) == {"b": "beers.csv", "l": "copy.csv"}


def test_known_identifiers_are_the_current_ones(
    store: duckdb.DuckDBPyConnection, beers: Beers, load: Loads
) -> None:
    """A withdrawn row can no longer be referred to; lots are known with their format."""
    record_load(store, load({"beers": beers({"First": 5.0, "Second": 4.5})}))
    record_load(store, load({"beers": beers({"Second": 4.5}, void=["Second"])}))
    store.execute(
        """
        INSERT INTO history.lots BY NAME
        SELECT 'L1' AS lot, 'can' AS format, false AS void, '{}' AS extra, 'lots.csv' AS file,
               '' AS sheet, 2 AS row_number, '["L1","can"]' AS row_key, 2 AS load_id
        """
    )
    known = known_identifiers(store)
    assert known["beers"] == frozenset({"First"})
    assert known["lots"] == frozenset({("L1", "can")})
    assert {name for name, held in known.items() if not held} == {
        "formats",
        "samples",
        "routes",
        "assessors",
        "meters",
    }


def test_only_input_tables_are_fetched(store: duckdb.DuckDBPyConnection) -> None:
    """A name that is no input table is refused, whatever it holds."""
    for name in ("runs", "beers; DROP TABLE history.beers"):
        with pytest.raises(StoreError, match=r"no table core\."):
            fetch(store, name)
