"""The evidence on a complaint in two columns, and what is known and what is not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from dashboards import complaint_words as said
from dashboards import words

if TYPE_CHECKING:
    from collections.abc import Iterator

Cells = dict[str, Any]

NOTHING_SAID = "says nothing"
AGE, CALLED = "the age on the day", "what the drinker calls it"


@dataclass(frozen=True)
class Line:
    """One piece of evidence as it stands on the page: what it is called, is, and supports."""

    name: str
    said: str
    supports: str


@dataclass(frozen=True)
class Columns:
    """Evidence for the likeliest cause, against it, and what says nothing either way."""

    speaks_for: tuple[Line, ...]
    speaks_against: tuple[Line, ...]
    neither: tuple[Line, ...]


def columns(record: Cells) -> Columns:
    """Sort the evidence by what it says of the likeliest cause, the strongest first."""
    leader = said.leading(record) if record["odds"] else None
    facts = {piece["name"]: piece["said"] for piece in record["known"]["pieces"]}
    facts |= {AGE: _short_age(record), CALLED: _called(record)}
    by_item: dict[str, list[Cells]] = {}
    for row in record["items"]:
        by_item.setdefault(row["item"], []).append(row)
    sided: dict[str, list[tuple[float, Line]]] = {"for": [], "against": [], "neither": []}
    for name, rows in by_item.items():
        own = next((row for row in rows if row["account"] == leader), rows[0])
        side = own["words"].rpartition(" ")[2] if own["words"] != NOTHING_SAID else "neither"
        strength = own["factor"] if side == "for" else -own["factor"]
        line = Line(name, facts.get(name, ""), _supports(rows))
        sided[side].append((-strength, line))
    in_odds = set(by_item)
    sided["neither"] += [
        (0.0, Line(name, text, "")) for name, text in facts.items() if name not in in_odds and text
    ]
    ordered = {
        side: tuple(line for _, line in sorted(found, key=lambda pair: pair[0]))
        for side, found in sided.items()
    }
    return Columns(ordered["for"], ordered["against"], ordered["neither"])


def _supports(rows: list[Cells]) -> str:
    """Return what a piece supports most and what it speaks against most, and how strongly."""
    telling = [row for row in rows if row["words"] != NOTHING_SAID]
    most = max(telling, key=lambda row: row["factor"], default=None)
    least = min(telling, key=lambda row: row["factor"], default=None)
    parts = []
    if most is not None and most["factor"] > 1.0:
        parts.append(f"Speaks {most['words']} “{_short(most)}” ({_times(most['factor'])} likelier)")
    if least is not None and least["factor"] < 1.0:
        times = _times(1.0 / least["factor"] if least["factor"] > 0.0 else float("inf"))
        verb = "speaks" if parts else "Speaks"
        parts.append(f"{verb} {least['words']} “{_short(least)}” ({times} less likely)")
    return f"{'; '.join(parts)}." if parts else "Says nothing either way."


def _short(row: Cells) -> str:
    return said.CAUSES[row["account"]]


def _times(factor: float) -> str:
    if factor >= 1000:  # noqa: PLR2004 - beyond it nobody knows
        return "over 1000 times"
    shown = words.whole(factor) if factor >= 10 else f"{factor:.1f}"  # noqa: PLR2004
    return f"{shown} times"


def age(record: Cells) -> str:
    """Say how old it was on the day, and how that stands to its date and its route."""
    known = record["known"]
    day, route, share = known["day"], known["route"], known["share"]
    days = words.days(day["age_days"])
    if day["told"] == "opened":
        old = f"It was {days} old when it was opened on {said.day(record['asked']['opened_on'])}"
    else:
        off = words.days(2.0 * day["age_sd"])
        from_day = "bought" if day["told"] == "bought" else "received"
        assumed = (
            f"between the days it was bought and told of, give or take {off}"
            if from_day == "bought"
            else f"give or take {off}: within three weeks before it was told of, assumed"
        )
        old = f"It was about {days} old when it was opened, {assumed}"
    printed = day["printed_days"]
    if printed is None:
        date = "no printed date is known"
    else:
        left = printed - day["age_days"]
        side = f"{words.days(left)} before" if left >= 0 else f"{words.days(-left)} after"
        date = f"{side} its printed date, {said.day(day['printed_on'])} ({words.days(printed)})"
    expected = ""
    if share is not None and route is not None:
        bounds = said.between(share["lower"], share["upper"])
        expected = (
            f" At that age, kept as '{route['name']}' says (it ends at "
            f"{words.temperature(route['last_temp_c'])}), {words.chance(share['share'])} of "
            f"glasses of an ordinary lot would be rejected for age ({bounds})."
        )
    return f"{old}; {date}.{expected}"


def _short_age(record: Cells) -> str:
    day = record["known"]["day"]
    about = "" if day["told"] == "opened" else "About "
    told = f"{about}{words.days(day['age_days'])}"
    if day["printed_days"] is None:
        return f"{told}."
    left = day["printed_days"] - day["age_days"]
    side = "before" if left >= 0 else "after"
    return f"{told}, {words.days(abs(left))} {side} its printed date."


def _called(record: Cells) -> str:
    categories = words.listed(record["asked"]["categories"])
    return f"The complaint is about: {categories}."


def known(record: Cells) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return what is known of the package, and what is not, in a line each."""
    return tuple(_known(record)), tuple(_unknown(record))


def _known(record: Cells) -> Iterator[str]:
    found, asked = record["known"], record["asked"]
    lot, went, route = found["lot"], found["went"], found["route"]
    line = f" on {lot['line']}" if lot["line"] else ""
    packages = f", {words.count(lot['packages'], 'package')}" if lot["packages"] else ""
    yield (
        f"{lot['beer']} in {lot['format']}, lot {lot['lot']}, packaged{line} on "
        f"{said.day(lot['packaged_on'])}{packages}."
    )
    if went["shipped"]:
        yield (
            f"{words.count(went['shipped'], 'package')} of it went to "
            f"{words.count(went['customers'], 'customer')}."
        )
    if route is not None:
        stages = [f"{words.days(d)} at {words.temperature(t)}" for d, t in _legs(route)]
        way = ", then ".join([*stages, words.temperature(route["temp_c"][-1])])
        yield f"Its way: '{route['name']}', {way}; {went['known']}."
    for name, told in (
        ("outlet", "Sold at {}."),
        ("market", "Market: {}."),
        ("packages", "Packages complained of: {}."),
        ("returned", "Packages that came back: {}."),
        ("code_time", "Read off the package: {}."),
    ):
        if asked[name] is not None:
            yield told.format(asked[name])


def _legs(route: Cells) -> list[tuple[float, float]]:
    return list(zip(route["days"], route["temp_c"], strict=False))


def _unknown(record: Cells) -> Iterator[str]:
    found, asked = record["known"], record["asked"]
    names = {piece["name"] for piece in found["pieces"]}
    for missing, told in (
        (asked["opened_on"] is None, "the day on which it was opened"),
        (asked["bought_on"] is None, "the day on which it was bought"),
        (asked["storage_temp_c"] is None, "how warm it was kept by whoever sold and drank it"),
        (asked["outlet"] is None, "where it was sold"),
        ("oxygen against its line" not in names, "its oxygen at filling: nothing was read"),
        (
            "retained samples of this lot" not in names,
            "how it keeps: no retained sample of this lot was tasted",
        ),
        (asked["code_time"] is None, "when in the run it was filled: no printed time was told"),
        (asked["returned"] in {None, "none"}, "how it tastes: no package came back"),
    ):
        if missing:
            yield words.sentence(told)
