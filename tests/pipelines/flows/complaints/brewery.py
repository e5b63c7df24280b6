"""A small brewery with shipments and complaints of several kinds, for asking about."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from pipelines.config import load_config
from pipelines.flows.complaint import answer_complaint
from pipelines.flows.complaint_work import at_hand, work_out
from tests.pipelines.flows.conftest import CONFIGURATION

if TYPE_CHECKING:
    from pathlib import Path

    from pipelines.config import Config
    from pipelines.flows.complaint_asked import Asked

SETTINGS = "as_of = 2026-05-01\n"
NAME = "Yevgenia Quastel"
HOSTILE = '<script>alert(1)</script>{{ 7 * 7 }}\u202e=HYPERLINK("http://x")'
HEADINGS = (
    "complaint,received_on,category,lot,beer,format,printed_date,outlet,market,opened_on,"
    "storage_temp_c,storage_days,returned,note"
)
COMPLAINTS = (
    HEADINGS,
    f"C1,2026-04-10,stale,001,,can 330,,Moss Shop,shops,2026-04-08,,,opened,cardboard says {NAME}",
    "C2,2026-04-11,stale;gushing,001,,can 330,,Moss Shop,,,,,,",
    "C3,2026-04-12,stale,001,,can 330,,Moss Shop,,,,,,es wurde ihr übel",
    "C4,2026-04-13,haze,001,,can 330,,Other Shop,,,,,,",
    "C5,2026-04-14,stale,O01x,Fen Pale,can 330,2026-06-05,Moss Shop,,,,,,",
    "C6,2026-04-15,stale,,Fen Pale,can 330,2026-06-05,Moss Shop,,,,,,",
    "C7,2026-01-02,stale,001,,can 330,,,,,,,,",
    "C8,2026-04-16,stale,001,,can 330,,Moss Shop,,2026-04-15,31,60,,",
)
FILES = {
    "lots.csv": (
        "lot,format,beer,packaged_on,best_before,batch,line,packages,started_at,ended_at\n"
        "001,can 330,Fen Pale,2026-01-05,2026-06-05,T1,canning,2000,"
        "2026-01-05T08:00,2026-01-05T10:00\n"
        "002,can 330,Fen Pale,2026-01-07,2026-07-07,T2,canning,1500,,\n"
    ),
    "shipments.csv": (
        "shipment,lot,format,shipped_on,packages,route,customer\n"
        "W1,001,can 330,2026-01-15,900,shop,Moss Shop\n"
        "W2,001,can 330,2026-01-20,800,shop,Other Shop\n"
        "W3,002,can 330,2026-01-20,1000,shop,Other Shop\n"
    ),
    "oxygen.csv": (
        "lot,format,measured_at,quantity,value,unit,minutes_after_fill\n"
        + "".join(
            f"001,can 330,2026-01-05T10:{n:02},total,{ppb},ppb,20\n"
            for n, ppb in enumerate((52, 60, 48, 55, 58, 50))
        )
    ),
    "complaints.csv": "\n".join(COMPLAINTS) + "\n",
}
AT = datetime.fromisoformat("2026-05-01T12:00:00")


def written(folder: Path, files: dict[str, str], settings: str = "") -> Config:
    """Write a brewery's files and read its configuration."""
    (folder / "inbox").mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / "inbox" / name).write_text(text, encoding="utf-8")
    file = folder / "stalecurve.toml"
    file.write_text(SETTINGS + CONFIGURATION + settings, encoding="utf-8")
    return load_config(file)


def record(asked: Asked | str, config: Config) -> dict[str, Any]:
    """Work an answer out, as the command does in a process of its own."""
    return work_out(asked, 1, AT, config)


def answered(asked: Asked | str, config: Config) -> tuple[list[str], tuple[Path, ...]]:
    """Answer a complaint: what was said, and the files."""
    said: list[str] = []
    files = answer_complaint(asked, config, at_hand, said.append, [].append)
    return said, files
