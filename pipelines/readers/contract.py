"""The contract of every input table: its columns, what identifies a row, what a cell may hold.

The tables stand in the order in which they can refer to each other: a lot names a beer and a
format, so beers and formats come first. Nothing heavy is imported here, because the configuration
needs the names before anything is read.
"""

from __future__ import annotations

from pipelines.readers.columns import Column, Table

__all__ = ["TABLES", "Column", "Table"]

PACKAGE_KINDS = ("bottle", "can", "plastic bottle", "keg", "plastic keg", "cask")
QUANTITIES = ("total", "shaken", "dissolved", "headspace")
OXYGEN_UNITS = ("ppb", "ug/L", "ppm", "mg/L")
CATEGORIES = (
    "stale",
    "flat",
    "haze",
    "lightstruck",
    "sour",
    "other flavour",
    "short fill",
    "leaker",
    "damage",
    "date illegible",
    "gushing",
    "burst",
    "foreign body",
    "chemical",
    "allergen",
    "illness",
    "injury",
    "other",
)


def _name(
    name: str,
    *,
    required: bool = False,
    key: bool = False,
    refers: str = "",
    firm: bool = False,
) -> Column:
    return Column(name, "identifier", required=required, key=key, refers=refers, firm=firm)


def _key(name: str, refers: str = "", *, firm: bool = False) -> Column:
    return _name(name, required=True, key=True, refers=refers, firm=firm)


def _celsius(name: str, *, required: bool = False, coldest: float = -5.0) -> Column:
    return Column(name, "number", required=required, minimum=coldest, maximum=80.0)


_FORMAT = _name("format")
# Beer is kept no colder than it freezes, but a logger in a lorry may read a winter's night.
_WINTER = -40.0

