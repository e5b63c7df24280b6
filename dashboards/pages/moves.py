"""The page What moves the date: sliders over the published grid, and its numbers as a table."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING, Any

from dashboards import route_charts, words
from dashboards.page import Chart, Column, Key, Page, Row, Table, run_source

if TYPE_CHECKING:
    import polars as pl

    from dashboards.results import Results

Cells = dict[str, Any]

NOTHING = (
    "Nothing to move yet: that takes an estimate and a route; the tables routes, oxygen, samples "
    "and tastings fill this."
)
_CELL = ["style", "format", "route"]
_POINT = ["oxygen_change_ppb", "closure", "warmer_c", "share_rejected"]
CLOSURES = {
    "as it is": "as it is",
    "scavenging liner": "scavenging liner (assumed)",
    "ordinary crown": "ordinary crown (assumed)",
}
SINGLE: dict[str, Cells] = {
    "20 ppb less": {"oxygen_change_ppb": -20.0},
    "20 ppb more": {"oxygen_change_ppb": 20.0},
    "Scavenging liner (assumed)": {"closure": "scavenging liner"},
    "3 °C colder": {"warmer_c": -3.0},
    "3 °C warmer": {"warmer_c": 3.0},
    "One glass in ten": {"share_rejected": 0.10},
    "95 % sure": {"confidence": 0.95},
}
GAINS = ("20 ppb less", "Scavenging liner (assumed)", "3 °C colder")


def page(results: Results) -> Page:
    """Return the page What moves the date."""
    cells = results.moves.group_by(_CELL, maintain_order=True)
    changed = [(_own(part), _singles(part)) for _, part in cells]
    table = _table(results, changed)
    return Page(
        file="moves.html",
        title="What moves the date",
        template="moves.html",
        context={
            "lead": _lead(changed),
            "chart": _chart(results) if changed else None,
            "single": table,
        },
        tables=(table,),
    )


def _own(part: pl.DataFrame) -> Cells:
    """Return the point where nothing is changed."""
    return part.filter("in_force").row(0, named=True)


def _singles(part: pl.DataFrame) -> dict[str, Cells | None]:
    """Return the point of each single change, None where the grid has none or nothing changes."""
    own = _own(part)
    points = {_key(row): row for row in part.rows(named=True)}
    found = {}
    for name, change in SINGLE.items():
        point = points.get(_key(own | change))
        found[name] = None if point is None or point["in_force"] else point
    return found


def _key(row: Cells) -> tuple[object, ...]:
    return (*(row[name] for name in _POINT), row["confidence"])


def _lead(changed: list[tuple[Cells, dict[str, Cells | None]]]) -> str:
    """Return the single change that brings most days."""
    gains = [
        (then["best_before_days"] - own["best_before_days"], own, name, then)
        for own, others in changed
        for name in GAINS
        if (then := others[name]) is not None
        and then["best_before_days"] is not None
        and own["best_before_days"] is not None
    ]
    if not gains:
        return NOTHING
    most, own, name, then = max(gains, key=lambda gain: gain[0])
    if most <= 0:
        return (
            "No single change here moves a date: 20 ppb less, a scavenging liner and 3 °C colder "
            "each leave what ends it where it is."
        )
    return (
        f"Most is gained for {own['style']} in {own['format']} on '{own['route']}': with "
        f"{name[:1].lower()}{name[1:]} its date would be {words.days(then['best_before_days'])} "
        f"where the route ends at {words.temperature(then['temp_c'])}, and is "
        f"{words.days(own['best_before_days'])} as it is, at {words.temperature(own['temp_c'])}."
    )


def _packed(own: Cells) -> str:
    return f"{own['style']}, {own['format']}, {own['route']}"


def _date(point: Cells | None) -> str:
    if point is None:
        return words.NOTHING
    days = point["best_before_days"]
    said = "none" if days is None else words.whole(days)
    moved = point["warmer_c"] != 0.0
    return f"{said} at {words.temperature(point['temp_c'])}" if moved else said


def _table(results: Results, changed: list[tuple[Cells, dict[str, Cells | None]]]) -> Table:
    return Table(
        name="moves",
        caption="The date after each single change, days from packaging",
        columns=(
            Column("Style, format, kept as"),
            Column("Filled with, ppb", figures=True, wide=True),
            Column("As it is", figures=True),
            *(Column(name, figures=True, wide=True) for name in SINGLE),
        ),
        rows=tuple(
            Row(
                (
                    f"{_packed(own)}, ends at {words.temperature(own['temp_c'])}",
                    words.whole(own["oxygen_ppb"]),
                    _date(own),
                    *(_date(point) for point in others.values()),
                ),
                narrow=words.sentence(
                    f"filled with {words.whole(own['oxygen_ppb'])}{words.NBSP}ppb; "
                    + "; ".join(
                        f"{name}: {_date(point)}"
                        for name, point in others.items()
                        if point is not None
                    )
                ),
            )
            for own, others in changed
        ),
        frame=results.moves.drop("run_id"),
        source=run_source(results),
        empty=NOTHING,
    )


def _chart(results: Results) -> Chart:
    """Return the sliders over every point of the grid."""
    grid = results.moves
    shares = grid["share_rejected"].unique().sort().to_list()
    sure = grid["confidence"].unique().sort().to_list()
    closures = list(CLOSURES)
    given = results.ingress.filter("ingress_given")["format"].to_list()
    points, beers = [], []
    for number, (_, part) in enumerate(grid.group_by(_CELL, maintain_order=True)):
        own = _own(part)
        beers.append(_packed(own))
        points += _points(part, number, shares, closures, given=own["format"] in given)
    first = _own(next(iter(grid.group_by(_CELL, maintain_order=True)))[1])
    return Chart(
        name="moves",
        title="The date as it is, and as you set it",
        summary="The table below holds the date after each single change; the file every point.",
        caption=(
            "Every stop of the sliders is worked out, none is read off a line between two. With "
            "nothing moved, both are the date of this run."
        ),
        key=(
            Key("band", "from the lower bound to the best estimate of the life", "#0072B2"),
            Key("upright thick", "date"),
        ),
        spec=route_charts.moved(
            points,
            beers,
            [words.glasses(share) for share in shares],
            [words.percent(confidence) for confidence in sure],
            list(CLOSURES.values()),
            {
                "share": shares.index(first["share_rejected"]),
                "sure": sure.index(first["confidence"]),
            },
        ),
    )


def _points(
    part: pl.DataFrame, number: int, shares: list[float], closures: list[str], *, given: bool
) -> list[Cells]:
    """Return a beer's points as the chart takes them, with a word for those that are none."""
    made = {}
    for key, same in part.group_by(_POINT, maintain_order=True):
        by = same.sort("confidence")
        row = by.row(0, named=True)
        assumed = "" if given and row["closure"] == "as it is" else " (assumed)"
        force = by["in_force"].to_list()
        made[key] = {
            "m": round(row["shelf_life_days"]),
            "l": [int(days) for days in by["shelf_life_days_lower"]],
            "d": by["best_before_days"].to_list(),
            "e": round(row["temp_c"], 1),
            "p": force.index(True) if any(force) else -1,
            "w": (
                f"{words.whole(row['oxygen_ppb'])} ppb at filling; closure lets in "
                f"{words.plain(round(row['ingress_ppb_per_day'], 2))} ppb a day{assumed}"
            ),
        }
    own = _own(part)
    rows = []
    for change, closure, warmer, share in product(
        route_charts.OXYGEN, closures, route_charts.WARMER, shares
    ):
        place = {
            "k": number,
            "o": change,
            "c": closures.index(closure),
            "t": warmer,
            "s": shares.index(share),
        }
        point = made.get((float(change), closure, float(warmer), share))
        if point is None:
            point = {
                "x": _why_none(own, change, closure),
                "p": -1,
                "e": round(own["temp_c"] + warmer, 1),
                "w": "",
            }
        rows.append(place | point)
    return rows


def _why_none(own: Cells, change: int, closure: str) -> str:
    if closure != "as it is" and own["ingress_ppb_per_day"] == 0.0:
        return "nothing comes in through this closure as it is: choose “as it is”"
    if own["oxygen_ppb"] + change < 10.0:  # noqa: PLR2004 - the least that the grid goes to, ppb
        return "no line fills with less than 10 ppb"
    return "no beer is kept below freezing"
