"""Charts of package oxygen from files to what the pages may read."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from pipelines.config import Config, load_config
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.flows.week import write_week
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from tests.pipelines.flows.conftest import Desk

FIRST = date(2026, 1, 5)
HEADINGS = "lot,format,measured_at,unit,quantity,value,minutes_after_fill"


def fill(desk: Desk, name: str, first: int, *levels: float) -> None:
    """Take in lots a day apart on the line one, two packages each at about this level, ppb."""
    days = [FIRST + timedelta(days=first + n) for n in range(len(levels))]
    lots = [f"C{first + n:03d}" for n in range(len(levels))]
    desk.put(
        f"lots {name}.csv",
        "lot,format,beer,packaged_on,line",
        *(f"{lot},can 330,Fen Pale,{day},one" for lot, day in zip(lots, days, strict=True)),
    )
    desk.put(
        f"oxygen {name}.csv",
        HEADINGS,
        *(
            f"{lot},can 330,{day}T10:0{package},ppb,total,{level + package},30"
            for lot, day, level in zip(lots, days, levels, strict=True)
            for package in (0, 1)
        ),
    )
    ingest(desk.config, [].append)


def run(config: Config, today: date) -> None:
    """Fit, and work out the week of a day; the run is told to have ended that morning."""
    fit(config, [].append)
    with open_store(config.paths.database) as connection:
        connection.execute(
            "UPDATE results.runs SET finished_at = $on WHERE run_id = "
            "(SELECT max(run_id) FROM results.runs)",
            {"on": today},
        )
        write_week(connection, config, today)


STEADY = (60.0, 64.0, 57.0, 62.0, 59.0, 65.0, 58.0, 61.0, 63.0, 60.0)


def test_a_lot_beyond_the_limit_is_an_alert_for_a_week(desk: Desk) -> None:
    """It is new in the run that found it, and no longer once the run of a week ago had it."""
    path = desk.config.folder / "stalecurve.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(f"{text}\n[charts]\nlimits_until = 2026-01-14\n", encoding="utf-8")
    config = load_config(path)
    fill(desk, "one", 0, *STEADY)
    run(config, date(2026, 1, 20))
    assert desk.ask("SELECT lots, reason FROM published.oxygen_charts") == [(10, None)]
    assert desk.ask("FROM published.oxygen_alerts") == []
    fill(desk, "two", 16, 150.0)
    run(config, date(2026, 1, 22))
    alert = [("C016", "beyond limit", "above", 1)]
    asked = "SELECT found_lot, rule, side, lots FROM published.oxygen_alerts"
    assert desk.ask(asked) == alert
    fill(desk, "three", 20, 61.0)
    run(config, date(2026, 1, 25))
    assert desk.ask(asked) == alert
    run(config, date(2026, 2, 2))
    assert desk.ask(asked) == []
    signals = desk.ask("SELECT found_lot, ongoing FROM published.oxygen_signals")
    assert signals == [("C016", False)]


def test_limits_move_on_record(desk: Desk) -> None:
    """Another period in the configuration gives a run whose settings and limits say so."""
    path = desk.config.folder / "stalecurve.toml"
    plain = path.read_text(encoding="utf-8")
    stated = "\n[charts.lines.one]\nlimits_until = {}\n"
    path.write_text(plain + stated.format("2026-01-12"), encoding="utf-8")
    fill(desk, "one", 0, *STEADY)
    run(load_config(path), date(2026, 1, 20))
    run(load_config(path), date(2026, 1, 21))
    assert desk.ask("FROM published.limit_changes") == []
    path.write_text(plain + stated.format("2026-01-14"), encoding="utf-8")
    run(load_config(path), date(2026, 1, 22))
    moved = "SELECT run_id, run_before, line, limits_lots FROM published.limit_changes"
    assert desk.ask(moved) == [(3, 2, "one", 10)]
    ((settings,),) = desk.ask("SELECT settings FROM published.run")
    assert '"limits_until": "2026-01-14"' in str(settings)


def test_a_change_is_drawn_on_its_own_charts(desk: Desk) -> None:
    """One of the line or the whole plant is; one of another line or of a beer alone is not."""
    fill(desk, "one", 0, *STEADY)
    desk.put(
        "changes.csv",
        "changed_on,what,line,beer,format",
        "2026-01-08,new seamer rolls,one,,",
        "2026-01-09,new gas,,,",
        "2026-01-10,new crowner,two,,",
        "2026-01-11,new hops,,Fen Pale,",
    )
    ingest(desk.config, [].append)
    run(desk.config, date(2026, 1, 20))
    drawn = desk.ask("SELECT what FROM published.chart_changes ORDER BY changed_on")
    assert drawn == [("new seamer rolls",), ("new gas",)]


def test_a_misspelt_line_is_said(desk: Desk) -> None:
    """A period for a line that no lot has would hold for nobody."""
    path = desk.config.folder / "stalecurve.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text + "\n[charts.lines.ones]\nlimits_until = 2026-01-12\n", encoding="utf-8")
    fill(desk, "one", 0, *STEADY)
    said: list[str] = []
    fit(load_config(path), said.append)
    assert any(
        "names ones under charts.lines, but the table lots has no such line: did you mean one"
        in line
        for line in said
    )


def test_without_readings_there_are_no_charts_and_no_fault(desk: Desk) -> None:
    """A brewery that has no oxygen yet gets its run all the same."""
    run(desk.config, date(2026, 1, 20))
    for view in ("oxygen_charts", "chart_points", "oxygen_signals", "oxygen_alerts"):
        assert desk.ask(f"FROM published.{view}") == []