TABLES: dict[str, Table] = {
    table.name: table
    for table in (
        Table(
            "beers",
            (
                _key("beer"),
                _name("style", required=True),
                Column("abv_pct", "number", required=True, minimum=0, maximum=70),
                _name("owner"),
                Column("pasteurised", "yes/no"),
                Column("live_yeast_or_sugar", "yes/no"),
            ),
        ),
        Table(
            "formats",
            (
                _key("format"),
                Column("kind", "choice", required=True, choices=PACKAGE_KINDS),
                Column("volume_ml", "number", required=True, minimum=10, maximum=1_000_000),
                Column("headspace_ml", "number", minimum=0, maximum=100_000),
                Column("ingress_ppb_per_day", "number", minimum=0, maximum=1_000),
                Column("ingress_ml_o2_per_day", "number", minimum=0, maximum=10),
                Column("closure", "text"),
                Column("light", "choice", choices=("dark", "brown", "green", "clear")),
                Column("pressure_limit_bar", "number", above=0, maximum=100),
            ),
        ),
        Table(
            "lots",
            (
                _key("lot"),
                _key("format", "formats", firm=True),
                _name("beer", required=True, refers="beers", firm=True),
                Column("packaged_on", "date", required=True),
                _name("batch"),
                _name("line"),
                _name("packaged_by"),
                Column("started_at", "time"),
                Column("ended_at", "time"),
                Column("closure", "text"),
                Column("best_before", "date"),
                Column("printed_code", "text"),
                Column("packages", "integer", minimum=0),
                Column("co2_volumes", "number", minimum=0, maximum=10),
                Column("co2_g_per_l", "number", minimum=0, maximum=20),
                Column("status", "choice", choices=("released", "held", "scrapped")),
                Column("trial", "text"),
            ),
        ),
        Table(
            "lot_results",
            (
                _name("lot", required=True, refers="lots"),
                _FORMAT,
                _name("quantity", required=True),
                Column("value", "number"),
                Column("result", "text"),
                _name("unit"),
                Column("measured_at", "time"),
            ),
        ),
        Table(
            "oxygen",
            (
                _name("lot", required=True, refers="lots", firm=True),
                _FORMAT,
                Column("measured_at", "time", required=True),
                Column("unit", "choice", required=True, choices=OXYGEN_UNITS),
                Column("quantity", "choice", required=True, key=True, choices=QUANTITIES),
                # A meter near its floor can read a little below zero.
                Column(
                    "value", "number", required=True, bounded=True, minimum=-50, maximum=100_000
                ),
                _name("reading", key=True),
                Column("filled_at", "time"),
                Column("minutes_after_fill", "number", minimum=0),
                _celsius("temperature_c"),
                Column("headspace_ml", "number", minimum=0, maximum=100_000),
                _name("head"),
                Column("run_position", "choice", choices=("start", "middle", "end", "restart")),
                _name("meter", refers="meters"),
            ),
            derived=("bound",),
            wide=QUANTITIES,
            key_if="reading",
        ),
        Table(
            "meter_checks",
            (
                _key("meter"),
                Column("checked_at", "time", required=True, key=True),
                Column(
                    "standard",
                    "choice",
                    required=True,
                    key=True,
                    choices=("zero", "air", "reference"),
                ),
                Column("expected", "number", required=True),
                Column("observed", "number", required=True),
                Column("unit", "choice", required=True, choices=(*OXYGEN_UNITS, "% saturation")),
                Column("tolerance", "number", minimum=0),
                Column("state", "choice", choices=("found", "left")),
            ),
        ),
        Table(
            "assessors",
            (
                _key("assessor"),
                Column("also_written", "text"),
                Column("trained_on", "date"),
                Column("shelf_life_panel", "yes/no"),
                Column("left_on", "date"),
            ),
        ),
        Table(
            "samples",
            (
                _key("sample"),
                _name("lot", required=True, refers="lots", firm=True),
                _FORMAT,
                _celsius("storage_temp_c", required=True),
                Column("placed_on", "date", required=True),
                Column("pulled_on", "date", required=True),
                _name("place"),
                _celsius("before_placing_temp_c"),
                Column(
                    "role",
                    "choice",
                    choices=("aged", "fresh", "reference", "spiked", "returned", "release"),
                    default="aged",
                ),
            ),
        ),
        Table(
            "tastings",
            (
                _key("session"),
                Column("tasted_on", "date", required=True),
                _key("assessor", "assessors"),
                _key("sample", "samples", firm=True),
                _name("code", key=True),
                Column("position", "integer", minimum=1),
                Column("verdict", "choice", choices=("accept", "reject", "not sure")),
                Column("note", "text"),
            ),
            derived=("scores",),
        ),
        Table(
            "difference_tests",
            (
                _key("session"),
                Column("tasted_on", "date", required=True),
                Column(
                    "method",
                    "choice",
                    required=True,
                    key=True,
                    choices=("triangle", "duo-trio", "paired", "tetrad"),
                ),
                _key("sample", "samples"),
                _key("control", "samples"),
                Column("assessments", "integer", required=True, minimum=1),
                Column("correct", "integer", required=True, minimum=0),
            ),
        ),
        Table(
            "complaints",
            (
                _key("complaint"),
                Column("received_on", "date", required=True),
                Column("category", "choices", required=True, choices=CATEGORIES),
                _name("lot"),
                _name("beer", refers="beers"),
                _name("format", refers="formats"),
                Column("printed_date", "date"),
                Column("code_time", "text"),
                Column("packages", "integer", minimum=0),
                Column("outlet", "text"),
                _name("market"),
                Column("bought_on", "date"),
                Column("opened_on", "date"),
                _celsius("storage_temp_c", coldest=_WINTER),
                Column("storage_days", "number", minimum=0),
                Column("returned", "choice", choices=("unopened", "opened", "none")),
                Column("closed_on", "date"),
                Column("finding", "text"),
                Column("note", "text"),
            ),
        ),
        Table(
            "routes",
            (
                _key("route"),
                _name("market"),
                Column("kinds", "choices", choices=PACKAGE_KINDS),
                Column("share", "number", minimum=0, maximum=1),
                Column("storage_text", "text"),
            ),
        ),
        Table(
            "route_stages",
            (
                _key("route", "routes", firm=True),
                Column("stage_no", "integer", required=True, key=True, minimum=1, maximum=100),
                Column("stage", "text", required=True),
                _celsius("temp_c", required=True),
                Column("days", "number", above=0, maximum=3650),
            ),
        ),
        Table(
            "temperature_log",
            (
                _key("logger"),
                Column("read_at", "time", required=True, key=True),
                _celsius("temp_c", required=True, coldest=_WINTER),
                _name("route", refers="routes"),
                _name("lot"),
                _name("place"),
            ),
        ),
        Table(
            "shipments",
            (
                _key("shipment"),
                _name("lot", required=True, refers="lots"),
                _FORMAT,
                Column("shipped_on", "date", required=True),
                Column("packages", "integer", required=True, minimum=0),
                _name("route", refers="routes"),
                Column("customer", "text"),
                Column("best_before", "date"),
            ),
        ),
        Table(
            "limits",
            (
                _name("beer", refers="beers"),
                _name("style"),
                _name("format", refers="formats"),
                Column(
                    "cause",
                    "choice",
                    required=True,
                    choices=(
                        "haze",
                        "infection",
                        "refermentation",
                        "CO2",
                        "light",
                        "customer",
                        "law",
                    ),
                ),
                Column("days", "number", required=True, above=0, maximum=7300),
                Column("source", "text"),
            ),
        ),
        Table(
            "changes",
            (
                Column("changed_on", "date", required=True),
                Column("what", "text", required=True),
                _name("line"),
                _name("beer", refers="beers"),
                _name("format", refers="formats"),
            ),
        ),
    )
}
