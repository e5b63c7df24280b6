"""From readings and changes in files to what is published of where oxygen comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from pipelines.config import load_config
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.config import Config

VIEWS = (
    "oxygen_lines",
    "oxygen_sources",
    "run_positions",
    "head_findings",
    "heads",
    "change_oxygen",
    "change_days",
)


def published(config: Config) -> dict[str, pl.DataFrame]:
    """Return what the pages may read of it."""
    with open_store(config.paths.database, read_only=True) as connection:
        return {view: connection.sql(f"SELECT * FROM published.{view}").pl() for view in VIEWS}


def test_a_brewery_without_readings_has_a_run_all_the_same(brewery: Config) -> None:
    """No oxygen, no line, no change: every view is there and empty."""
    ingest(brewery, [].append)
    fit(brewery, [].append)
    assert all(frame.is_empty() for frame in published(brewery).values())


def test_a_change_reaches_the_pages_with_its_ppb_and_days(
    make_brewery: Callable[..., Path], tmp_path: Path
) -> None:
    """Three lots of a new line at 90 ppb, a change, then three at 45: half, and days gained."""
    brewery = load_config(make_brewery(tmp_path / "brewery", "Fen Brewery", 3))
    inbox = brewery.paths.inbox
    lots, readings = [], []
    for number in range(6):
        lots.append(f"N{number},can 440,Pale No. 2,2026-02-0{number + 1},second line")
        readings += [
            f"N{number},can 440,2026-02-0{number + 1} 10:0{head},ppb,total,"
            f"{(90 if number < 3 else 45) + head + number % 3},20,{head}"
            for head in (1, 2, 3, 4)
        ]
    for name, head, rows in (
        ("lots new", "lot,format,beer,packaged_on,line", lots),
        (
            "oxygen new",
            "lot,format,measured_at,unit,quantity,value,minutes_after_fill,head",
            readings,
        ),
        ("changes new", "changed_on,what,line", ["2026-02-04,new seamer,second line"]),
    ):
        (inbox / f"{name}.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    ingest(brewery, [].append)
    fit(brewery, [].append)
    found = published(brewery)
    change = found["change_oxygen"].filter(pl.col("what") == "new seamer").row(0, named=True)
    assert (change["line"], change["lots_before"], change["lots_after"]) == ("second line", 3, 3)
    assert 0.45 < change["ratio"] < 0.60
    days = found["change_days"].filter(pl.col("what") == "new seamer")
    assert days.select("style", "route").rows() == [("pale ale", "ambient")]
    assert (days["days_gained"] > 0.0).all()
    heads = found["head_findings"].filter(pl.col("line") == "second line").row(0, named=True)
    assert heads["first_on"].isoformat() == "2026-02-04"
    assert found["heads"].filter(pl.col("line") == "second line").height == 4
    sources = found["oxygen_sources"].filter(pl.col("line") == "second line")["source"]
    assert set(sources) == {"lot", "head", "rest"}
