"""The slips of the demo's files: one badly broken workbook, a few in the CSV, and `faulty/`.

`PLANTED` names every fault by sheet, row and column, so that a test can ask for exactly these.
"""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import polars as pl

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    Cell = str | float | bool | dt.date | dt.datetime | None
    Rows = Sequence[Sequence[Cell]]

BROKEN = "inbox/canning october.xlsx"

# sheet, row as a person sees it, column (as the contract calls it), kind of fault
PLANTED: tuple[tuple[str, int, str, str], ...] = (
    ("lots", 3, "packaged_on", "value"),
    ("lots", 4, "beer", "reference"),
    ("lots", 5, "packages", "value"),
    ("lots", 6, "format", "reference"),
    ("oxygen", 4, "value", "value"),
    ("oxygen", 5, "measured_at", "value"),
    ("oxygen", 6, "lot", "reference"),
    ("oxygen", 7, "format", "reference"),
    ("oxygen", 8, "unit", "value"),
    ("oxygen", 9, "quantity", "value"),
    ("oxygen", 10, "lot", "missing"),
    ("oxygen", 11, "value", "missing"),
    ("oxygen", 12, "format", "reference"),
    ("samples", 2, "pulled_on", "value"),
    ("samples", 3, "storage_temp_c", "value"),
    ("tastings", 4, "verdict", "value"),
    ("tastings", 5, "stale", "value"),
    ("tastings", 6, "tasted_on", "value"),
    ("tastings", 7, "sample", "reference"),
    ("tastings", 8, "verdict", "value"),
    ("tastings", 9, "verdict", "conflict"),
    ("tastings", 10, "verdict", "conflict"),
    ("changes", 2, "what", "missing"),
)
# And the second last row of the third quarter's oxygen file names a lot that was never filled.
UNKNOWN_LOT = ("inbox/oxygen-2026-q3.csv", "lot", "reference")

PANEL_NOTES: Rows = (
    ("Pour 60 ml, cover, 10 °C. Spit. Nobody has to taste, nobody drives.",),
    ("ok = would serve it, no = would not for its age, ? = cannot say",),
    ("One glass in each session is fresh; only the organiser knows which.",),
)

# Heading order of the third quarter's file: reading, lot, format, measured_at, total, shaken,
# dissolved, unit, minutes_after_fill, temperature_c, head, run_position, meter.
THIRD_QUARTER_SLIPS: Rows = (
    # Shaken the evening after: the beer has eaten part of its oxygen, so this is only a bound.
    (
        "R90001",
        "26205-02B5",
        "bottle 500",
        "2026-07-25 17:40",
        None,
        31.5,
        None,
        "ppb",
        1830,
        19.5,
        "2",
        "middle",
        "M2",
    ),
    # Two digits of the day changed places: no such lot.
    (
        "R90002",
        "26250-02B5",
        "bottle 500",
        "2026-07-24 10:25",
        74.2,
        None,
        None,
        "ppb",
        40,
        17.0,
        "1",
        "middle",
        "M1",
    ),
    (
        "R90003",
        "26205-08K3",
        "keg 30",
        "2026-07-24 12:10",
        "<10",
        None,
        None,
        "ppb",
        35,
        6.0,
        "1",
        "middle",
        "M1",
    ),
)


def broken_workbook(tables: Mapping[str, pl.DataFrame]) -> dict[str, Rows]:
    """Make the sheets that a helping hand kept in October, with a few good rows among them.

    Args:
        tables: of the simulated brewery; the good rows refer to its lots and samples.
    """
    lots = tables["lots"]
    together = (
        lots.group_by("lot").len().filter(pl.col("len") > 2).sort("lot").get_column("lot").item(-1)
    )
    last = tables["tastings"].sort("session", "sample").tail(1).row(0, named=True)
    session, day, sample = last["session"], last["tasted_on"], last["sample"]
    return {
        "lots": _lots(),
        "oxygen": _oxygen(together),
        "samples": _samples(together),
        "tastings": _tastings(session, day, sample),
        # A heading that every row needs is misspelt: no row of the sheet can be read.
        "changes": (
            ("changed on", "waht", "line"),
            (dt.date(2026, 10, 5), "new seaming rolls", "canning"),
        ),
        "Sheet6": (("buy", "rolls of tape"), ("ask", "who has the key to the warm cupboard")),
    }


