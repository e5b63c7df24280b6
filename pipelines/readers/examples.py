"""One row of every table as it may look, of an invented brewery; together they fit each other."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

_PACKAGED = date(2026, 4, 7)
_PULLED = date(2026, 5, 12)
_MORNING = datetime(2026, 4, 7, 9, 30)  # noqa: DTZ001 - local time, as a sheet has it

EXAMPLES: dict[str, Mapping[str, object]] = {
    "beers": {"beer": "Fen Pale", "style": "pale ale", "abv_pct": 5.0, "pasteurised": "no"},
    "formats": {
        "format": "can 330",
        "kind": "can",
        "volume_ml": 330,
        "headspace_ml": 12,
        "closure": "seamed end",
        "pressure_limit_bar": 6.2,
    },
    "lots": {
        "lot": "026097",
        "format": "can 330",
        "beer": "Fen Pale",
        "packaged_on": _PACKAGED,
        "batch": "B118",
        "line": "canning",
        "started_at": _MORNING,
        "best_before": date(2026, 10, 6),
        "packages": 9600,
        "co2_volumes": 2.5,
        "status": "released",
    },
    "lot_results": {
        "lot": "026097",
        "quantity": "pH",
        "value": 4.3,
        "unit": "pH",
        "measured_at": _MORNING,
    },
    "oxygen": {
        "lot": "026097",
        "measured_at": _MORNING,
        "unit": "ppb",
        "quantity": "total",
        "value": 62,
        "reading": "0001",
        "minutes_after_fill": 20,
        "temperature_c": 8.5,
        "head": "3",
        "run_position": "start",
        "meter": "M1",
    },
    "meter_checks": {
        "meter": "M1",
        "checked_at": _MORNING,
        "standard": "zero",
        "expected": 0,
        "observed": 1.5,
        "unit": "ppb",
        "tolerance": 3,
        "state": "found",
    },
    "assessors": {
        "assessor": "A07",
        "also_written": "Anna",
        "trained_on": date(2026, 1, 12),
        "shelf_life_panel": "yes",
    },
    "samples": {
        "sample": "P0412",
        "lot": "026097",
        "storage_temp_c": 30,
        "placed_on": date(2026, 4, 8),
        "pulled_on": _PULLED,
        "place": "warm cupboard",
        "before_placing_temp_c": 4,
        "role": "aged",
    },
    "tastings": {
        "session": "2026-05-12",
        "tasted_on": _PULLED,
        "assessor": "A07",
        "sample": "P0412",
        "code": "531",
        "position": 2,
        "verdict": "accept",
        "note": "a little honey",
    },
    "difference_tests": {
        "session": "2026-05-12",
        "tasted_on": _PULLED,
        "method": "triangle",
        "sample": "P0412",
        "control": "P0412",
        "assessments": 12,
        "correct": 5,
    },
    "complaints": {
        "complaint": "C019",
        "received_on": date(2026, 8, 3),
        "category": "stale;flat",
        "lot": "026097",
        "packages": 1,
        "market": "home",
        "storage_temp_c": 21,
        "returned": "unopened",
        "note": "papery, kept in a garage",
    },
    "routes": {
        "route": "shop",
        "market": "home",
        "kinds": "bottle;can",
        "share": 0.6,
        "storage_text": "keep cool and dark",
    },
    "route_stages": {"route": "shop", "stage_no": 1, "stage": "shelf", "temp_c": 21},
    "temperature_log": {"logger": "L2", "read_at": _MORNING, "temp_c": 20.6, "route": "shop"},
    "shipments": {
        "shipment": "S2207",
        "lot": "026097",
        "shipped_on": date(2026, 4, 14),
        "packages": 2400,
        "route": "shop",
    },
    "limits": {"beer": "Fen Pale", "cause": "haze", "days": 270, "source": "warm and cold cycles"},
    "changes": {"changed_on": date(2026, 4, 2), "what": "a new seamer roll", "line": "canning"},
}
