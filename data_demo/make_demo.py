"""Write the demo brewery down as people keep files: `python -m data_demo.make_demo`.

The frames of `simulate` become workbooks and CSV files with the site's own headings, words and
units, by quarter, with the slips of a real year: see `make_demo_faults`. The same bytes come out
each time, so that the committed files can be checked against this program.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl
import xlsxwriter

from data_demo import make_demo_faults as faults
from data_demo.make_demo_samples import untasted_samples
from data_demo.simulate import DEMO_SEED, simulate

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    Cell = str | float | bool | dt.date | dt.datetime | None
    Rows = Sequence[Sequence[Cell]]

HERE = Path(__file__).parent
_WRITTEN_ON = dt.datetime(2026, 10, 23, 16, 30)  # noqa: DTZ001 - a workbook knows no time zone
_WORDS = {"accept": "ok", "reject": "no", "not sure": "?"}

# The sheets of the two workbooks: table, then our column to the heading that is written.
_CELLAR: dict[str, dict[str, str]] = {
    "beers": {
        "beer": "Beer",
        "style": "Style",
        "abv_pct": "ABV pct",
        "owner": "Owner",
        "pasteurised": "Pasteurised",
        "live_yeast_or_sugar": "Live yeast or sugar",
    },
    "formats": {
        "format": "Format",
        "kind": "Kind",
        "volume_ml": "Volume ml",
        "headspace_ml": "Headspace ml",
        "ingress_ppb_per_day": "Ingress ppb per day",
        "ingress_ml_o2_per_day": "Ingress ml O2 per day",
        "closure": "Closure",
        "light": "Light",
        "pressure_limit_bar": "Pressure limit bar",
    },
    "lots": {
        "lot": "Lot",
        "beer": "Beer",
        "format": "Format",
        "packaged_on": "Packaged on",
        "batch": "Tank",
        "line": "Line",
        "started_at": "Started at",
        "ended_at": "Ended at",
        "closure": "Closure",
        "best_before": "Best before",
        "printed_code": "Printed code",
        "packages": "Packages",
        "co2_volumes": "CO2 volumes",
        "status": "Status",
        "trial": "Trial",
    },
    "lot_results": {
        "lot": "Lot",
        "format": "Format",
        "quantity": "Quantity",
        "value": "Value",
        "unit": "Unit",
        "measured_at": "Measured at",
    },
    "routes": {
        "route": "Route",
        "market": "Market",
        "kinds": "Kinds",
        "share": "Share",
        "storage_text": "Storage text",
    },
    "route_stages": {
        "route": "Route",
        "stage_no": "Stage no",
        "stage": "Stage",
        "temp_c": "Temp C",
        "days": "Days",
    },
    "limits": {
        "beer": "Beer",
        "style": "Style",
        "format": "Format",
        "cause": "Cause",
        "days": "Days",
        "source": "Source",
    },
    "changes": {
        "changed_on": "Changed on",
        "what": "What",
        "line": "Line",
        "format": "Format",
    },
}
_PANEL: dict[str, dict[str, str]] = {
    "assessors": {
        "assessor": "Assessor",
        "also_written": "Also written",
        "trained_on": "Trained on",
        "shelf_life_panel": "Shelf life panel",
    },
    "samples": {
        "sample": "Sample",
        "lot": "Lot",
        "format": "Format",
        "storage_temp_c": "Storage temp C",
        "placed_on": "In",
        "pulled_on": "Out",
        "place": "Place",
        "role": "Role",
    },
    "tastings": {
        "session": "Session",
        "tasted_on": "Tasted on",
        "assessor": "Assessor",
        "sample": "Sample",
        "code": "Code",
        "position": "Place",
        "verdict": "Verdict",
        "stale": "Stale",
        "hop_aroma": "Hop aroma",
    },
    "difference_tests": {
        "session": "Session",
        "tasted_on": "Tasted on",
        "method": "Method",
        "sample": "Sample",
        "control": "Control",
        "assessments": "Assessments",
        "correct": "Correct",
    },
}
_CSV: dict[str, tuple[str, ...]] = {
    "meter_checks": (
        "meter",
        "checked_at",
        "standard",
        "expected",
        "observed",
        "unit",
        "tolerance",
        "state",
    ),
    "complaints": (
        "complaint",
        "received_on",
        "category",
        "lot",
        "beer",
        "format",
        "printed_date",
        "code_time",
        "packages",
        "outlet",
        "market",
        "bought_on",
        "opened_on",
        "storage_temp_c",
        "storage_days",
        "returned",
        "closed_on",
        "finding",
        "note",
    ),
    "shipments": (
        "shipment",
        "lot",
        "format",
        "shipped_on",
        "packages",
        "route",
        "customer",
        "best_before",
    ),
    "temperature_log": ("logger", "read_at", "temp_c", "route", "place"),
}


def main() -> None:
    """Write both folders beside this file."""
    write(HERE)


def write(folder: Path) -> None:
    """Write `inbox` and `faulty` into a folder; files of the same names are replaced."""
    for name, content in demo_files().items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


def demo_files() -> dict[str, bytes]:
    """Make every file of the demo: path below the demo's folder to bytes."""
    tables = simulate(DEMO_SEED, failed_seam=True)
    tables["tastings"] = tables["tastings"].with_columns(
        verdict=pl.col("verdict").replace_strict(_WORDS),
        # One evening somebody else wrote the names down.
        assessor=pl.when(session="P260512", assessor="A07")
        .then(pl.lit("A 07"))
        .otherwise("assessor"),
        stale=pl.col("scores").str.json_path_match("$.stale").cast(pl.Float64),
        hop_aroma=pl.col("scores").str.json_path_match("$.hop_aroma").cast(pl.Float64),
    )
    tables["samples"] = pl.concat([tables["samples"], untasted_samples()], how="diagonal")
    first_quarter = _csv(_oxygen_2026_q1(_quarter(tables["oxygen"], 2026, 1)))
    return {
        "inbox/cellar.xlsx": _workbook(_sheets(tables, _CELLAR)),
        "inbox/panel.xlsx": _workbook(
            {"notes": faults.PANEL_NOTES, **_sheets(tables, _PANEL)},
        ),
        "inbox/oxygen-2025-q4.csv": _csv(_oxygen_2025_q4(_quarter(tables["oxygen"], 2025, 4))),
        "inbox/oxygen-2026-q1.csv": first_quarter,
        "inbox/oxygen-2026-q1-copy.csv": first_quarter,
        "inbox/oxygen-2026-q2.csv": _csv(
            _oxygen_2026_q2(_quarter(tables["oxygen"], 2026, 2)), delimiter=";"
        ),
        "inbox/oxygen-2026-q3.csv": _csv(_oxygen_2026_q3(_quarter(tables["oxygen"], 2026, 3))),
        **{
            f"inbox/{table}.csv": _csv(_rows(tables[table], dict(zip(names, names, strict=True))))
            for table, names in _CSV.items()
        },
        "inbox/canning october.xlsx": _workbook(faults.broken_workbook(tables)),
        **{f"faulty/{name}": _csv(rows) for name, rows in faults.FAULTY_CSV.items()},
        "faulty/oxygen.xlsx": faults.NO_WORKBOOK,
        "faulty/tastings.csv": b"",
    }