def _lots() -> Rows:
    return (
        ("lot", "format", "beer", "packaged on", "batch", "best before", "packages"),
        (
            "26274-06B5",
            "bottle 500",
            "Stout No. 6",
            dt.date(2026, 10, 1),
            "T090",
            dt.date(2027, 2, 18),
            4100,
        ),
        ("26275-03C4", "can 440", "Lager No. 3", "2026-02-30", "T091", None, 9000),
        ("26276-06C4", "can 440", "Stout No. 7", dt.date(2026, 10, 2), "T092", None, 9000),
        ("26277-08C4", "can 440", "Haze No. 8", dt.date(2026, 10, 5), "T093", None, "12 pallets"),
        ("26278-08C4", "tin 440", "Haze No. 8", dt.date(2026, 10, 6), "T094", None, 8000),
    )


def _oxygen(lot: str) -> Rows:
    def at(hour: int, minute: int) -> dt.datetime:
        return dt.datetime(2026, 10, 1, hour, minute)  # noqa: DTZ001 - local

    return (
        ("reading", "lot", "format", "measured at", "quantity", "value", "unit", "temprature c"),
        ("X01", "26274-06B5", "bottle 500", at(10, 0), "total", 66.0, "ppb", 18.5),
        ("X02", "26274-06B5", "bottle 500", at(10, 15), "shaken", 34.1, "ppb", 18.5),
        ("X03", "26274-06B5", "bottle 500", at(10, 30), "total", "about 60", "ppb", 18.5),
        ("X04", "26274-06B5", "bottle 500", "2026-13-01 10:45", "total", 71.0, "ppb", 18.5),
        ("X05", "26999-06B5", "bottle 500", at(11, 0), "total", 64.0, "ppb", 18.5),
        ("X06", lot, "tin 440", at(11, 15), "total", 58.0, "ppb", 18.5),
        ("X07", "26274-06B5", "bottle 500", at(11, 30), "total", 61.0, "percent", 18.5),
        ("X08", "26274-06B5", "bottle 500", at(11, 45), "totale", 63.0, "ppb", 18.5),
        ("X09", None, "bottle 500", at(12, 0), "total", 67.0, "ppb", 18.5),
        ("X10", "26274-06B5", "bottle 500", at(12, 15), "total", None, "ppb", 18.5),
        # This lot went into three formats: the lot alone does not say which was measured.
        ("X11", lot, None, at(12, 30), "total", 59.0, "ppb", 18.5),
    )


def _samples(lot: str) -> Rows:
    return (
        ("sample", "lot", "format", "storage temp c", "in", "out", "place"),
        ("S9001", lot, "can 440", 20, dt.date(2026, 10, 8), dt.date(2026, 10, 1), "room 20"),
        ("S9002", lot, "can 440", "thirty", dt.date(2026, 9, 1), dt.date(2026, 10, 1), "cupboard"),
    )


def _tastings(session: str, day: dt.date, sample: str) -> Rows:
    return (
        ("session", "tasted on", "assessor", "sample", "code", "verdict", "stale"),
        # Somebody who is not on the list of assessors: taken in, and mentioned.
        (session, day, "A14", sample, "901", "ok", 2.5),
        (session, day, "A15", sample, "902", "?", 3.0),
        (session, day, "A16", sample, "903", "maybe", 3.5),
        (session, day, "A17", sample, "904", "ok", 14),
        (session, "31.02.2026", "A18", sample, "905", "ok", 2.0),
        (session, day, "A19", "S99999", "906", "no", 6.0),
        (session, day, "A20", sample, "907", None, None),
        # One glass, one taster, two answers: nobody can say which holds.
        (session, day, "A21", sample, "908", "ok", 3.0),
        (session, day, "A21", sample, "908", "no", 3.0),
    )


# Files to try `stalecurve check` on, apart from the inbox.
NO_WORKBOOK = b"This was exported as text and only renamed.\r\nlot;value\r\n26205-02B5;61\r\n"
FAULTY_CSV: dict[str, Rows] = {
    # Names that a page or a spreadsheet might run: they are names, and are shown as they stand.
    "lots.csv": (
        ("lot", "format", "beer", "packaged_on", "best_before", "packages"),
        ("<img src=x onerror=alert(1)>", "can 440", "Lager No. 3", "2026-10-12", "2027-04-12", 800),
        ("=1+1", "can 440", "Lager No. 3", "2026-10-13", "2027-04-13", 900),
        ("@SUM(A1:A9)", "bottle 500", "Stout No. 6", "2026-10-14", "2027-03-03", 700),
        ("26290-03", "can 440", "Lager No. 3", "14/15/2026", "2027-04-16", "-5"),
    ),
    "oxygen-only-headings.csv": (("lot", "measured_at", "unit", "quantity", "value"),),
    "holiday rota.csv": (("who", "from", "to"), ("A03", "2026-07-20", "2026-08-02")),
}