def _sheets(
    tables: Mapping[str, pl.DataFrame], plan: Mapping[str, Mapping[str, str]]
) -> dict[str, Rows]:
    return {
        table.replace("_", " "): _rows(tables[table], columns) for table, columns in plan.items()
    }


def _rows(frame: pl.DataFrame, columns: Mapping[str, str]) -> list[list[Cell]]:
    """Turn columns into rows below their headings, yes and no in words."""
    yes_no = [name for name in columns if frame.schema[name] == pl.Boolean]
    written = frame.select(*columns).with_columns(
        pl.when(pl.col(name)).then(pl.lit("yes")).when(~pl.col(name)).then(pl.lit("no")).alias(name)
        for name in yes_no
    )
    return [list(columns.values()), *(list(row) for row in written.rows())]


def _quarter(oxygen: pl.DataFrame, year: int, quarter: int) -> pl.DataFrame:
    at = pl.col("measured_at")
    last = dt.datetime(2026, 10, 1)  # noqa: DTZ001 - local; the few readings after are not in yet
    return oxygen.filter(at.dt.year() == year, at.dt.quarter() == quarter, at < last)


def _oxygen_2025_q4(readings: pl.DataFrame) -> list[list[Cell]]:
    """Write one quantity a row, ppb, as the contract names the columns."""
    names = (
        "reading",
        "lot",
        "format",
        "measured_at",
        "quantity",
        "value",
        "unit",
        "minutes_after_fill",
        "temperature_c",
        "head",
        "run_position",
        "meter",
    )
    return _rows(readings, dict(zip(names, names, strict=True)))


def _oxygen_2026_q1(readings: pl.DataFrame) -> list[list[Cell]]:
    """Write ppm, a column a quantity, below the site's own headings, without reading numbers."""
    return _rows(
        _wide(
            readings.with_columns(unit=pl.lit("ppm"), value=(pl.col("value") / 1000).round(4)),
        ),
        {
            "lot": "Lot",
            "format": "Pack",
            "measured_at": "Sample time",
            "total": "O2 total",
            "shaken": "O2 shaken",
            "dissolved": "O2 in beer",
            "unit": "Unit",
            "minutes_after_fill": "Minutes after fill",
            "temperature_c": "Beer temp",
            "head": "Head",
            "run_position": "Run position",
            "meter": "Meter",
        },
    )


def _oxygen_2026_q2(readings: pl.DataFrame) -> list[list[Cell]]:
    """Write µg/L with semicolons, the filling time instead of the minutes, below a remark."""
    columns = {
        "reading": "Reading",
        "lot": "LOT",
        "format": "FORMAT",
        "filled_at": "FILLED AT",
        "measured_at": "MEASURED AT",
        "quantity": "QUANTITY",
        "value": "VALUE",
        "unit": "UNIT",
        "temperature_c": "TEMPERATURE C",
        "head": "HEAD",
        "meter": "METER",
    }
    written = readings.with_columns(
        unit=pl.lit("ug/L"),
        filled_at=pl.col("measured_at") - pl.duration(minutes="minutes_after_fill"),
    )
    heading, *rows = _rows(written, columns)
    remark: list[Cell] = ["# from here on the meter prints ug/L", *[None] * (len(heading) - 1)]
    return [heading, remark, *rows]


def _oxygen_2026_q3(readings: pl.DataFrame) -> list[list[Cell]]:
    """Write a column a quantity again, ppb, and the quarter's slips at the end."""
    names = (
        "reading",
        "lot",
        "format",
        "measured_at",
        "total",
        "shaken",
        "dissolved",
        "unit",
        "minutes_after_fill",
        "temperature_c",
        "head",
        "run_position",
        "meter",
    )
    heading, *rows = _rows(_wide(readings), dict(zip(names, names, strict=True)))
    return [heading, *rows, *(list(row) for row in faults.THIRD_QUARTER_SLIPS)]


def _wide(readings: pl.DataFrame) -> pl.DataFrame:
    return readings.with_columns(
        pl.when(pl.col("quantity") == quantity).then("value").alias(quantity)
        for quantity in ("total", "shaken", "dissolved")
    )


def _csv(rows: Rows, delimiter: str = ",") -> bytes:
    text = io.StringIO()
    writer = csv.writer(text, delimiter=delimiter, lineterminator="\r\n")
    writer.writerows([_as_text(cell) for cell in row] for row in rows)
    return text.getvalue().encode()


def _as_text(cell: Cell) -> str | float | None:
    if isinstance(cell, dt.datetime):
        return cell.isoformat(sep=" ", timespec="minutes")
    return cell.isoformat() if isinstance(cell, dt.date) else cell


def _workbook(sheets: Mapping[str, Rows]) -> bytes:
    """Write a workbook whose days are real Excel dates and whose texts stay texts."""
    file = io.BytesIO()
    with xlsxwriter.Workbook(file, {"in_memory": True, "strings_to_formulas": False}) as book:
        book.set_properties({"created": _WRITTEN_ON})
        bold = book.add_format({"bold": True})
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        time = book.add_format({"num_format": "yyyy-mm-dd hh:mm"})
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            sheet.freeze_panes(1, 0)
            sheet.set_column(0, 14, 14)
            for r, row in enumerate(rows):
                for c, cell in enumerate(row):
                    if isinstance(cell, dt.datetime):
                        sheet.write_datetime(r, c, cell, time)
                    elif isinstance(cell, dt.date):
                        sheet.write_datetime(r, c, cell, day)
                    elif isinstance(cell, str):
                        sheet.write_string(r, c, cell, bold if r == 0 else None)
                    elif cell is not None:
                        sheet.write_number(r, c, cell)
    return file.getvalue()


if __name__ == "__main__":
    main()
